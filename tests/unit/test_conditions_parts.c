/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rules on components, and the words for people.
 */
#include "tests/unit/one_rule.h"

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

static void every_part_that_was_over_has_to_be_seen_back(void **state)
{
	static const struct {
		const char *label;
		double load[2]; /* limits 10, 20 kN */
		bool is_true, is_known;
		int part;
		bool joined;
	} looks[] = {
	    {"the first is over", {9e3, 1e3}, true, true, 0, false},
	    {"the second joins it", {9e3, 17e3}, true, true, 0, true},
	    {"both are still over", {9.5e3, 18e3}, true, true, 0, false},
	    {"the second is lost", {9e3, NAN}, true, true, 0},
	    {"the first is back: nobody knows of the second", {1e3, NAN}, true, false, 0},
	    {"both lost", {NAN, NAN}, true, false, 0},
	    {"the second is still over", {1e3, 17e3}, true, true, 1},
	    {"the first is lost and was back", {NAN, 17e3}, true, true, 1},
	    {"the second is back", {NAN, 1e3}, false, true, 1},
	};
	struct rv_station *station = station_with(RV_ALARM_ABOVE, 0.80, 0.015);
	struct rv_conditions conditions;

	(void)state;
	station->alarm[0].channel = -1;
	strcpy(station->alarm[0].component, "any");
	rv_conditions_init(&conditions, station);
	for (size_t i = 0; i < sizeof looks / sizeof looks[0]; i++) {
		struct rv_part_load parts[] = {{"strop", 10e3, looks[i].load[0]},
					       {"hook", 20e3, looks[i].load[1]}};

		rv_conditions_loads(&conditions, parts, 2);
		if (conditions.rule[0].is_true != looks[i].is_true ||
		    conditions.rule[0].is_known != looks[i].is_known ||
		    conditions.rule[0].part != looks[i].part ||
		    conditions.rule[0].joined != looks[i].joined)
			fail_msg("%s: true %d, known %d, part %d", looks[i].label,
				 conditions.rule[0].is_true, conditions.rule[0].is_known,
				 conditions.rule[0].part);
	}
	free(station);
}

static void another_rig_voids_what_was_found_of_parts_only(void **state)
{
	struct rv_station *station = station_with(RV_ALARM_ABOVE, 0.8, NAN);
	struct rv_conditions conditions;
	struct rv_part_load parts[] = {{"strop", 10e3, 9e3}, {"hook", 20e3, 1e3}};
	struct rv_reading over = good(5.0);

	(void)state;
	station->alarms = 2;
	station->alarm[1] = station->alarm[0];
	station->alarm[0].channel = -1;
	strcpy(station->alarm[0].component, "any");
	rv_conditions_init(&conditions, station);
	assert_int_equal(rv_conditions_loads(&conditions, parts, 2), 1);
	assert_int_equal(rv_conditions_reading(&conditions, 0, &over, MS), 2);
	assert_true(conditions.rule[0].is_true && conditions.rule[1].is_true);
	rv_conditions_forget_parts(&conditions);
	assert_true(conditions.rule[0].is_true && conditions.rule[1].is_true);
	assert_int_equal(conditions.rule[0].part, -1);
	/* A rig of which nothing is known lowers nothing; one that is seen whole does. */
	rv_conditions_loads(&conditions, parts, 0);
	assert_true(conditions.rule[0].is_true);
	parts[0].load_n = NAN;
	rv_conditions_loads(&conditions, parts, 2);
	assert_true(conditions.rule[0].is_true);
	parts[0].load_n = 1e3;
	rv_conditions_loads(&conditions, parts, 2);
	assert_false(conditions.rule[0].is_true);
	/* Where no part is meant any more, nothing can stand. */
	conditions.rule[0].is_true = true;
	conditions.rule[0].part = -1;
	parts[0].limit_n = parts[1].limit_n = NAN;
	rv_conditions_loads(&conditions, parts, 2);
	assert_false(conditions.rule[0].is_true);
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
	    cmocka_unit_test(components_are_compared_with_their_own_limit),
	    cmocka_unit_test(every_part_that_was_over_has_to_be_seen_back),
	    cmocka_unit_test(another_rig_voids_what_was_found_of_parts_only),
	    cmocka_unit_test(texts_are_in_the_unit_people_see),
	    cmocka_unit_test(texts_of_other_quantities_and_of_parts),
	};

	return cmocka_run_group_tests_name("conditions_parts", tests, NULL, NULL);
}
