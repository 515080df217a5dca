/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each mode gives back what was put in where there is no scatter, and every refusal and warning can be
 * provoked and says what to do.  Whether intervals cover: tests/truth.
 */
#include "tests/rvtest.h"

#include "tests/truth/pull_level.h"

static struct level_test test;
static struct rv_estimate estimate;

#define QUIET .sheaves = 4, .efficiency = 0.96, .load_n = 1e4

/* An ordinary test, which the cases then spoil. */
static const struct level cycles5 = {QUIET, .u_gain = 0.003, .u_zero_n = 10, .scatter = 0.002, .cycles = 5, .excess = 0.1};
static const struct level hauls5 = {QUIET, .u_gain = 0.003, .u_zero_n = 10, .scatter = 0.002, .cycles = 5, .haul_only = true};
static const struct level swapped8 = {QUIET, .u_gain = 0.01, .u_zero_n = 10, .scatter = 0.002, .cycles = 8, .exchange = true};
static const struct level hung5 = {QUIET, .u_gain = 0.01, .u_zero_n = 10, .scatter = 0.002, .cycles = 5, .design = RV_ESTIMATE_ONE_HUNG};
static const struct level moved8 = {QUIET, .u_gain = 0.01, .u_zero_n = 10, .scatter = 0.002, .cycles = 8, .haul_only = true, .load_scatter = 0.007, .design = RV_ESTIMATE_ONE_MOVED};

static void make(void)
{
	assert_int_equal(rv_estimate_make(&test.setup, test.pull, test.pulls, &estimate), RV_OK);
}

static void refused(const char *label, const char *code)
{
	make();
	if (!estimate.refused || strcmp(estimate.refusal.code, code) != 0) {
		print_error("%s: want %s, got %s (%s)\n", label, code, estimate.refusal.code, estimate.refusal.text);
		fail();
	}
	if (!isnan(estimate.efficiency.ratio) || strlen(estimate.refusal.text) < 20 ||
	    strlen(estimate.refusal.cure) < 10) {
		print_error("%s: a refusal gives no number, and says why and what to do\n", label);
		fail();
	}
}

static void warned(const char *label, const char *code)
{
	make();
	if (!estimate.refused && rv_estimate_has_warning(&estimate, code) &&
	    estimate.efficiency.low_ratio < estimate.efficiency.high_ratio)
		return;
	print_error("%s: want the warning %s\n", label, code);
	for (int i = 0; i < estimate.warnings; i++)
		print_error("  has %s\n", estimate.warning[i].code);
	if (estimate.refused)
		print_error("  refused: %s\n", estimate.refusal.text);
	fail();
}

/* ---- what was put in comes out ---- */

static void without_scatter_every_mode_gives_back_the_truth(void **state)
{
	static const struct {
		const char *label;
		struct level level;
		enum rv_estimate_mode mode;
		double excess_declared;
	} rows[] = {
	    {"cycles", {QUIET, .cycles = 4, .excess = 0.1}, RV_ESTIMATE_CYCLES, 0.1},
	    {"cycles with a gain", {QUIET, .u_gain = 0.01, .cycles = 4, .excess = 0.1}, RV_ESTIMATE_CYCLES, 0.1},
	    {"swapped", {QUIET, .u_gain = 0.03, .cycles = 4, .excess = 0.3, .exchange = true}, RV_ESTIMATE_SWAPPED, 0},
	    {"hung", {QUIET, .u_gain = 0.03, .cycles = 4, .excess = 0.1, .design = RV_ESTIMATE_ONE_HUNG}, RV_ESTIMATE_HUNG, 0.1},
	    {"moved", {QUIET, .u_gain = 0.03, .cycles = 8, .haul_only = true, .load_drift = 0.05, .design = RV_ESTIMATE_ONE_MOVED}, RV_ESTIMATE_MOVED, 0},
	    {"shackle", {.sheaves = 3, .shackle = true, .efficiency = 0.93, .load_n = 5e3, .cycles = 3}, RV_ESTIMATE_CYCLES, 0},
	};
	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		level_make(&rows[i].level, 11, &test);
		test.setup.excess_low_ratio = test.setup.excess_high_ratio = rows[i].excess_declared;
		make();
		if (estimate.refused)
			print_error("%s: %s\n", rows[i].label, estimate.refusal.text);
		assert_false(estimate.refused);
		assert_int_equal(estimate.mode, rows[i].mode);
		assert_near(rows[i].label, estimate.efficiency.ratio, rows[i].level.efficiency, 1e-9);
	}
}

