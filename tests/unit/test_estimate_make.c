/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each mode gives back what was put in where there is no scatter; runs, struck pulls and words.
 * Whether intervals cover: tests/truth.  Refusals: test_estimate_design.c.
 */
#include "tests/unit/estimate_cases.h"

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
	    {"cycles with a gain",
	     {QUIET, .u_gain = 0.01, .cycles = 4, .excess = 0.1},
	     RV_ESTIMATE_CYCLES,
	     0.1},
	    {"swapped",
	     {QUIET, .u_gain = 0.03, .cycles = 4, .excess = 0.3, .exchange = true},
	     RV_ESTIMATE_SWAPPED,
	     0},
	    {"hung",
	     {QUIET, .u_gain = 0.03, .cycles = 4, .excess = 0.1, .design = RV_ESTIMATE_ONE_HUNG},
	     RV_ESTIMATE_HUNG,
	     0.1},
	    {"moved",
	     {QUIET, .u_gain = 0.03, .cycles = 8, .haul_only = true, .load_drift = 0.05,
	      .design = RV_ESTIMATE_ONE_MOVED},
	     RV_ESTIMATE_MOVED,
	     0},
	    {"shackle",
	     {.sheaves = 3, .shackle = true, .efficiency = 0.93, .load_n = 5e3, .cycles = 3},
	     RV_ESTIMATE_CYCLES,
	     0},
	};
	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		level_make(&rows[i].level, 11, &test);
		test.setup.excess_low_ratio = test.setup.excess_high_ratio =
		    rows[i].excess_declared;
		make();
		if (estimate.refused)
			print_error("%s: %s\n", rows[i].label, estimate.refusal.text);
		assert_false(estimate.refused);
		assert_int_equal(estimate.mode, rows[i].mode);
		assert_near(rows[i].label, estimate.efficiency.ratio, rows[i].level.efficiency,
			    1e-9);
	}
}

static void both_directions_gain_and_excess_are_told(void **state)
{
	static const struct level level = {QUIET, .u_gain = 0.02, .cycles = 6, .excess = 0.25,
					   .exchange = true};
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
	assert_true(estimate.relative_gain.low_ratio <= 1 &&
		    estimate.relative_gain.high_ratio >= 1);
}

static void a_known_weight_stands_for_the_far_cell(void **state)
{
	static const struct level level = {
	    QUIET,	    .cycles = 3,     .haul_only = true,
	    .u_gain = 1e-9, .scatter = 1e-6, .design = RV_ESTIMATE_WEIGHT};
	(void)state;
	level_make(&level, 3, &test);
	test.setup.weight_n = 1e4;
	test.setup.u_weight_n = 50;
	make();
	assert_int_equal(estimate.mode, RV_ESTIMATE_HAULS);
	assert_near("efficiency", estimate.efficiency.ratio, 0.96, 1e-5);
	/* 0.5 % of weight over four sheaves */
	assert_near("half-width", estimate.efficiency.high_ratio - estimate.efficiency.ratio,
		    0.96 * 1.96 * 0.005 / 4, 1e-4);
	double variance = 0;
	for (int i = 0; i < estimate.sources; i++)
		variance += estimate.source[i].u_ratio * estimate.source[i].u_ratio;
	assert_near("the budget holds it", sqrt(variance), 0.96 * 0.005 / 4, 1e-5);
}

/* A ring the line slides through, besides the sheaves: it takes 0.3 of the logarithm each way. */
static double legs_and_ring(const void *rig, double x, enum rv_motion motion)
{
	return level_legs(rig, x, motion) + (motion == RV_MOTION_OUT ? 0.3 : -0.3);
}

static void a_fixed_bar_is_not_laid_on_the_sheaves(void **state)
{
	static const bool exchange[] = {false, true};
	(void)state;
	for (int i = 0; i < 2; i++) {
		level_make(
		    &(struct level){QUIET, .u_gain = 0.01, .cycles = 6, .exchange = exchange[i]}, 9,
		    &test);
		test.setup.curve.log_ratio = legs_and_ring;
		test.setup.excess_high_ratio = 0.0;
		for (int p = 0; p < test.pulls; p++)
			test.pull[p].log_ratio +=
			    test.pull[p].direction == RV_MOTION_OUT ? 0.3 : -0.3;
		make();
		if (estimate.refused)
			print_error("%s\n", estimate.refusal.text);
		assert_near("efficiency of a sheave", estimate.efficiency.ratio, 0.96, 1e-9);
		assert_near("gain", estimate.relative_gain.ratio, exp(test.gain), 1e-9);
	}
}

