/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the guards say of data, and in which words.
 */
#include "tests/unit/yard.h"

static void loss_of_the_last_is_danger(void **state)
{
	struct yard *yard = *state;
	char text[RV_FINDING_TEXT];

	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	play(yard, 5.0, 5.96, 10e3, NAN, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "");
	play(yard, 5.96, 6.1, 10e3, NAN, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "anchor lost");
	play(yard, 6.1, 7.2, NAN, NAN, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "lead lost!, anchor lost!");
	rv_guards_text(&yard->guards, find(&yard->guards, "lead lost"), NS(7.18), text,
		       sizeof text);
	assert_string_equal(text, "lead: no good reading for 1.1 s");
	see(yard, LEAD, NAN, 7.2);
	rv_guards_text(&yard->guards, find(&yard->guards, "lead lost"), NS(7.2), text, sizeof text);
	assert_string_equal(text, "lead: no good reading for 1.1 s: no communication");
	play(yard, 7.2, 7.3, 10e3, NAN, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "anchor lost");
}

static void what_a_rule_names_nothing_stands_in_for(void **state)
{
	struct yard *yard = *state;

	yard->station.alarms = 1;
	yard->station.alarm[0].channel = LEAD;
	rv_guards_init(&yard->guards, &yard->station, &yard->rig, NS(0));
	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	play(yard, 5.0, 6.2, NAN, 19e3, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "lead lost!");
}

static void before_the_first_reading_there_is_more_patience(void **state)
{
	struct yard *yard = *state;
	char text[RV_FINDING_TEXT];

	rv_guards_tick(&yard->guards, NS(2.9));
	assert_string_equal(standing(yard), "");
	rv_guards_tick(&yard->guards, NS(3.1));
	assert_true(guard_of(yard, "wind lost")->is_true);
	assert_int_equal(guard_of(yard, "wind lost")->level, RV_LEVEL_WARNING);
	assert_true(guard_of(yard, "lead lost")->is_true);
	rv_guards_text(&yard->guards, find(&yard->guards, "lead lost"), NS(3.1), text, sizeof text);
	assert_string_equal(text, "lead: no good reading in the first 3.1 s");
}

static void slow_quantities_are_lost_after_three_polls(void **state)
{
	struct yard *yard = *state;

	see(yard, WIND, 3.0, 1.0);
	rv_guards_tick(&yard->guards, NS(6.9));
	assert_false(guard_of(yard, "wind lost")->is_true);
	rv_guards_tick(&yard->guards, NS(7.1));
	assert_true(guard_of(yard, "wind lost")->is_true);
}

static void frozen_is_not_called_lost_as_well(void **state)
{
	struct yard *yard = *state;
	struct rv_reading frozen = {
	    .value = NAN, .raw = 5.0, .quality = RV_BAD, .cause = RV_CAUSE_FROZEN};
	char text[RV_FINDING_TEXT];

	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	for (double t = 5.0; t < 8.0; t += 0.02) {
		rv_guards_reading(&yard->guards, LEAD, &frozen, NS(t));
		play(yard, t, t + 0.02, NAN, 19e3, RV_MOTION_HOLD, 12.0);
	}
	assert_string_equal(standing(yard), "lead frozen");
	rv_guards_text(&yard->guards, find(&yard->guards, "lead frozen"), NS(8), text, sizeof text);
	assert_string_equal(text, "lead repeats its last value behind its gateway");
}

static void a_value_that_stands_while_its_neighbour_moves_is_frozen(void **state)
{
	struct yard *yard = *state;
	char text[RV_FINDING_TEXT];

	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	for (double t = 5.0; t < 8.0; t += 0.02) {
		see(yard, LEAD, 10e3, t);
		play(yard, t, t + 0.02, NAN, 19e3 + 1500.0 * (t - 5.0), RV_MOTION_IN, 12.0);
	}
	assert_string_equal(standing(yard), "lead frozen");
	assert_true(rv_guards_doubts(&yard->guards, LEAD));
	rv_guards_text(&yard->guards, find(&yard->guards, "lead frozen"), NS(8), text, sizeof text);
	assert_string_equal(text, "lead repeats its last value while the line lives");
	see(yard, LEAD, 10e3 + 1.0, 8.0);
	assert_string_equal(standing(yard), "");
}

