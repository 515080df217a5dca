/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/compare_json.h"

static struct rv_estimate estimate[3];
static struct rv_compare_run run[3];

/* Three groups in turns, 0.96, 0.95 and 0.95, each pull off by 0.1 % either way. */
static void play(struct rv_compare_result *result)
{
	memset(estimate, 0, sizeof estimate);
	memset(result, 0, sizeof *result);
	result->groups = 3;
	result->aim_ratio = 0.01;
	for (int g = 0; g < 3; g++) {
		rv_estimate_init(&estimate[g]);
		estimate[g].mode = RV_ESTIMATE_CYCLES;
		estimate[g].efficiency = (struct rv_estimate_interval){0.95, 0.94, 0.96, 3.0};
		run[g].number = g + 4;
		for (int i = 0; i < 4; i++)
			estimate[g].each[estimate[g].units++] = (struct rv_estimate_unit){
			    .x = log(g == 0 ? 0.96 : 0.95) + (i * (i + g) % 3 - 1) * 0.001,
			    .at_s = 100.0 * (3 * i + g)};
		for (int c = 0; c < 2; c++)
			run[g].cell[c] = (struct rv_estimate_cell){.name = c ? "far" : "near",
								   .u_gain_ratio = NAN,
								   .u_zero_n = NAN,
								   .u_drift_n = NAN,
								   .u_inverse_n = NAN};
		result->group[g] = (struct rv_compare_group){&estimate[g], &run[g], 1, NAN};
	}
}

static void every_pair_is_compared_and_told(void **state)
{
	struct rv_compare_result result;
	(void)state;

	play(&result);
	assert_int_equal(rv_compare_json_fill(&result, NULL), RV_OK);
	json_t *json = rv_compare_json(&result);
	json_t *groups = json_object_get(json, "groups");
	json_t *differences = json_object_get(json, "differences");
	assert_int_equal(json_array_size(groups), 3);
	assert_int_equal(json_integer_value(
			     json_array_get(json_object_get(json_array_get(groups, 1), "runs"), 0)),
			 5);
	assert_int_equal(json_integer_value(json_object_get(json_array_get(groups, 2), "n")), 4);
	assert_int_equal(json_array_size(differences), 3);
	json_t *first = json_array_get(differences, 0), *last = json_array_get(differences, 2);
	assert_string_equal(json_string_value(json_object_get(first, "verdict")), "differ");
	assert_string_equal(json_string_value(json_object_get(last, "verdict")),
			    "not shown to differ");
	assert_near("difference", json_real_value(json_object_get(first, "ratio_difference")),
		    -0.01, 0.002);
	assert_int_equal(json_integer_value(json_object_get(last, "a")), 1);
	assert_int_equal(json_integer_value(json_object_get(last, "b")), 2);
	json_t *needed = json_object_get(json, "needed");
	assert_true(json_integer_value(json_object_get(needed, "power_80")) >= 2);
	assert_true(json_integer_value(json_object_get(needed, "power_90")) >=
		    json_integer_value(json_object_get(needed, "power_80")));
	assert_int_equal(json_array_size(json_object_get(json, "warnings")), 1);
	json_decref(json);
}

static void what_is_not_known_is_null(void **state)
{
	struct rv_compare_result result;
	(void)state;

	play(&result);
	rv_estimate_refuse(&estimate[0], "two_sessions", "", "two");
	for (int g = 0; g < 3; g++)
		run[g].start_s = (double)NAN;
	rv_estimate_warn(&estimate[1], "same_stint", "in a row");
	result.aim_ratio = 1e-7;
	assert_int_equal(rv_compare_json_fill(&result, NULL), RV_OK);
	json_t *json = rv_compare_json(&result);
	assert_true(json_is_null(
	    json_object_get(json_array_get(json_object_get(json, "groups"), 0), "efficiency")));
	assert_true(json_is_null(json_object_get(json_object_get(json, "needed"), "power_80")));
	assert_string_equal(result.warning[0].code, "drift_confounded");
	assert_string_equal(result.warning[1].code, "same_stint");
	json_decref(json);
	for (int g = 0; g < 3; g++)
		run[g].start_s = 0.0;
}

static void a_group_of_one_pull_is_refused(void **state)
{
	struct rv_compare_result result;
	struct rv_error error = {0};
	(void)state;

	play(&result);
	estimate[2].units = 1;
	assert_int_equal(rv_compare_json_fill(&result, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "too_few_pulls");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(every_pair_is_compared_and_told),
	    cmocka_unit_test(what_is_not_known_is_null),
	    cmocka_unit_test(a_group_of_one_pull_is_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