static void both_directions_gain_and_excess_are_told(void **state)
{
	static const struct level level = {QUIET, .u_gain = 0.02, .cycles = 6, .excess = 0.25, .exchange = true};
	(void)state;
	level_make(&level, 5, &test);
	make();
	assert_near("in", estimate.in.ratio, 0.96, 1e-9);
	assert_near("out", estimate.out.ratio, pow(0.96, 1.25), 1e-9);
	assert_near("mean of both", estimate.mean.ratio, pow(0.96, 1.125), 1e-9);
	assert_near("gain", estimate.relative_gain.ratio, exp(test.gain), 1e-9);
	assert_near("excess", estimate.excess.ratio, 0.25, 1e-7);

	static const struct level known = {QUIET, .cycles = 5, .excess = 0.1, .u_gain = 1e-9};
	level_make(&known, 6, &test);
	make();
	assert_near("out by calibration", estimate.out.ratio, pow(0.96, 1.1), 1e-7);
	assert_near("excess by calibration", estimate.excess.ratio, 0.1, 1e-5);
	assert_true(estimate.relative_gain.low_ratio <= 1 && estimate.relative_gain.high_ratio >= 1);
}

static void a_known_weight_stands_for_the_far_cell(void **state)
{
	static const struct level level = {QUIET, .cycles = 3, .haul_only = true, .u_gain = 1e-9, .scatter = 1e-6, .design = RV_ESTIMATE_WEIGHT};
	(void)state;
	level_make(&level, 3, &test);
	test.setup.weight_n = 1e4;
	test.setup.u_weight_n = 50;
	make();
	assert_int_equal(estimate.mode, RV_ESTIMATE_HAULS);
	assert_near("efficiency", estimate.efficiency.ratio, 0.96, 1e-5);
	/* 0.5 % of weight over four sheaves */
	assert_near("half-width", estimate.efficiency.high_ratio - estimate.efficiency.ratio, 0.96 * 1.96 * 0.005 / 4, 1e-4);
	double variance = 0;
	for (int i = 0; i < estimate.sources; i++)
		variance += estimate.source[i].u_ratio * estimate.source[i].u_ratio;
	assert_near("the budget holds it", sqrt(variance), 0.96 * 0.005 / 4, 1e-5);
}

static void the_design_chooses_the_mode_and_names_its_unit(void **state)
{
	(void)state;
	level_make(&cycles5, 1, &test);
	make();
	assert_string_equal(rv_estimate_mode_name(estimate.mode), "cycles");
	assert_int_equal(estimate.unit, RV_ESTIMATE_CYCLE);
	assert_int_equal(estimate.units, 5);
	assert_near("effective", estimate.sheaves_effective, 4, 1e-6);

	/* Two pay-outs do not make cycles: hauls. */
	for (int i = 5; i < test.pulls; i += 2)
		test.pull[i].why = RV_PULL_TOO_SHORT;
	make();
	assert_string_equal(rv_estimate_mode_name(estimate.mode), "hauls");
	assert_int_equal(estimate.unit, RV_ESTIMATE_PULL);
	assert_int_equal(estimate.units, 5);
	assert_near("no paying out", estimate.out.ratio, NAN, 0);

	/* Three stints of two: their means count. */
	level_make(&(struct level){QUIET, .u_gain = 0.003, .scatter = 0.002, .cycles = 6}, 1, &test);
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].stint = i / 4;
	make();
	assert_int_equal(estimate.unit, RV_ESTIMATE_STINT);
	assert_near("degrees of freedom of three stints", estimate.source[0].dof, 2, 0);
}

