/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "core/conditions.h"

#define MS INT64_C(1000000)

/* One tension channel and one rule on it; the caller frees. */
static struct rv_station *station_with(enum rv_alarm_condition condition, double limit,
				       double deadband)
{
	struct rv_station *station = calloc(1, sizeof *station);

	assert_non_null(station);
	station->unit = RV_FORCE_KN;
	station->channels = 1;
	station->alarms = 1;
	strcpy(station->channel[0].name, "lead");
	strcpy(station->channel[0].unit, "N");
	station->alarm[0] = (struct rv_alarm_rule){
	    .channel = 0, .condition = condition, .limit = limit, .deadband = deadband};
	return station;
}

static struct rv_reading good(double value)
{
	return (struct rv_reading){.value = value, .raw = value};
}

static const struct rv_reading bad = {.quality = RV_BAD, .cause = RV_CAUSE_NO_COMMUNICATION};

static void levels_have_a_deadband(void **state)
{
	/* Limit 100 kN, deadband 2 kN: raised above 100, still there at 98.5, gone below 98. */
	static const struct {
		const char *label;
		enum rv_alarm_condition condition;
		bool was;
		double value, deadband;
		bool is_true;
	} cases[] = {
	    {"below it", RV_ALARM_ABOVE, false, 99e3, 2e3, false},
	    {"at it", RV_ALARM_ABOVE, false, 100e3, 2e3, false},
	    {"just above it", RV_ALARM_ABOVE, false, 100e3 + 1e-6, 2e3, true},
	    {"back, inside the deadband", RV_ALARM_ABOVE, true, 98.5e3, 2e3, true},
	    {"back, at the deadband's end", RV_ALARM_ABOVE, true, 98e3, 2e3, true},
	    {"back, beyond the deadband", RV_ALARM_ABOVE, true, 98e3 - 1e-6, 2e3, false},
	    {"default deadband is 2 %", RV_ALARM_ABOVE, true, 98e3, NAN, true},
	    {"and no more", RV_ALARM_ABOVE, true, 97.9e3, NAN, false},
	    {"no deadband", RV_ALARM_ABOVE, true, 99.999e3, 0.0, false},
	    {"below: above it", RV_ALARM_BELOW, false, 101e3, 2e3, false},
	    {"below: at it", RV_ALARM_BELOW, false, 100e3, 2e3, false},
	    {"below: under it", RV_ALARM_BELOW, false, 100e3 - 1e-6, 2e3, true},
	    {"below: inside the deadband", RV_ALARM_BELOW, true, 102e3, 2e3, true},
	    {"below: beyond the deadband", RV_ALARM_BELOW, true, 102e3 + 1e-6, 2e3, false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_station *station =
		    station_with(cases[i].condition, 100e3, cases[i].deadband);
		struct rv_conditions conditions;
		struct rv_reading reading = good(cases[i].value);

		rv_conditions_init(&conditions, station);
		conditions.rule[0].is_true = cases[i].was;
		assert_int_equal(rv_conditions_reading(&conditions, 0, &reading, MS), 1);
		if (conditions.rule[0].is_true != cases[i].is_true)
			fail_msg("%s", cases[i].label);
		assert_near(cases[i].label, conditions.rule[0].value, cases[i].value, 0.0);
		assert_true(conditions.rule[0].is_known);
		free(station);
	}
}

/* A straight line of readings; true if the condition ever was, with the last value found. */
static bool ramp(const struct rv_station *station, double per_s, double step_s, double from,
		 double *value)
{
	struct rv_conditions conditions;
	bool ever = false;

	rv_conditions_init(&conditions, station);
	for (int i = 0; i * step_s < 2.0; i++) {
		struct rv_reading reading = good(from + per_s * step_s * i);

		rv_conditions_reading(&conditions, 0, &reading,
				      (int64_t)(1e9 * (1.0 + step_s * i)));
		ever |= conditions.rule[0].is_true;
	}
	*value = conditions.rule[0].value;
	return ever;
}

static void rates_are_measured_at_every_rate_of_readings(void **state)
{
	static const struct {
		const char *label;
		enum rv_alarm_condition condition;
		double per_s, step_s;
		bool is_true;
		double value;
	} cases[] = {
	    {"rises, 100 Hz", RV_ALARM_RISES_FASTER, 41e3, 0.01, true, 41e3},
	    {"rises too slowly", RV_ALARM_RISES_FASTER, 39e3, 0.01, false, 39e3},
	    {"rises, 16 kHz", RV_ALARM_RISES_FASTER, 41e3, 1.0 / 16000, true, 41e3},
	    {"rises, 3 Hz", RV_ALARM_RISES_FASTER, 41e3, 1.0 / 3, true, 41e3},
	    {"falling is no rising", RV_ALARM_RISES_FASTER, -90e3, 0.01, false, -90e3},
	    {"falls, 100 Hz", RV_ALARM_FALLS_FASTER, -41e3, 0.01, true, 41e3},
	    {"falls too slowly", RV_ALARM_FALLS_FASTER, -39e3, 0.01, false, 39e3},
	    {"rising is no falling", RV_ALARM_FALLS_FASTER, 90e3, 0.01, false, -90e3},
	    {"speed out", RV_ALARM_SPEED_ABOVE, 41e3, 0.01, true, 41e3},
	    {"speed in", RV_ALARM_SPEED_ABOVE, -41e3, 0.1, true, 41e3},
	    {"slow", RV_ALARM_SPEED_ABOVE, -39e3, 0.1, false, 39e3},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_station *station = station_with(cases[i].condition, 40e3, NAN);
		double value;

		if (ramp(station, cases[i].per_s, cases[i].step_s, 5e3, &value) != cases[i].is_true)
			fail_msg("%s", cases[i].label);
		assert_near(cases[i].label, value, cases[i].value, 1e-3);
		free(station);
	}
}

static void a_rate_has_a_deadband_of_a_tenth(void **state)
{
	struct rv_station *station = station_with(RV_ALARM_RISES_FASTER, 1000.0, NAN);
	struct rv_conditions conditions;
	const double at[] = {0.0, 200.1, 290.2, 379.0}; /* 0.1 s apart: 2001, 901, 888 N/s */
	const bool want[] = {false, true, true, false};

	(void)state;
	rv_conditions_init(&conditions, station);
	for (int i = 0; i < 4; i++) {
		struct rv_reading reading = good(at[i]);

		rv_conditions_reading(&conditions, 0, &reading, (10 + i) * 100 * MS);
		assert_int_equal(conditions.rule[0].is_true, want[i]);
	}
	free(station);
}

static void a_rate_is_not_taken_across_missing_or_restarted_readings(void **state)
{
	struct rv_station *station = station_with(RV_ALARM_SPEED_ABOVE, 1.0, NAN);
	struct rv_conditions conditions;
	struct rv_reading there = good(0.0), elsewhere = good(500.0), anew = good(9000.0);

	(void)state;
	anew.restarted = true;
	rv_conditions_init(&conditions, station);
	rv_conditions_reading(&conditions, 0, &there, 1000 * MS);
	rv_conditions_reading(&conditions, 0, &bad, 1500 * MS);
	rv_conditions_reading(&conditions, 0, &elsewhere, 2000 * MS);
	assert_false(conditions.rule[0].is_true);
	assert_false(conditions.rule[0].is_known);
	rv_conditions_reading(&conditions, 0, &anew, 3000 * MS);
	assert_false(conditions.rule[0].is_true);
	rv_conditions_reading(&conditions, 0, &there, 3000 * MS); /* same instant: no rate */
	assert_false(conditions.rule[0].is_known);
	free(station);
}

static void a_lost_measurement_neither_raises_nor_ends(void **state)
{
	struct rv_station *station = station_with(RV_ALARM_ABOVE, 100.0, NAN);
	struct rv_conditions conditions;
	struct rv_reading over = good(150.0), under = good(50.0);

	(void)state;
	rv_conditions_init(&conditions, station);
	rv_conditions_reading(&conditions, 0, &bad, MS);
	assert_false(conditions.rule[0].is_true);
	rv_conditions_reading(&conditions, 0, &over, 2 * MS);
	rv_conditions_reading(&conditions, 0, &bad, 3 * MS);
	assert_true(conditions.rule[0].is_true);
	assert_false(conditions.rule[0].is_known);
	rv_conditions_reading(&conditions, 0, &under, 4 * MS);
	assert_false(conditions.rule[0].is_true);
	free(station);
}

static void beyond_its_range_a_reading_is_at_least_that_high(void **state)
{
	struct rv_station *station = station_with(RV_ALARM_ABOVE, 100.0, NAN);
	struct rv_conditions conditions;
	struct rv_reading over = good(150.0), stop = good(90.0);

	(void)state;
	over.quality = stop.quality = RV_UNCERTAIN;
	over.cause = stop.cause = RV_CAUSE_OUT_OF_RANGE;
	rv_conditions_init(&conditions, station);
	rv_conditions_reading(&conditions, 0, &stop, MS);
	assert_false(conditions.rule[0].is_true);
	assert_false(conditions.rule[0].is_known);
	rv_conditions_reading(&conditions, 0, &over, 2 * MS);
	assert_true(conditions.rule[0].is_true); /* an overload beyond capacity is an overload */
	rv_conditions_reading(&conditions, 0, &stop, 3 * MS);
	assert_true(conditions.rule[0].is_true); /* the converter is at its stop: it ends nothing */
	assert_near("value kept", conditions.rule[0].value, 150.0, 0.0);
	free(station);
}

static void a_repeat_is_no_reading(void **state)
{
	struct rv_station *station = station_with(RV_ALARM_ABOVE, 100.0, NAN);
	struct rv_conditions conditions;
	struct rv_reading over = good(150.0);

	(void)state;
	over.repeat = true;
	rv_conditions_init(&conditions, station);
	assert_int_equal(rv_conditions_reading(&conditions, 0, &over, MS), 0);
	assert_false(conditions.rule[0].is_true);
	over.repeat = false;
	assert_int_equal(rv_conditions_reading(&conditions, 3, &over, MS), 0); /* not its channel */
	free(station);
}

static void components_are_compared_with_their_own_limit(void **state)
{
	static const struct {
		const char *label, *component;
		bool was;
		int was_part;
		double load[3]; /* limits 10, 20 kN, not rated */
		bool is_true, is_known;
		int part;
		double value;
	} cases[] = {
	    {"all low", "any", false, -1, {7e3, 15e3, 9e9}, false, true, 1, 0.75},
	    {"first over", "any", false, -1, {9e3, 15e3, 0}, true, true, 0, 0.9},
	    {"second over", "any", false, -1, {7e3, 17e3, 0}, true, true, 1, 0.85},
	    {"both: the first is named", "any", false, -1, {9e3, 19e3, 0}, true, true, 0, 0.9},
	    {"both: the one that was keeps its place",
	     "any",
	     true,
	     1,
	     {9e3, 19e3, 0},
	     true,
	     true,
	     1,
	     0.95},
	    {"at the limit", "any", false, -1, {8e3, 0, 0}, false, true, 0, 0.8},
	    {"inside the deadband", "any", true, 0, {7.9e3, 0, 0}, true, true, 0, 0.79},
	    {"beyond the deadband", "any", true, 0, {7.8e3, 0, 0}, false, true, 0, 0.78},
	    {"the deadband is only for the one that was over",
	     "any",
	     true,
	     0,
	     {7e3, 15.9e3, 0},
	     false,
	     true,
	     1,
	     0.795},
	    {"named", "hook", false, -1, {9e3, 10e3, 0}, false, true, 1, 0.5},
	    {"named and over", "hook", false, -1, {0, 18e3, 0}, true, true, 1, 0.9},
	    {"unknown was over: kept", "any", true, 0, {NAN, 2e3, 0}, true, false, 0, 0.93},
	    {"unknown was over, another is now",
	     "any",
	     true,
	     0,
	     {NAN, 19e3, 0},
	     true,
	     true,
	     1,
	     0.95},
	    {"nothing known raises nothing",
	     "any",
	     false,
	     -1,
	     {NAN, NAN, 0},
	     false,
	     false,
	     -1,
	     NAN},
	    {"not rated alone", "rope", false, -1, {0, 0, 9e9}, false, false, -1, NAN},
	};
	struct rv_station *station = station_with(RV_ALARM_ABOVE, 0.80, 0.015);

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_conditions conditions;
		struct rv_part_load parts[] = {{"strop", 10e3, cases[i].load[0]},
					       {"hook", 20e3, cases[i].load[1]},
					       {"rope", NAN, cases[i].load[2]}};

		station->alarm[0].channel = -1;
		strcpy(station->alarm[0].component, cases[i].component);
		rv_conditions_init(&conditions, station);
		if (cases[i].was) {
			conditions.rule[0].is_true = true;
			conditions.rule[0].part = cases[i].was_part;
			conditions.rule[0].value = 0.93;
		}
		assert_int_equal(rv_conditions_loads(&conditions, parts, 3), 1);
		if (conditions.rule[0].is_true != cases[i].is_true ||
		    conditions.rule[0].is_known != cases[i].is_known ||
		    conditions.rule[0].part != cases[i].part)
			fail_msg("%s: true %d, known %d, part %d", cases[i].label,
				 conditions.rule[0].is_true, conditions.rule[0].is_known,
				 conditions.rule[0].part);
		assert_near(cases[i].label, conditions.rule[0].value, cases[i].value, 1e-12);
	}
	free(station);
}

