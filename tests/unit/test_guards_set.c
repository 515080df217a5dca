/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which guards there are.
 */
#include "tests/unit/yard.h"

static void the_names_are_these(void **state)
{
	static const struct {
		const char *name;
		enum rv_guard_kind kind;
		bool is_data;
	} cases[] = {
	    {"lead lost", RV_GUARD_LOST, true},
	    {"lead frozen", RV_GUARD_FROZEN, true},
	    {"lead out of range", RV_GUARD_OUT_OF_RANGE, true},
	    {"lead zeroed", RV_GUARD_ZEROED, false},
	    {"payout lost", RV_GUARD_LOST, true},
	    {"main tension lost", RV_GUARD_TENSION_LOST, false},
	    {"main creeps", RV_GUARD_CREEPS, false},
	    {"spare tension lost", RV_GUARD_TENSION_LOST, false},
	    {"cells lost", RV_GUARD_DEVICE_LOST, true},
	    {"horn failed", RV_GUARD_OUTPUT_FAILED, false},
	    {"record", RV_GUARD_RECORD, false},
	};
	struct yard *yard = *state;

	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		assert_int_equal(guard_of(yard, cases[i].name)->kind, cases[i].kind);
		assert_int_equal(guard_of(yard, cases[i].name)->is_data, cases[i].is_data);
	}
	/* 5 channels x 3, 3 tensions zeroed, 2 lines x 2, 2 devices, an output, the record. */
	assert_int_equal(yard->guards.guards, 15 + 3 + 4 + 2 + 1 + 1);
}

static void cells_find_their_line(void **state)
{
	struct yard *yard = *state;
	struct rv_rig *rig = &yard->rig;
	static const struct {
		const char *label;
		struct rv_held held;
		int line;
	} cases[] = {
	    {"a line's end", {RV_HELD_LINE_END, 0}, 0},
	    {"a block", {RV_HELD_BLOCK, 0}, 0},
	    {"a point a line is made fast to", {RV_HELD_POINT, 0}, 0},
	    {"a point that bears a block", {RV_HELD_POINT, 1}, 0},
	    {"a fitting round a block", {RV_HELD_FITTING, 0}, 0},
	    {"a fitting that holds nothing", {RV_HELD_FITTING, 1}, -1},
	    {"a fitting that holds itself", {RV_HELD_FITTING, 2}, -1},
	    {"a point that bears a winch", {RV_HELD_POINT, 2}, 0},
	    {"a point with nothing", {RV_HELD_POINT, 3}, -1},
	};

	assert_int_equal(rv_guards_line_of_cell(rig, 0), 0);
	rig->fitting[2].count = 1;
	rig->fitting[2].holds[0] = (struct rv_held){RV_HELD_FITTING, 2};
	rig->winch[0].point = 2;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		rig->cell[1].holds = cases[i].held;
		if (rv_guards_line_of_cell(rig, 1) != cases[i].line)
			fail_msg("%s", cases[i].label);
	}
}

static void another_rig_mends_no_instrument(void **state)
{
	struct yard *yard = *state;
	struct rv_rig rig = yard->rig;
	const struct rv_reading bad = {
	    .value = NAN, .raw = NAN, .quality = RV_BAD, .cause = RV_CAUSE_FROZEN};

	rv_guards_reading(&yard->guards, ANCHOR, &bad, NS(0.1));
	rv_guards_device(&yard->guards, 1, true, "gone");
	rv_guards_output(&yard->guards, 0, true, "no answer");
	rv_guards_record(&yard->guards, true, "disk full");
	yard->guards.channel[LEAD].is_zeroed = true;
	strcpy(rig.rope[1].name, "second"); /* moves the guards behind it to other places */
	rig.rope[1].steps = 0;
	rig.ropes = 2;
	rv_guards_set_rig(&yard->guards, &rig, NS(9.0));
	for (size_t i = 0; i < 6; i++) {
		static const char *const names[] = {"anchor frozen", "weather lost", "horn failed",
						    "record",	     "lead zeroed",  "cells lost"};
		if (guard_of(yard, names[i])->is_true != (i < 5))
			fail_msg("%s", names[i]);
	}
	/* On another line nobody could take a zeroed one back. */
	strcpy(rig.rope[0].name, "other");
	rv_guards_set_rig(&yard->guards, &rig, NS(9.1));
	assert_false(guard_of(yard, "lead zeroed")->is_true);
	assert_true(guard_of(yard, "anchor frozen")->is_true);
}

static void without_a_rig_each_channel_stands_for_its_line(void **state)
{
	struct yard *yard = *state;

	rv_guards_init(&yard->guards, &yard->station, NULL, NS(0));
	play(yard, 0.0, 5.0, 10e3, 19e3, RV_MOTION_HOLD, 12.0);
	play(yard, 5.0, 5.1, 10.0, 19e3, RV_MOTION_HOLD, 12.0);
	assert_string_equal(standing(yard), "lead tension lost!");
	for (int i = 0; i < 200; i++)
		play(yard, 5.1 + 0.1 * i, 5.2 + 0.1 * i, 10.0, 19e3, RV_MOTION_HOLD,
		     12.0 + 0.0002 * i);
	assert_string_equal(standing(yard), "payout creeps!");
}

static void with_several_winches_a_channel_names_its_own(void **state)
{
	struct yard *yard = *state;

	yard->rig.winches = 2;
	strcpy(yard->rig.winch[1].name, "capstan");
	rv_guards_init(&yard->guards, &yard->station, &yard->rig, NS(0));
	assert_int_equal(yard->guards.channel[PAYOUT].line, -1); /* it does not say */
	strcpy(yard->station.channel[PAYOUT].winch, "drum");
	rv_guards_init(&yard->guards, &yard->station, &yard->rig, NS(0));
	assert_int_equal(yard->guards.channel[PAYOUT].line, 0);
	assert_int_equal(yard->guards.line[yard->guards.channel[SPARE].line].winch, -1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    YARD(the_names_are_these),
	    YARD(cells_find_their_line),
	    YARD(another_rig_mends_no_instrument),
	    YARD(without_a_rig_each_channel_stands_for_its_line),
	    YARD(with_several_winches_a_channel_names_its_own),
	};

	return cmocka_run_group_tests_name("guards_set", tests, NULL, NULL);
}