static void beyond_its_range_a_channel_says_so(void **state)
{
	static const struct {
		double value;
		enum rv_quality quality;
		const char *text;
	} cases[] = {
	    {52e3, RV_UNCERTAIN, "lead at least 52.00 kN: beyond its instrument"},
	    {-3e3, RV_UNCERTAIN, "lead -3.00 kN: below zero, check wires and zero"},
	};
	struct yard *yard = *state;
	char text[RV_FINDING_TEXT];

	for (int i = 0; i < 2; i++) {
		struct rv_reading reading = {.value = cases[i].value,
					     .quality = cases[i].quality,
					     .cause = RV_CAUSE_OUT_OF_RANGE};

		play(yard, i, i + 1, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
		assert_true(rv_guards_reading(&yard->guards, LEAD, &reading, NS(i + 1)));
		assert_true(guard_of(yard, "lead out of range")->is_true);
		assert_false(guard_of(yard, "lead lost")->is_true);
		rv_guards_text(&yard->guards, find(&yard->guards, "lead out of range"), NS(i + 1),
			       text, sizeof text);
		assert_string_equal(text, cases[i].text);
	}
	struct rv_reading bad = {.value = NAN, .quality = RV_BAD, .cause = RV_CAUSE_OUT_OF_RANGE};
	rv_guards_reading(&yard->guards, PAYOUT, &bad, NS(3));
	rv_guards_text(&yard->guards, find(&yard->guards, "payout out of range"), NS(3), text,
		       sizeof text);
	assert_string_equal(text, "payout: a number its instrument cannot give");
}

static void what_others_tell_is_passed_on(void **state)
{
	struct yard *yard = *state;
	char text[RV_FINDING_TEXT];

	play(yard, 0.0, 2.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	rv_guards_device(&yard->guards, 0, true, "no answer since 1.0 s");
	rv_guards_device(&yard->guards, 1, true, "connection refused");
	rv_guards_output(&yard->guards, 0, true, "coil 0 not written");
	rv_guards_record(&yard->guards, true, "disk full");
	assert_true(rv_guards_tick(&yard->guards, NS(2.0)));
	/* Behind the first device sits a cell that nothing stands in for: the spare. */
	assert_string_equal(standing(yard), "cells lost!, weather lost, horn failed, record");
	static const char *const want[][2] = {{"cells lost", "no answer since 1.0 s"},
					      {"weather lost", "connection refused"},
					      {"horn failed", "coil 0 not written"},
					      {"record", "disk full"}};
	for (int i = 0; i < 4; i++) {
		int at = find(&yard->guards, want[i][0]);

		rv_guards_text(&yard->guards, at, NS(2.0), text, sizeof text);
		assert_string_equal(text, want[i][1]);
		assert_string_equal(rv_guards_unit(&yard->guards, at), "");
	}
	assert_false(rv_guards_tick(&yard->guards, NS(2.01)));
	rv_guards_device(&yard->guards, 0, false, "");
	assert_true(rv_guards_tick(&yard->guards, NS(2.02)));
}

static void every_guard_says_what_to_do_and_in_which_unit(void **state)
{
	struct yard *yard = *state;

	for (int i = 0; i < yard->guards.guards; i++)
		assert_true(strlen(rv_guards_action(&yard->guards, i)) > 10);
	char text[RV_FINDING_TEXT];
	struct rv_reading repeat = {.value = 9e9, .repeat = true};

	rv_guards_text(&yard->guards, find(&yard->guards, "main tension lost"), NS(0), text,
		       sizeof text);
	assert_string_equal(text, "main: no tension was lost");
	assert_false(rv_guards_reading(&yard->guards, LEAD, &repeat, NS(0)));
	assert_false(yard->guards.channel[LEAD].ever);
	assert_string_equal(rv_guards_unit(&yard->guards, find(&yard->guards, "lead lost")), "s");
	assert_string_equal(rv_guards_unit(&yard->guards, find(&yard->guards, "lead zeroed")), "N");
	assert_string_equal(rv_guards_unit(&yard->guards, find(&yard->guards, "main tension lost")),
			    "N");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    YARD(loss_of_the_last_is_danger),
	    YARD(what_a_rule_names_nothing_stands_in_for),
	    YARD(before_the_first_reading_there_is_more_patience),
	    YARD(slow_quantities_are_lost_after_three_polls),
	    YARD(frozen_is_not_called_lost_as_well),
	    YARD(a_value_that_stands_while_its_neighbour_moves_is_frozen),
	    YARD(beyond_its_range_a_channel_says_so),
	    YARD(what_others_tell_is_passed_on),
	    YARD(every_guard_says_what_to_do_and_in_which_unit),
	};

	return cmocka_run_group_tests_name("guards_text", tests, NULL, NULL);
}
