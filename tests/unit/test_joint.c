/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Three cells and more, for pulls drawn from a plain model: four sheaves in a row, a cell on some
 * of the five legs, each log ratio with the scatter that the fit's weights are declared for. The
 * figures to compare with are those of an independent prototype in another language on a simulator
 * with rope and time (600 sessions a line; from its report, not re-run): segments cover 92 to 97 %,
 * unequal ones found in 100 % at 1 % difference, equal ones called different in 5 %.
 */
#include "tests/rvtest.h"

#include <string.h>

#include "core/joint.h"
#include "core/joint_gain.h"
#include "tests/truth/pull_level.h"

enum { SHEAVES = 4, MOST_CELLS = 5 };

struct told {
	int leg[MOST_CELLS]; /* of each cell: sheaves before it */
	int cells;
	double efficiency[SHEAVES];
	double excess, u_gain;
	int bad; /* cell that is off; -1 */
	double off;
	int cycles;
	bool haul_only;
};

static struct rv_estimate_cell cell[MOST_CELLS];
static struct rv_estimate_pull pull[MOST_CELLS][64];
static struct rv_joint_sheave sheave[SHEAVES];
static struct rv_estimate_setup plain;
static struct rv_estimate estimate;

/* Segments with as many like sheaves as lie between the cells. */
static double log_ratio(const void *rig, int j, const double *x, enum rv_motion motion)
{
	const struct told *told = rig;
	double sum = 0.0;

	for (int s = 0; s < j; s++)
		sum += x[s] * (told->leg[s + 1] - told->leg[s]);
	return motion == RV_MOTION_OUT ? -sum : sum;
}

static struct rv_joint_setup draw(const struct told *told, struct level_dice *dice)
{
	static const char *const names[MOST_CELLS] = {"lead", "b", "c", "d", "e"};
	double gain[MOST_CELLS];
	struct rv_joint_setup setup = {.cells = told->cells,
				       .cell = cell,
				       .log_ratio = log_ratio,
				       .rig = told,
				       .sheave = sheave,
				       .estimate = &plain};

	rv_estimate_setup_init(&plain);
	rv_estimate_init(&estimate);
	memset(pull, 0, sizeof pull);
	for (int j = 0; j < told->cells; j++) {
		cell[j] = (struct rv_estimate_cell){.name = names[j],
						    .u_gain_ratio = told->u_gain,
						    .u_zero_n = NAN,
						    .u_drift_n = NAN,
						    .u_inverse_n = NAN};
		gain[j] = told->u_gain * level_normal(dice) + (j == told->bad ? told->off : 0.0);
		setup.pull[j] = pull[j];
		for (int s = told->leg[j]; j + 1 < told->cells && s < told->leg[j + 1]; s++)
			sheave[setup.sheaves++] = (struct rv_joint_sheave){"block", s + 1, j};
	}
	for (int c = 0; c < told->cycles; c++)
		for (int out = 0; out < 2 - told->haul_only; out++) {
			double common = 0.002 * level_normal(dice), sum[SHEAVES + 1] = {0.0};
			int i = setup.pulls++;
			double own = 0.0015 * level_normal(dice);

			for (int s = 0; s < SHEAVES; s++)
				sum[s + 1] =
				    sum[s] +
				    log(told->efficiency[s]) * (out ? 1.0 + told->excess : 1.0) +
				    common + 0.002 * level_normal(dice);
			for (int j = 1; j < told->cells; j++)
				pull[j][i] = (struct rv_estimate_pull){
				    .index = i + 1,
				    .direction = out ? RV_MOTION_OUT : RV_MOTION_IN,
				    .near_n = 1e4,
				    .far_n = 1e4,
				    .stint = c,
				    .log_ratio = (out ? -sum[told->leg[j]] : sum[told->leg[j]]) +
						 gain[j] - gain[0] + own +
						 0.0015 * level_normal(dice)};
		}
	return setup;
}

static double truth_of(const struct told *told, int segment)
{
	double sum = 0.0;

	for (int s = told->leg[segment]; s < told->leg[segment + 1]; s++)
		sum += log(told->efficiency[s]);
	return exp(sum / (told->leg[segment + 1] - told->leg[segment]) *
		   (1.0 + 0.5 * told->excess));
}

