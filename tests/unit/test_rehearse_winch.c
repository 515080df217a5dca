/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_winch.h"

#include "tests/rvtest.h"

/* Hold 2 s; haul 3 m at 0.5 m/s with ramps of 1 s: 3 / 0.5 + 1 = 7 s; pay 3 m likewise.  In the
 * first second of a ramp 0.5 * 0.5 m/s * 1 s = 0.25 m. */
static void the_timetable_gives_the_line_out_at_any_time(void **state)
{
	static const struct {
		const char *label;
		double at_s, out_m;
	} rows[] = {
	    {"start", 0, 0},
	    {"still held", 1.99, 0},
	    {"half up the ramp", 2.5, -0.0625},
	    {"up to speed", 3, -0.25},
	    {"one second on", 4, -0.75},
	    {"slowing down", 8, -2.75},
	    {"hauled in", 9, -3},
	    {"one second out", 10, -2.75},
	    {"back", 16, 0},
	    {"long after", 1000, 0},
	};
	const struct rv_rehearse_winch winch = {
	    .ramp_s = 1, .moves = 3, .move = {{0, 0, 2}, {3, 0.5, 0}, {-3, 0.5, 0}}};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_near(rows[i].label, rv_rehearse_winch_out_m(&winch, rows[i].at_s),
			    rows[i].out_m, 1e-12);
	assert_near("lasts", rv_rehearse_winch_lasts_s(&winch), 16, 1e-12);
}

/* 0.1 m with ramps of 1 s reaches 0.1 m/s only: up for a second, down for a second. */
static void a_move_too_short_for_its_speed_turns_round_in_its_ramp(void **state)
{
	const struct rv_rehearse_winch winch = {.ramp_s = 1, .moves = 1, .move = {{0.1, 5, 0}}};

	(void)state;
	assert_near("half", rv_rehearse_winch_out_m(&winch, 1), -0.05, 1e-12);
	assert_near("whole", rv_rehearse_winch_out_m(&winch, 2), -0.1, 1e-12);
	assert_near("lasts", rv_rehearse_winch_lasts_s(&winch), 2, 1e-12);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(the_timetable_gives_the_line_out_at_any_time),
	    cmocka_unit_test(a_move_too_short_for_its_speed_turns_round_in_its_ramp),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
