/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "core/facts.h"

static struct rv_pull_result pull_at(double start_s, double start_m, bool unloaded)
{
	return (struct rv_pull_result){.direction = RV_MOTION_IN,
				       .start_ns = (int64_t)(start_s * 1e9),
				       .end_ns = (int64_t)((start_s + 10.0) * 1e9),
				       .start_m = start_m,
				       .mean_tension_n = 9e3,
				       .far_n = 8e3,
				       .log_ratio = -0.1178,
				       .lag_s = 0.001 * start_s,
				       .unloaded_before = unloaded};
}

static void a_stint_ends_where_the_line_went_slack_and_moved(void **state)
{
	static const struct {
		const char *label;
		double start_m;
		bool unloaded, rigged_anew;
		int stint;
	} cases[] = {
	    {"first", 20.0, true, false, 1},
	    {"paid out under load", 17.0, false, false, 1},
	    {"slack, but the same place", 20.2, true, false, 1},
	    {"slack and another place", 19.5, true, false, 2},
	    {"rigged anew", 19.5, true, true, 3},
	    {"slack, place not known", NAN, true, false, 4},
	};
	static struct rv_facts facts;

	(void)state;
	rv_facts_init(&facts, 2);
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_pull_result pull =
		    pull_at(20.0 * (double)i, cases[i].start_m, cases[i].unloaded);

		if (cases[i].rigged_anew)
			rv_facts_rigged_anew(&facts);
		rv_facts_add(&facts, &pull);
		if (facts.pull[i].stint != cases[i].stint)
			fail_msg("%s: stint %d", cases[i].label, facts.pull[i].stint);
	}
	rv_facts_end(&facts);
	assert_int_equal(facts.pull[1].index, 2);
	assert_int_equal(facts.pull[1].run, 2);
	assert_near("drift", facts.pull[1].since_zero_ratio, 30.0 / 110.0, 1e-12);
	assert_near("lag", rv_facts_lag_s(&facts), 0.05, 1e-12);
}

static void what_was_not_kept_has_no_ratio(void **state)
{
	static struct rv_facts facts;
	struct rv_pull_result pull = pull_at(1.0, 20.0, true);

	(void)state;
	rv_facts_init(&facts, 0);
	pull.why = RV_PULL_SLACK;
	rv_facts_add(&facts, &pull);
	assert_true(isnan(facts.pull[0].log_ratio));
	assert_true(isnan(rv_facts_lag_s(&facts)));
}

static void pulls_beyond_the_last_place_are_counted(void **state)
{
	static struct rv_facts facts;

	(void)state;
	rv_facts_init(&facts, 0);
	for (int i = 0; i < RV_ESTIMATE_PULLS + 3; i++) {
		struct rv_pull_result pull = pull_at(20.0 * i, 20.0, true);

		rv_facts_add(&facts, &pull);
	}
	assert_int_equal(facts.count, RV_ESTIMATE_PULLS);
	assert_int_equal(facts.left_out, 3);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_stint_ends_where_the_line_went_slack_and_moved),
	    cmocka_unit_test(what_was_not_kept_has_no_ratio),
	    cmocka_unit_test(pulls_beyond_the_last_place_are_counted),
	};

	return cmocka_run_group_tests_name("facts", tests, NULL, NULL);
}
