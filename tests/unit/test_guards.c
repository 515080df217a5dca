/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the guards say of load: parted, zeroed, creeping.
 */
#include "tests/unit/yard.h"

static void a_calm_yard_says_nothing(void **state)
{
	struct yard *yard = *state;

	play(yard, 0.0, 20.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "");
	play(yard, 20.0, 25.0, 12e3, 22e3, RV_MOTION_IN, 12.0);
	assert_string_equal(standing(yard), "");
}

static void a_line_that_parts_is_told_at_once(void **state)
{
	struct yard *yard = *state;
	char text[RV_FINDING_TEXT];

	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	play(yard, 5.0, 5.1, 10.0, 20.0, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "main tension lost!");
	rv_guards_text(&yard->guards, find(&yard->guards, "main tension lost"), NS(5.1), text,
		       sizeof text);
	assert_string_equal(text, "anchor fell from 19.05 kN to 0.02 kN");
	play(yard, 5.1, 14.8, 10.0, 20.0, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "main tension lost!");
	play(yard, 14.8, 16.0, 10.0, 20.0, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "");
}

static void a_line_is_not_lost_that_is_loaded_again(void **state)
{
	struct yard *yard = *state;

	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_IN, 12.0);
	play(yard, 5.0, 5.2, 2e3, 4e3, RV_MOTION_IN, 12.0);
	assert_string_equal(standing(yard), "main tension lost!");
	play(yard, 5.2, 5.3, 9e3, 18e3, RV_MOTION_IN, 12.0);
	assert_string_equal(standing(yard), "");
}

static void a_late_neighbour_does_not_hide_a_lost_tension(void **state)
{
	struct yard *yard = *state;

	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	play(yard, 5.0, 5.2, 10.0, 19e3, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), ""); /* it may be a zeroed instrument */
	play(yard, 5.2, 5.24, 10.0, 20.0, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "main tension lost!");
}

static void half_lost_beside_a_loaded_neighbour_is_lost_all_the_same(void **state)
{
	struct yard *yard = *state;

	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	play(yard, 5.0, 5.3, 4e3, 19e3, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "");
	play(yard, 5.3, 5.5, 4e3, 19e3, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "main tension lost!");
}

static void a_spike_of_one_cell_is_no_lost_tension(void **state)
{
	struct yard *yard = *state;

	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	play(yard, 5.0, 5.02, 0.0, 19e3, RV_MOTION_HOLD, 12.0);
	play(yard, 5.02, 7.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "");
}

static void a_zeroed_instrument_is_told_while_the_line_stays_loaded(void **state)
{
	struct yard *yard = *state;
	char text[RV_FINDING_TEXT];

	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	play(yard, 5.0, 5.5, 1.0, 19e3, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "lead zeroed!");
	assert_true(rv_guards_doubts(&yard->guards, LEAD));
	rv_guards_text(&yard->guards, find(&yard->guards, "lead zeroed"), NS(5.5), text,
		       sizeof text);
	assert_string_equal(
	    text, "lead stepped from 10.03 kN to about zero while the line stayed loaded");
	/* More load does not make the wrong zero right: 6 kN shown are 16 kN. */
	play(yard, 5.5, 8.0, 6e3, 30e3, RV_MOTION_IN, 12.0);
	assert_string_equal(standing(yard), "lead zeroed!");
	/* The anchor cell stands alone now. */
	play(yard, 8.0, 9.5, 6e3, NAN, RV_MOTION_IN, 12.0);
	assert_string_equal(standing(yard), "lead zeroed!, anchor lost!");
	play(yard, 9.5, 10.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0); /* zero undone */
	assert_string_equal(standing(yard), "");
}

static void a_zeroed_instrument_is_forgotten_when_the_line_is_unloaded(void **state)
{
	struct yard *yard = *state;

	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	play(yard, 5.0, 6.0, 1.0, 19e3, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "lead zeroed!");
	for (int i = 0; i < 20; i++) /* slowly */
		play(yard, 6.0 + i, 7.0 + i, 1.0, 19e3 - 950.0 * (i + 1), RV_MOTION_OUT, 12.0 + i);
	assert_false(guard_of(yard, "lead zeroed")->is_true);
}

static void zeroed_without_a_neighbour_is_a_lost_tension(void **state)
{
	struct yard *yard = *state;

	play(yard, 0.0, 5.0, 10e3, NAN, RV_MOTION_HOLD, 12.0);
	play(yard, 5.0, 5.04, 0.0, NAN, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "anchor lost, main tension lost!");
}

