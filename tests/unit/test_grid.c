/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <stdbool.h>

#include "core/grid.h"

#define NS(t) ((int64_t)((t)*1e9) + INT64_C(10000000000))
#define K(t) (NS(t) / RV_GRID_STEP_NS)

static void a_slow_line_is_read_off_between_its_readings(void **state)
{
	struct rv_grid grid;

	(void)state;
	rv_grid_init(&grid, NAN, NAN);
	for (int i = 0; i <= 20; i++)
		rv_grid_see(&grid, 100.0 + 3.0 * i, NS(0.1 * i));
	assert_near("at a reading", rv_grid_at(&grid, K(1.0)), 130.0, 1e-9);
	assert_near("between", rv_grid_at(&grid, K(1.06)), 131.8, 1e-9);
	assert_near("mean", rv_grid_mean(&grid, K(1.06), 2), 131.8, 1e-9);
	assert_true(isnan(rv_grid_at(&grid, K(2.5))));
	assert_true(isnan(rv_grid_mean(&grid, grid.next - 1, 1)));
}

static void delay_and_offset_are_taken_off(void **state)
{
	struct rv_grid grid;

	(void)state;
	rv_grid_init(&grid, 0.2, 40.0);
	for (int i = 0; i <= 20; i++)
		rv_grid_see(&grid, 140.0 + 3.0 * i, NS(0.1 * i));
	assert_near("0.2 s ago", rv_grid_at(&grid, K(1.0)), 136.0, 1e-9);
}

/* A cell of 1 kHz beside a mains cable: points of the grid alone would all fall on one phase. */
static void hum_does_not_come_through_a_fast_cell(void **state)
{
	struct rv_grid grid;

	(void)state;
	rv_grid_init(&grid, 0.0, 0.0);
	for (int i = 0; i < 1000; i++)
		rv_grid_see(&grid, 1000.0 + 50.0 * cos(2.0 * M_PI * 50.0 * i / 1000.0),
			    NS(i / 1000.0));
	for (int64_t k = K(0.2); k < grid.next; k++)
		assert_near("hum", rv_grid_at(&grid, k), 1000.0, 1e-6);
}

static void a_gap_and_a_bad_reading_leave_holes(void **state)
{
	static const struct {
		const char *label;
		double t_s;
		bool known;
	} cases[] = {
	    {"before the gap", 0.50, true},	 {"in the gap", 1.50, false},
	    {"after the gap", 2.20, true},	 {"beside a bad reading", 2.99, false},
	    {"behind a bad reading", 3.3, true},
	};
	struct rv_grid grid;

	(void)state;
	rv_grid_init(&grid, 0.0, 0.0);
	for (int i = 0; i < 80; i++) {
		double t_s = 0.05 * i;

		if (t_s < 1.0 || t_s > 2.0)
			rv_grid_see(&grid, i == 60 ? (double)NAN : 7.0, NS(t_s));
	}
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		if (isnan(rv_grid_at(&grid, K(cases[i].t_s))) == cases[i].known)
			fail_msg("%s", cases[i].label);
}

static void doubled_and_backward_readings_are_dropped(void **state)
{
	struct rv_grid grid;

	(void)state;
	rv_grid_init(&grid, 0.0, 0.0);
	rv_grid_see(&grid, 10.0, NS(1.0));
	rv_grid_see(&grid, 99.0, NS(1.0));
	rv_grid_see(&grid, 99.0, NS(0.5));
	rv_grid_see(&grid, 10.0, NS(1.05));
	rv_grid_see(&grid, 10.0, NS(1.10));
	assert_near("kept", rv_grid_at(&grid, K(1.02)), 10.0, 0.0);
}

static void after_years_of_silence_it_begins_anew(void **state)
{
	struct rv_grid grid;

	(void)state;
	rv_grid_init(&grid, 0.0, 0.0);
	rv_grid_see(&grid, 1.0, NS(0.0));
	rv_grid_see(&grid, 2.0, NS(1e8));
	rv_grid_see(&grid, 4.0, NS(1e8 + 0.1));
	rv_grid_see(&grid, 4.0, NS(1e8 + 0.2));
	assert_near("after", rv_grid_at(&grid, K(1e8 + 0.06)), 3.2, 1e-6);
	assert_true(isnan(rv_grid_at(&grid, K(5.0))));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_slow_line_is_read_off_between_its_readings),
	    cmocka_unit_test(delay_and_offset_are_taken_off),
	    cmocka_unit_test(hum_does_not_come_through_a_fast_cell),
	    cmocka_unit_test(a_gap_and_a_bad_reading_leave_holes),
	    cmocka_unit_test(doubled_and_backward_readings_are_dropped),
	    cmocka_unit_test(after_years_of_silence_it_begins_anew),
	};

	return cmocka_run_group_tests_name("grid", tests, NULL, NULL);
}