static const struct told each_leg = {.leg = {0, 1, 2, 3, 4},
				     .cells = 5,
				     .efficiency = {0.96, 0.96, 0.96, 0.96},
				     .u_gain = 0.003,
				     .bad = -1,
				     .cycles = 5};

static struct told with(struct told told, double a, double b, double c, double d)
{
	const double efficiency[SHEAVES] = {a, b, c, d};

	memcpy(told.efficiency, efficiency, sizeof efficiency);
	return told;
}

static void segments_cover_and_differ_when_they_do(void **state)
{
	struct told middle = each_leg;
	(void)state;
	middle.cells = 3;
	middle.leg[1] = 2;
	middle.leg[2] = 4;
	struct told hauls = middle;
	hauls.haul_only = true;
	struct {
		const char *label;
		struct told told;
		double least, most; /* called different, % */
		int worst;	    /* named in nearly all of those; -1: any */
	} rows[] = {
	    {"each leg, alike", each_leg, 0, 9, -1},
	    {"each leg, one of four worse", with(each_leg, 0.96, 0.96, 0.94, 0.96), 95, 100, 2},
	    {"each leg, all unlike", with(each_leg, 0.97, 0.96, 0.95, 0.93), 99, 100, 3},
	    {"middle, alike", middle, 0, 9, -1},
	    {"middle, 1 % apart", with(middle, 0.97, 0.97, 0.96, 0.96), 90, 100, 1},
	    {"middle, hauls, alike", hauls, 0, 9, -1},
	};
	int bad = 0;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct level_dice dice = {900 + i};
		const struct told *told = &rows[i].told;
		int differ = 0, covered = 0, named = 0, tests = 500, q = told->cells - 1;
		for (int n = 0; n < tests; n++) {
			struct rv_joint joint;
			struct rv_error error = {0};
			struct rv_joint_setup setup = draw(told, &dice);
			if (rv_joint_make(&setup, &joint, &estimate, &error) != RV_OK)
				fail_msg("%s: %s", rows[i].label, error.text);
			differ += joint.differ;
			named += joint.differ && joint.worst == rows[i].worst;
			for (int s = 0; s < q; s++)
				covered += joint.efficiency[s].low_ratio <= truth_of(told, s) &&
					   truth_of(told, s) <= joint.efficiency[s].high_ratio;
		}
		double found = 100.0 * differ / tests, covers = 100.0 * covered / tests / q;
		bool good = found >= rows[i].least && found <= rows[i].most && covers >= 92.5 &&
			    covers <= 98.0 && (rows[i].worst < 0 || named >= 0.97 * differ);
		print_message("%-30s covers %.1f %%, differ %.1f %%, worst named %d of %d%s\n",
			      rows[i].label, covers, found, named, differ, good ? "" : "  <--");
		bad += !good;
	}
	assert_int_equal(bad, 0);
}

/* Stated 0.3 %, one cell off by 2 %. */
static void the_cell_that_is_off_is_named(void **state)
{
	static const struct {
		const char *label;
		int bad;
		double off, excess;
		double least, most, named; /* % */
	} rows[] = {
	    {"none off", -1, 0.0, 0.0, 0, 1.5, 0},
	    {"none off, excess 20 %", -1, 0.0, 0.2, 0, 1.5, 0},
	    {"second by 2 %", 1, 0.02, 0.0, 80, 100, 90},
	    {"middle by 2 %", 2, 0.02, 0.0, 80, 100, 90},
	    {"second by 2 %, excess 20 %", 1, 0.02, 0.2, 80, 100, 90},
	};
	int bad = 0;
	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct level_dice dice = {70 + i};
		struct told told = each_leg;
		int flagged = 0, named = 0, tests = 500;

		told.bad = rows[i].bad;
		told.off = rows[i].off;
		told.excess = rows[i].excess;
		for (int n = 0; n < tests; n++) {
			struct rv_joint joint;
			struct rv_joint_setup setup = draw(&told, &dice);
			assert_int_equal(rv_joint_make(&setup, &joint, &estimate, NULL), RV_OK);
			bool flag = rv_estimate_has_warning(&estimate, "cell_out_of_calibration");
			flagged += flag;
			named += flag && joint.suspect == rows[i].bad;
		}
		double found = 100.0 * flagged / tests;
		bool good = found >= rows[i].least && found <= rows[i].most &&
			    named * 100.0 >= rows[i].named * flagged;
		print_message("%-30s flagged %.1f %%, named rightly %d of %d%s\n", rows[i].label,
			      found, named, flagged, good ? "" : "  <--");
		bad += !good;
	}
	assert_int_equal(bad, 0);
}