static void the_design_chooses_the_mode_and_names_its_unit(void **state)
{
	(void)state;
	begin(cycles5());
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
	level_make(&(struct level){QUIET, .u_gain = 0.003, .scatter = 0.002, .cycles = 6}, 1,
		   &test);
	for (int i = 0; i < test.pulls; i++)
		test.pull[i].stint = i / 4;
	make();
	assert_int_equal(estimate.unit, RV_ESTIMATE_STINT);
	assert_near("degrees of freedom of three stints", estimate.source[0].dof, 2, 0);
}

/* ---- runs and struck pulls ---- */

static void runs_of(int runs, struct rv_estimate_run *run, double apart)
{
	static struct rv_estimate_pull pull[RV_ESTIMATE_PULLS];
	int pulls = 0;

	for (int r = 0; r < runs; r++) {
		struct level level = cycles5();
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
	assert_near("half-width", estimate.efficiency.high_ratio - estimate.efficiency.ratio,
		    4.30 * 0.01 / sqrt(3), 0.006);
	for (int c = 0; c < 2; c++)
		for (int r = 0; r < 3; r++)
			run[r].cell[c].calibration = r == 2 ? "new" : "old";
	make();
	double apart = estimate.efficiency.high_ratio;
	for (int r = 0; r < 3; r++)
		run[r].cell[0].calibration = run[r].cell[1].calibration = "old";
	make();
	assert_true(estimate.efficiency.high_ratio >
		    apart); /* one calibration for all stays an error */

	for (int i = 10; i < 20; i++)
		test.pull[i].mobilised_ratio = 0.5;
	refused("one run among three", "not_mobilised");
	assert_non_null(strstr(estimate.refusal.text, "Run 11"));
}

static void of_three_runs_one_cycle_each_is_enough(void **state)
{
	static struct rv_estimate_run run[3];
	int kept = 0;
	(void)state;
	runs_of(3, run, 0.01);
	for (int i = 0; i < test.pulls; i++)
		if (test.pull[i].index <= 2)
			test.pull[kept++] = test.pull[i];
	test.pulls = kept;
	make();
	assert_int_equal(kept, 6);
	assert_false(estimate.refused);
	assert_int_equal(estimate.mode, RV_ESTIMATE_CYCLES);
	assert_int_equal(estimate.unit, RV_ESTIMATE_RUN);
	assert_true(estimate.efficiency.low_ratio < 0.96 && estimate.efficiency.high_ratio > 0.96);
	/* One of them without paying out: hauls, in all. */
	test.pull[3].why = RV_PULL_MISSING;
	make();
	assert_int_equal(estimate.mode, RV_ESTIMATE_HAULS);
	assert_int_equal(estimate.units, 3);
}

static void struck_pulls_give_both_results(void **state)
{
	(void)state;
	begin(hauls5());
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
	begin(cycles5());
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
	begin(cycles5());
	estimate.units = -7;
	test.pull[1].run = 1;
	assert_int_equal(rv_estimate_make(&test.setup, test.pull, test.pulls, &estimate),
			 RV_ERR_RANGE);
	assert_int_equal(estimate.units, -7);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(without_scatter_every_mode_gives_back_the_truth),
	    cmocka_unit_test(both_directions_gain_and_excess_are_told),
	    cmocka_unit_test(a_known_weight_stands_for_the_far_cell),
	    cmocka_unit_test(a_fixed_bar_is_not_laid_on_the_sheaves),
	    cmocka_unit_test(the_design_chooses_the_mode_and_names_its_unit),
	    cmocka_unit_test(three_runs_count_as_three_and_two_as_none),
	    cmocka_unit_test(of_three_runs_one_cycle_each_is_enough),
	    cmocka_unit_test(struck_pulls_give_both_results),
	    cmocka_unit_test(the_estimand_says_what_was_assumed),
	    cmocka_unit_test(pulls_out_of_order_are_the_callers_error),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