static void another_rig_voids_what_was_found_of_parts_only(void **state)
{
	struct rv_station *station = station_with(RV_ALARM_ABOVE, 0.8, NAN);
	struct rv_conditions conditions;
	struct rv_part_load part = {"strop", 10e3, 9e3};
	struct rv_reading over = good(5.0);

	(void)state;
	station->alarms = 2;
	station->alarm[1] = station->alarm[0];
	station->alarm[0].channel = -1;
	strcpy(station->alarm[0].component, "any");
	rv_conditions_init(&conditions, station);
	assert_int_equal(rv_conditions_loads(&conditions, &part, 1), 1);
	assert_int_equal(rv_conditions_reading(&conditions, 0, &over, MS), 2);
	assert_true(conditions.rule[0].is_true && conditions.rule[1].is_true);
	rv_conditions_forget_parts(&conditions);
	assert_false(conditions.rule[0].is_true);
	assert_true(conditions.rule[1].is_true);
	/* A part that went with the old rig keeps nothing up. */
	conditions.rule[0].is_true = true;
	conditions.rule[0].part = 7;
	rv_conditions_loads(&conditions, &part, 0);
	assert_true(conditions.rule[0].is_true);
	part.load_n = 1e3;
	rv_conditions_loads(&conditions, &part, 1);
	assert_true(conditions.rule[0].is_true); /* still unseen */
	free(station);
}