/* ---- refusals ---- */

static void too_little_is_refused(void **state)
{
	(void)state;
	level_make(&hauls5, 1, &test);
	test.pulls = 1;
	refused("one pull", "too_few_pulls");
	test.pulls = 0;
	refused("none", "too_few_pulls");

	level_make(&hung5, 1, &test);
	test.pulls = 4;
	refused("two cycles of a hung load", "too_few_pulls");

	level_make(&hauls5, 1, &test);
	for (int i = 1; i < 5; i++)
		test.pull[i].why = RV_PULL_SLACK;
	refused("most of it slack", "slack");

	level_make(&hauls5, 1, &test);
	test.run.cell[0].u_gain_ratio = NAN;
	refused("hauls without a stated gain", "no_gain_calibration");

	level_make(&hauls5, 1, &test);
	test.setup.motion = RV_ESTIMATE_BY_TENSIONS;
	refused("hauls by tensions", "no_two_states");

	level_make(&cycles5, 1, &test);
	test.setup.speed_known = false;
	refused("no speed", "speed_not_declared");
}

static void a_rig_that_cannot_tell_is_refused(void **state)
{
	(void)state;
	level_make(&cycles5, 1, &test);
	test.sheaves = 0.2;
	refused("a fifth of a sheave", "insensitive_placement");
	test.setup.curve.log_ratio = NULL;
	refused("no curve", "rig_not_covered");
}

static void friction_not_turned_over_is_refused(void **state)
{
	(void)state;
	level_make(&cycles5, 1, &test);
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].mobilised_ratio = 0.7;
	refused("sheaves turned in 70 %", "not_mobilised");

	level_make(&cycles5, 1, &test);
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].surge_log = 0.03 + 1e-4 * (i % 3); /* friction is 0.17 */
	refused("the ratio follows surges", "not_mobilised");
}

static void efficiencies_out_of_reason_are_refused(void **state)
{
	static const struct level rising = {QUIET, .u_gain = 0.001, .scatter = 0.001, .cycles = 5, .haul_only = true};
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

	level_make(&cycles5, 1, &test);
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].log_ratio = -test.pull[i].log_ratio;
	refused("directions exchanged", "above_one");
	assert_non_null(strstr(estimate.refusal.text, "encoder"));
}

static void a_contradiction_is_refused_with_both_values(void **state)
{
	(void)state;
	level_make(&(struct level){QUIET, .u_gain = 0.001, .scatter = 0.001, .cycles = 6}, 1, &test);
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].log_ratio += 0.08;
	refused("gain off by 8 %", "gain_asymmetry_conflict");
	assert_non_null(strstr(estimate.refusal.text, "0.9"));
	assert_true(estimate.mean.low_ratio < 0.96 && estimate.mean.high_ratio > 0.96);
}

static void an_exchange_must_be_whole(void **state)
{
	(void)state;
	level_make(&swapped8, 1, &test);
	for (int i = 8; i < 14; i++)
		test.pull[i].why = RV_PULL_MISSING;
	refused("one haul the other way round", "exchange_incomplete");

	level_make(&swapped8, 1, &test);
	test.run.cell[1].capacity_n = 45e3;
	refused("20 against 45 kN", "exchange_not_possible");
}

static void one_cell_needs_a_design_and_a_load_that_allows_it(void **state)
{
	(void)state;
	level_make(&hung5, 1, &test);
	test.setup.design = RV_ESTIMATE_ONE_FIXED;
	refused("one cell alone", "one_cell_no_design");

	level_make(&hung5, 1, &test);
	test.setup.character = RV_LOAD_STEADY;
	refused("a load that drags", "load_not_free");

	level_make(&moved8, 1, &test);
	test.setup.character = RV_LOAD_VARIES;
	refused("a load that varies", "load_not_free");

	level_make(&moved8, 1, &test);
	for (int i = 0; i < 8; i++)
		test.pull[i].exchanged = i >= 4;
	refused("four near, then four far", "drift_confounded");

	level_make(&moved8, 1, &test);
	for (int i = 0; i < 8; i++)
		test.pull[i].travel_m = i % 2 ? 5.0 : 3.0;
	refused("faster at the far place", "drift_confounded");

	level_make(&moved8, 1, &test);
	test.pulls = 3;
	refused("one pull at the far place", "too_few_pulls");
}

