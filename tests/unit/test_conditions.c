/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/unit/one_rule.h"

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
	};

	return cmocka_run_group_tests_name("conditions", tests, NULL, NULL);
}