static void texts_are_in_the_unit_people_see(void **state)
{
	static const struct {
		const char *label;
		enum rv_alarm_condition condition;
		double limit, value;
		const char *text, *unit;
	} cases[] = {
	    {"above", RV_ALARM_ABOVE, 12e3, 12.4e3, "lead 12.40 kN, above 12.00 kN", "N"},
	    {"below", RV_ALARM_BELOW, 12e3, 1e3, "lead 1.00 kN, below 12.00 kN", "N"},
	    {"rises", RV_ALARM_RISES_FASTER, 40e3, 41e3,
	     "lead 41.00 kN/s, rises faster than 40.00 kN/s", "N/s"},
	    {"falls", RV_ALARM_FALLS_FASTER, 40e3, 41e3,
	     "lead 41.00 kN/s, falls faster than 40.00 kN/s", "N/s"},
	    {"unknown", RV_ALARM_ABOVE, 12e3, NAN, "lead: no reading yet", "N"},
	};
	struct rv_conditions conditions;
	char text[RV_FINDING_TEXT], unit[RV_NAME_SIZE];

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_station *station = station_with(cases[i].condition, cases[i].limit, NAN);

		rv_conditions_init(&conditions, station);
		conditions.rule[0].value = cases[i].value;
		rv_conditions_text(&conditions, 0, text, sizeof text);
		assert_string_equal(text, cases[i].text);
		assert_string_equal(rv_conditions_unit(&conditions, 0, unit, sizeof unit),
				    cases[i].unit);
		free(station);
	}
}