/* ---- warnings ---- */

static void doubts_are_told(void **state)
{
	(void)state;
	level_make(&cycles5, 1, &test);
	warned("one load", "single_load");
	test.run.cell[1].u_zero_n = NAN;
	warned("zero not stated", "zero_not_stated");
	test.setup.declared_low_ratio = 0.80;
	test.setup.declared_high_ratio = 0.90;
	warned("not what the rig declares", "outside_plausible");

	level_make(&cycles5, 1, &test);
	double narrow = 0;
	make();
	narrow = estimate.efficiency.high_ratio - estimate.efficiency.low_ratio;
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].stint = 1;
	warned("in a row", "same_stint");
	assert_true(estimate.efficiency.high_ratio - estimate.efficiency.low_ratio > 1.5 * narrow);

	level_make(&cycles5, 1, &test);
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].lag_s = 0.1;
	warned("late", "lag_mismatch");

	level_make(&cycles5, 1, &test);
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].surge_log = 0.008 + 1e-4 * (i % 3);
	warned("follows surges a little", "mobilisation");
	assert_true(estimate.efficiency.high_ratio - estimate.efficiency.low_ratio > 1.1 * narrow);

	level_make(&(struct level){.sheaves = 1, .efficiency = 0.995, .load_n = 1e4, .u_gain = 0.003, .scatter = 0.002, .cycles = 5, .haul_only = true}, 2, &test);
	warned("reaches one", "limit_reached");
	assert_near("cut off", estimate.efficiency.high_ratio, 1, 0);
}

static void what_moves_over_the_session_is_told(void **state)
{
	(void)state;
	level_make(&(struct level){QUIET, .u_gain = 0.003, .scatter = 2e-4, .cycles = 8, .haul_only = true}, 1, &test);
	for (int i = 0; i < 8; i++)
		test.pull[i].log_ratio += 0.002 * i;
	warned("rises", "drift");
	assert_true(estimate.drift_low_ph > 0);

	level_make(&(struct level){QUIET, .u_gain = 0.003, .scatter = 1e-4, .cycles = 12, .haul_only = true}, 1, &test);
	for (int i = 0; i < 12; i++)
		test.pull[i].log_ratio += i / 3 % 2 ? 0.01 : 0.0;
	warned("in groups of three", "serial_correlation");

	level_make(&(struct level){QUIET, .u_gain = 0.001, .scatter = 2e-4, .cycles = 6, .excess = 0.15}, 1, &test);
	warned("paying out costs more", "gain_or_asymmetry");
}

static void a_wrong_label_and_a_load_taken_constant_are_told(void **state)
{
	(void)state;
	level_make(&(struct level){QUIET, .u_gain = 0.02, .scatter = 2e-4, .cycles = 8, .exchange = true}, 4, &test);
	test.pull[0].exchanged = true;
	warned("label", "arrangement_label");

	level_make(&moved8, 1, &test);
	test.setup.load_constant = true;
	warned("load constant", "load_taken_constant");
}

/* ---- runs and struck pulls ---- */

static void runs_of(int runs, struct rv_estimate_run *run, double apart)
{
	static struct rv_estimate_pull pull[RV_ESTIMATE_PULLS];
	int pulls = 0;

	for (int r = 0; r < runs; r++) {
		struct level level = cycles5;
		level.efficiency += apart * (r - 1);
		level_make(&level, (uint64_t)r + 1, &test);
		run[r] = test.run;
		run[r].number = 10 + r;
		for (int i = 0; i < test.pulls; i++) {
			pull[pulls] = test.pull[i];
			pull[pulls++].run = r;
		}
	}
	memcpy(test.pull, pull, sizeof pull);
	test.pulls = pulls;
	test.setup.run = run;
	test.setup.runs = runs;
}