static void a_cell_that_most_pulls_lack_is_left_out(void **state)
{
	struct level_dice dice = {5};
	struct rv_joint_setup setup = draw(&each_leg, &dice);
	struct rv_joint joint;
	struct rv_error error = {0};
	(void)state;

	for (int i = 0; i < 8; i++)
		pull[2][i].why = RV_PULL_MISSING;
	/* one other pull lacks another cell: that cycle is left out */
	pull[4][9].log_ratio = (double)NAN;
	assert_int_equal(rv_joint_make(&setup, &joint, &estimate, &error), RV_OK);
	assert_int_equal(joint.dropped, 2);
	assert_int_equal(joint.units, 4);
	assert_int_equal(joint.segments, 3);
	assert_int_equal(joint.segment_of[1], joint.segment_of[2]);
	assert_true(rv_estimate_has_warning(&estimate, "cell_dropped"));
	assert_int_equal(estimate.per_sheaves, SHEAVES);
	assert_int_equal(estimate.mode, RV_ESTIMATE_JOINT);
}

static double blind(const void *rig, int j, const double *x, enum rv_motion motion)
{
	(void)rig;
	return (motion == RV_MOTION_OUT ? -1.0 : 1.0) * j * (x[0] + x[1]);
}

static double faint(const void *rig, int j, const double *x, enum rv_motion motion)
{
	(void)rig;
	return (motion == RV_MOTION_OUT ? -1.0 : 1.0) * (x[0] + (j == 2 ? 0.1 * x[1] : 0.0));
}

static void what_cannot_be_told_is_refused(void **state)
{
	struct told middle = each_leg;
	struct level_dice dice = {5};
	struct rv_joint joint;
	struct rv_error error = {0};
	(void)state;

	middle.cells = 3;
	middle.leg[1] = 2;
	middle.leg[2] = 4;
	struct rv_joint_setup setup = draw(&middle, &dice);
	setup.log_ratio = blind;
	assert_int_equal(rv_joint_make(&setup, &joint, &estimate, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "segments_not_resolved");
	setup.log_ratio = faint;
	assert_int_equal(rv_joint_make(&setup, &joint, &estimate, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "segment_short");
	middle.cycles = 2;
	setup = draw(&middle, &dice);
	cell[1].u_gain_ratio = (double)NAN;
	assert_int_equal(rv_joint_make(&setup, &joint, &estimate, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "too_few_pulls");
	setup.cells = 2;
	assert_int_equal(rv_joint_make(&setup, &joint, &estimate, &error), RV_ERR_RANGE);
	assert_int_equal(estimate.per_sheaves, 0);
}

/* With three cells and the excess fitted out, a flag may come but no name. */
static void three_cells_name_none(void **state)
{
	struct rv_joint_gain gain = {.cells = 3,
				     .gain_log = {0, 0.05, 0.0},
				     .excess_log = {0, -0.04, -0.08},
				     .u = {0.003, 0.003, 0.003},
				     .u_own = 0.0007,
				     .fit_excess = true};
	int suspect = 7;
	(void)state;

	assert_true(rv_joint_gain_is_off(&gain, &suspect));
	assert_int_equal(suspect, -1);
	gain.fit_excess = false;
	assert_true(rv_joint_gain_is_off(&gain, &suspect));
	assert_int_equal(suspect, 1);
	gain.gain_log[1] = 0.001;
	assert_false(rv_joint_gain_is_off(&gain, &suspect));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(segments_cover_and_differ_when_they_do),
	    cmocka_unit_test(the_cell_that_is_off_is_named),
	    cmocka_unit_test(a_cell_that_most_pulls_lack_is_left_out),
	    cmocka_unit_test(what_cannot_be_told_is_refused),
	    cmocka_unit_test(three_cells_name_none),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