static void texts_of_other_quantities_and_of_parts(void **state)
{
	struct rv_station *station = station_with(RV_ALARM_SPEED_ABOVE, 0.5, NAN);
	struct rv_part_load part = {"shackle", 30e3, 31.2e3};
	struct rv_conditions conditions;
	char text[RV_FINDING_TEXT], unit[RV_NAME_SIZE];

	(void)state;
	station->channel[0].quantity = RV_PAYOUT;
	strcpy(station->channel[0].unit, "m");
	rv_conditions_init(&conditions, station);
	conditions.rule[0].value = 0.61;
	rv_conditions_text(&conditions, 0, text, sizeof text);
	assert_string_equal(text, "lead 0.61 m/s, speed above 0.50 m/s");

	station->alarm[0] = (struct rv_alarm_rule){.channel = -1, .limit = 1.0, .deadband = NAN};
	strcpy(station->alarm[0].component, "any");
	rv_conditions_init(&conditions, station);
	rv_conditions_text(&conditions, 0, text, sizeof text);
	assert_string_equal(text, "any: load not known");
	rv_conditions_loads(&conditions, &part, 1);
	rv_conditions_text(&conditions, 0, text, sizeof text);
	assert_string_equal(text, "shackle 104 % of its limit (31.20 kN), above 100 %");
	assert_string_equal(rv_conditions_unit(&conditions, 0, unit, sizeof unit), "1");
	free(station);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(levels_have_a_deadband),
	    cmocka_unit_test(rates_are_measured_at_every_rate_of_readings),
	    cmocka_unit_test(a_rate_has_a_deadband_of_a_tenth),
	    cmocka_unit_test(a_rate_is_not_taken_across_missing_or_restarted_readings),
	    cmocka_unit_test(a_lost_measurement_neither_raises_nor_ends),
	    cmocka_unit_test(beyond_its_range_a_reading_is_at_least_that_high),
	    cmocka_unit_test(a_repeat_is_no_reading),
	    cmocka_unit_test(components_are_compared_with_their_own_limit),
	    cmocka_unit_test(another_rig_voids_what_was_found_of_parts_only),
	    cmocka_unit_test(texts_are_in_the_unit_people_see),
	    cmocka_unit_test(texts_of_other_quantities_and_of_parts),
	};

	return cmocka_run_group_tests_name("conditions", tests, NULL, NULL);
}