static void three_runs_count_as_three_and_two_as_none(void **state)
{
	static struct rv_estimate_run run[3];
	(void)state;
	runs_of(2, run, 0.01);
	refused("two runs", "two_sessions");
	assert_non_null(strstr(estimate.refusal.text, "11"));

	runs_of(3, run, 0.01);
	make();
	assert_false(estimate.refused);
	assert_int_equal(estimate.unit, RV_ESTIMATE_RUN);
	assert_near("degrees", estimate.source[0].dof, 2, 0);
	/* t(2) x 1 % / sqrt 3 */
	assert_near("half-width", estimate.efficiency.high_ratio - estimate.efficiency.ratio, 4.30 * 0.01 / sqrt(3), 0.006);
	for (int c = 0; c < 2; c++)
		for (int r = 0; r < 3; r++)
			run[r].cell[c].calibration = r == 2 ? "new" : "old";
	make();
	double apart = estimate.efficiency.high_ratio;
	for (int r = 0; r < 3; r++)
		run[r].cell[0].calibration = run[r].cell[1].calibration = "old";
	make();
	assert_true(estimate.efficiency.high_ratio > apart); /* one calibration for all stays an error */

	for (int i = 10; i < 20; i++)
		test.pull[i].mobilised_ratio = 0.5;
	refused("one run among three", "not_mobilised");
	assert_non_null(strstr(estimate.refusal.text, "Run 11"));
}

static void struck_pulls_give_both_results(void **state)
{
	(void)state;
	level_make(&hauls5, 1, &test);
	test.pull[2].log_ratio += 0.05;
	test.pull[2].struck = "somebody leant on the line";
	make();
	double with = estimate.with_struck.ratio, without = estimate.efficiency.ratio;
	assert_int_equal(estimate.units, 4);
	test.pull[2].struck = NULL;
	make();
	assert_near("with it", with, estimate.efficiency.ratio, 1e-12);
	assert_near("none struck", estimate.with_struck.ratio, NAN, 0);
	assert_true(with > without + 0.001);
}

static void the_estimand_says_what_was_assumed(void **state)
{
	(void)state;
	level_make(&cycles5, 1, &test);
	test.setup.stiffness_known = false;
	make();
	assert_non_null(strstr(estimate.estimand, "0 to 20 %"));
	assert_non_null(strstr(estimate.estimand, "stiffness of the line is not declared"));
	assert_non_null(strstr(estimate.estimand, "re-reeving"));
	test.setup.correlation = 0.3;
	test.setup.motion = RV_ESTIMATE_BY_TENSIONS;
	make();
	assert_non_null(strstr(estimate.estimand, "correlate by 0.3"));
	assert_non_null(strstr(estimate.estimand, "inferred"));
	test.setup.session_log = 0.005;
	make();
	assert_true(estimate.another_day.high_ratio - estimate.another_day.low_ratio >
		    estimate.efficiency.high_ratio - estimate.efficiency.low_ratio);
}

static void pulls_out_of_order_are_the_callers_error(void **state)
{
	(void)state;
	level_make(&cycles5, 1, &test);
	estimate.units = -7;
	test.pull[1].run = 1;
	assert_int_equal(rv_estimate_make(&test.setup, test.pull, test.pulls, &estimate), RV_ERR_RANGE);
	assert_int_equal(estimate.units, -7);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(without_scatter_every_mode_gives_back_the_truth),
	    cmocka_unit_test(both_directions_gain_and_excess_are_told),
	    cmocka_unit_test(a_known_weight_stands_for_the_far_cell),
	    cmocka_unit_test(the_design_chooses_the_mode_and_names_its_unit),
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
	    cmocka_unit_test(three_runs_count_as_three_and_two_as_none),
	    cmocka_unit_test(struck_pulls_give_both_results),
	    cmocka_unit_test(the_estimand_says_what_was_assumed),
	    cmocka_unit_test(pulls_out_of_order_are_the_callers_error),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
