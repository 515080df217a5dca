/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every refusal and warning can be provoked, and says why and what to do.
 */
#include "tests/unit/estimate_cases.h"

/* ---- refusals ---- */

static void too_little_is_refused(void **state)
{
	(void)state;
	begin(hauls5());
	test.pulls = 1;
	refused("one pull", "too_few_pulls");
	test.pulls = 0;
	refused("none", "too_few_pulls");

	begin(hung5());
	test.pulls = 4;
	refused("two cycles of a hung load", "too_few_pulls");

	begin(hauls5());
	for (int i = 1; i < 5; i++)
		test.pull[i].why = RV_PULL_SLACK;
	refused("most of it slack", "slack");

	begin(hauls5());
	test.run.cell[0].u_gain_ratio = NAN;
	refused("hauls without a stated gain", "no_gain_calibration");

	begin(hauls5());
	test.setup.motion = RV_ESTIMATE_BY_TENSIONS;
	refused("hauls by tensions", "no_two_states");

	begin(cycles5());
	test.setup.speed_known = false;
	refused("no speed", "speed_not_declared");
}

static void a_rig_that_cannot_tell_is_refused(void **state)
{
	(void)state;
	begin(cycles5());
	test.sheaves = 0.2;
	refused("a fifth of a sheave", "insensitive_placement");
	test.setup.curve.log_ratio = NULL;
	refused("no curve", "rig_not_covered");
}

static void friction_not_turned_over_is_refused(void **state)
{
	(void)state;
	begin(cycles5());
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].mobilised_ratio = 0.7;
	refused("sheaves turned in 70 %", "not_mobilised");

	begin(cycles5());
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].surge_log = 0.03 + 1e-4 * (i % 3); /* friction is 0.17 */
	refused("the ratio follows surges", "not_mobilised");
}

static void efficiencies_out_of_reason_are_refused(void **state)
{
	static const struct level rising = {QUIET, .u_gain = 0.001, .scatter = 0.001, .cycles = 5,
					    .haul_only = true};
	(void)state;
	level_make(&rising, 1, &test);
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].log_ratio = 0.1;
	refused("rises a little", "above_one");
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].log_ratio = 2.0;
	refused("rises much", "above_one");
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].log_ratio = -5.0;
	refused("no rig loses so much", "below_floor");

	begin(cycles5());
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].log_ratio = -test.pull[i].log_ratio;
	refused("directions exchanged", "above_one");
	assert_non_null(strstr(estimate.refusal.text, "encoder"));
}

static void a_contradiction_is_refused_with_both_values(void **state)
{
	(void)state;
	level_make(&(struct level){QUIET, .u_gain = 0.001, .scatter = 0.001, .cycles = 6}, 1,
		   &test);
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].log_ratio += 0.08;
	refused("gain off by 8 %", "gain_asymmetry_conflict");
	assert_non_null(strstr(estimate.refusal.text, "0.9"));
	assert_true(estimate.mean.low_ratio < 0.96 && estimate.mean.high_ratio > 0.96);
}

static void an_exchange_must_be_whole(void **state)
{
	(void)state;
	begin(swapped8());
	for (int i = 8; i < 14; i++)
		test.pull[i].why = RV_PULL_MISSING;
	refused("one haul the other way round", "exchange_incomplete");

	begin(swapped8());
	test.run.cell[1].capacity_n = 45e3;
	refused("20 against 45 kN", "exchange_not_possible");
}

static void one_cell_needs_a_design_and_a_load_that_allows_it(void **state)
{
	(void)state;
	begin(hung5());
	test.setup.design = RV_ESTIMATE_ONE_FIXED;
	refused("one cell alone", "one_cell_no_design");

	begin(hung5());
	test.setup.character = RV_LOAD_STEADY;
	refused("a load that drags", "load_not_free");

	begin(moved8());
	test.setup.character = RV_LOAD_VARIES;
	refused("a load that varies", "load_not_free");

	begin(moved8());
	for (int i = 0; i < 8; i++)
		test.pull[i].exchanged = i >= 4;
	refused("four near, then four far", "drift_confounded");

	begin(moved8());
	for (int i = 0; i < 8; i++)
		test.pull[i].travel_m = i % 2 ? 5.0 : 3.0;
	refused("faster at the far place", "drift_confounded");

	begin(moved8());
	test.pulls = 3;
	refused("one pull at the far place", "too_few_pulls");
}

/* ---- warnings ---- */

static void doubts_are_told(void **state)
{
	(void)state;
	begin(cycles5());
	warned("one load", "single_load");
	test.run.cell[1].u_zero_n = NAN;
	warned("zero not stated", "zero_not_stated");
	test.setup.declared_low_ratio = 0.80;
	test.setup.declared_high_ratio = 0.90;
	warned("not what the rig declares", "outside_plausible");

	begin(cycles5());
	double narrow = 0;
	make();
	narrow = estimate.efficiency.high_ratio - estimate.efficiency.low_ratio;
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].stint = 1;
	warned("in a row", "same_stint");
	assert_true(estimate.efficiency.high_ratio - estimate.efficiency.low_ratio > 1.5 * narrow);

	begin(cycles5());
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].lag_s = 0.1;
	warned("late", "lag_mismatch");

	begin(cycles5());
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].surge_log = 0.008 + 1e-4 * (i % 3);
	warned("follows surges a little", "mobilisation");
	assert_true(estimate.efficiency.high_ratio - estimate.efficiency.low_ratio > 1.1 * narrow);

	level_make(&(struct level){.sheaves = 1,
				   .efficiency = 0.995,
				   .load_n = 1e4,
				   .u_gain = 0.003,
				   .scatter = 0.002,
				   .cycles = 5,
				   .haul_only = true},
		   2, &test);
	warned("reaches one", "limit_reached");
	assert_near("cut off", estimate.efficiency.high_ratio, 1, 0);
}