static void a_brake_that_creeps_is_told(void **state)
{
	struct yard *yard = *state;
	char text[RV_FINDING_TEXT];

	for (int i = 0; i < 200; i++) /* 2 mm/s for 20 s; the hung load keeps its force */
		play(yard, 0.1 * i, 0.1 * (i + 1), 10e3, 19e3, RV_MOTION_HOLD, 12.0 + 0.0002 * i);
	assert_string_equal(standing(yard), "main creeps!");
	rv_guards_text(&yard->guards, find(&yard->guards, "main creeps"), NS(20), text,
		       sizeof text);
	assert_string_equal(text, "main ran out by 0.036 m while holding");
	assert_string_equal(rv_guards_unit(&yard->guards, find(&yard->guards, "main creeps")), "m");
}

static void an_anchor_that_drags_is_told(void **state)
{
	struct yard *yard = *state;
	char text[RV_FINDING_TEXT];
	double t = 0.0;

	for (; t < 60.0; t += 0.1) /* the drum stands, the force goes */
		play(yard, t, t + 0.1, 10e3 - 60.0 * t, 19e3 - 110.0 * t, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "main creeps!");
	rv_guards_text(&yard->guards, find(&yard->guards, "main creeps"), NS(60), text,
		       sizeof text);
	assert_non_null(strstr(text, "lead fell by "));
	assert_non_null(strstr(text, " s while holding"));
	assert_string_equal(rv_guards_unit(&yard->guards, find(&yard->guards, "main creeps")), "N");
	play(yard, t, t + 1.0, 6e3, 11e3, RV_MOTION_IN, 12.0);
	assert_string_equal(standing(yard), "");
}

static void contactors_say_what_holding_is(void **state)
{
	struct yard *yard = *state;
	struct rv_motion_now now = {
	    .motion = RV_MOTION_OUT, .payout_m = 12.0, .step_m = 0.001, .window_s = 0.4};
	bool creeps = false;

	for (double t = 0.0; t < 10.0; t += 0.05) {
		now.payout_m = 12.0 + 0.15 * t;
		rv_guards_motion(&yard->guards, 0, &now, RV_MOTION_HOLD, NS(t));
		rv_guards_tick(&yard->guards, NS(t));
		creeps |= guard_of(yard, "main creeps")->is_true;
	}
	assert_true(creeps);
	assert_false(rv_guards_motion(&yard->guards, 3, &now, RV_MOTION_HOLD, NS(10)));
}

static void stiffness_explains_a_slack_off(void **state)
{
	struct yard *yard = *state;

	/* 0.15 m/s on 33 kN/m: 10 kN go in 0.6 s when three parts stretch alike; known, no loss. */
	for (int known = 0; known < 2; known++) {
		rv_guards_init(&yard->guards, &yard->station, &yard->rig, NS(0));
		rv_guards_stiffness(&yard->guards, 0, known ? 100e3 : 1e3);
		play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
		for (int i = 0; i < 40; i++) {
			double t = 0.02 * i, share = fmax(0.0, 1.0 - t / 0.6);

			play(yard, 5.0 + t, 5.02 + t, 10e3 * share, 19e3 * share, RV_MOTION_OUT,
			     12.0 + 0.15 * t);
		}
		assert_string_equal(standing(yard), known ? "" : "main tension lost!");
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    YARD(a_calm_yard_says_nothing),
	    YARD(a_line_that_parts_is_told_at_once),
	    YARD(a_line_is_not_lost_that_is_loaded_again),
	    YARD(a_late_neighbour_does_not_hide_a_lost_tension),
	    YARD(half_lost_beside_a_loaded_neighbour_is_lost_all_the_same),
	    YARD(a_spike_of_one_cell_is_no_lost_tension),
	    YARD(a_zeroed_instrument_is_told_while_the_line_stays_loaded),
	    YARD(a_zeroed_instrument_is_forgotten_when_the_line_is_unloaded),
	    YARD(zeroed_without_a_neighbour_is_a_lost_tension),
	    YARD(a_brake_that_creeps_is_told),
	    YARD(an_anchor_that_drags_is_told),
	    YARD(contactors_say_what_holding_is),
	    YARD(stiffness_explains_a_slack_off),
	};

	return cmocka_run_group_tests_name("guards", tests, NULL, NULL);
}