static void what_moves_over_the_session_is_told(void **state)
{
	(void)state;
	level_make(&(struct level){QUIET, .u_gain = 0.003, .scatter = 2e-4, .cycles = 8,
				   .haul_only = true},
		   1, &test);
	for (int i = 0; i < 8; i++)
		test.pull[i].log_ratio += 0.002 * i;
	warned("rises", "drift");
	assert_true(estimate.drift_low_ph > 0);

	level_make(&(struct level){QUIET, .u_gain = 0.003, .scatter = 1e-4, .cycles = 12,
				   .haul_only = true},
		   1, &test);
	for (int i = 0; i < 12; i++)
		test.pull[i].log_ratio += i / 3 % 2 ? 0.01 : 0.0;
	warned("in groups of three", "serial_correlation");

	level_make(
	    &(struct level){QUIET, .u_gain = 0.001, .scatter = 2e-4, .cycles = 6, .excess = 0.15},
	    1, &test);
	warned("paying out costs more", "gain_or_asymmetry");
}

static void a_wrong_label_and_a_load_taken_constant_are_told(void **state)
{
	(void)state;
	level_make(
	    &(struct level){QUIET, .u_gain = 0.02, .scatter = 2e-4, .cycles = 8, .exchange = true},
	    4, &test);
	test.pull[0].exchanged = true;
	warned("label", "arrangement_label");

	begin(moved8());
	test.setup.load_constant = true;
	warned("load constant", "load_taken_constant");
}

static void pulls_without_their_other_direction_are_told(void **state)
{
	(void)state;
	level_make(&(struct level){QUIET, .u_gain = 0.003, .scatter = 0.002, .cycles = 5}, 1,
		   &test);
	test.pull[9].why = RV_PULL_MISSING;
	warned("one haul alone", "not_in_cycles");
	assert_int_equal(estimate.units, 4);
}

static void a_cell_outside_its_calibration_is_told_when_exchanged(void **state)
{
	(void)state;
	level_make(
	    &(struct level){QUIET, .u_gain = 0.03, .scatter = 0.002, .cycles = 8, .exchange = true},
	    6, &test);
	test.run.cell[0].u_gain_ratio = test.run.cell[1].u_gain_ratio = 0.001;
	warned("stated 0.1 %, is 3 %", "gain_or_asymmetry");
	assert_true(estimate.efficiency.low_ratio < 0.96 && estimate.efficiency.high_ratio > 0.96);
}

static void what_the_load_rubs_on_is_told_by_a_moved_cell(void **state)
{
	static const struct level rubs = {QUIET,
					  .scatter = 0.0005,
					  .cycles = 8,
					  .excess = 0.1,
					  .load_scatter = 0.002,
					  .load_friction = 0.05,
					  .on_shackle = true,
					  .design = RV_ESTIMATE_ONE_MOVED};
	(void)state;
	level_make(&rubs, 1, &test);
	warned("5 % of the load", "load_side_friction");
	assert_true(estimate.load_friction_low < 0.05 && estimate.load_friction_high > 0.05);
	assert_true(estimate.efficiency.low_ratio < 0.96 && estimate.efficiency.high_ratio > 0.96);

	struct level free = rubs;
	free.load_friction = 0.0;
	level_make(&free, 1, &test);
	make();
	assert_false(rv_estimate_has_warning(&estimate, "load_side_friction"));
}

static void states_found_from_tensions_widen_plainly(void **state)
{
	double width;
	(void)state;
	begin(cycles5());
	test.setup.excess_high_ratio = 0;
	make();
	width = estimate.efficiency.high_ratio - estimate.efficiency.low_ratio;
	test.setup.state_bias_log = 0.01;
	make();
	assert_near("wider by 2 x 0.01 / 8 sheaves",
		    estimate.efficiency.high_ratio - estimate.efficiency.low_ratio,
		    width + 0.96 * 0.0025, 1e-5);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(too_little_is_refused),
	    cmocka_unit_test(a_rig_that_cannot_tell_is_refused),
	    cmocka_unit_test(friction_not_turned_over_is_refused),
	    cmocka_unit_test(efficiencies_out_of_reason_are_refused),
	    cmocka_unit_test(a_contradiction_is_refused_with_both_values),
	    cmocka_unit_test(an_exchange_must_be_whole),
	    cmocka_unit_test(one_cell_needs_a_design_and_a_load_that_allows_it),
	    cmocka_unit_test(doubts_are_told),
	    cmocka_unit_test(what_moves_over_the_session_is_told),
	    cmocka_unit_test(a_wrong_label_and_a_load_taken_constant_are_told),
	    cmocka_unit_test(pulls_without_their_other_direction_are_told),
	    cmocka_unit_test(a_cell_outside_its_calibration_is_told_when_exchanged),
	    cmocka_unit_test(what_the_load_rubs_on_is_told_by_a_moved_cell),
	    cmocka_unit_test(states_found_from_tensions_widen_plainly),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
