/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/compare.h"
#include "core/stats.h"
#include "tests/truth/pull_level.h"

/* Pulls for 80 and 90 % power at 5 %, two-sided, from a table made with the noncentral t of another
 * library (an independent prototype's report). */
static void the_pulls_needed_are_those_of_the_noncentral_t(void **state)
{
	static const struct {
		double sd, difference; /* % */
		int at_80, at_90;
	} rows[] = {
	    {0.1, 0.25, 4, 5},	 {0.1, 0.50, 3, 3},    {0.1, 1.00, 2, 2},     {0.2, 0.25, 12, 15},
	    {0.2, 0.50, 4, 5},	 {0.2, 1.00, 3, 3},    {0.3, 0.25, 24, 32},   {0.3, 0.50, 7, 9},
	    {0.3, 1.00, 3, 4},	 {0.3, 2.00, 2, 3},    {0.4, 0.25, 42, 55},   {0.4, 0.50, 12, 15},
	    {0.4, 1.00, 4, 5},	 {0.4, 2.00, 3, 3},    {0.6, 0.25, 92, 123},  {0.6, 0.50, 24, 32},
	    {0.6, 1.00, 7, 9},	 {0.6, 2.00, 3, 4},    {0.8, 0.25, 162, 217}, {0.8, 1.00, 12, 15},
	    {1.2, 0.25, 363, 0}, {1.2, 0.50, 92, 123}, {1.2, 1.00, 24, 32},   {1.2, 2.00, 7, 9},
	};
	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct rv_compare_aim aim = {rows[i].difference / 100, rows[i].sd / 100, 0.8};
		int at_80 = rv_compare_needed(aim);
		aim.power = 0.9;
		int at_90 = rv_compare_needed(aim);
		/* 0: the table says more than 400 */
		if (at_80 != rows[i].at_80 ||
		    (rows[i].at_90 ? at_90 != rows[i].at_90 : at_90 <= 400))
			fail_msg("sd %g %%, difference %g %%: %d and %d", rows[i].sd,
				 rows[i].difference, at_80, at_90);
	}
}

static void what_cannot_be_planned_has_no_number(void **state)
{
	(void)state;
	assert_int_equal(rv_compare_needed((struct rv_compare_aim){0.01, NAN, 0.8}), 0);
	assert_int_equal(rv_compare_needed((struct rv_compare_aim){0.0, 0.002, 0.8}), 0);
	assert_int_equal(rv_compare_needed((struct rv_compare_aim){0.0001, 0.01, 0.8}), 0);
}

static struct rv_estimate estimate[2];
static struct rv_compare_run run[2][8];

struct told {
	const char *order; /* "ABAB": one unit each */
	double x[2], scatter, drift, u_gain, u_zero_n;
	const char *calibration[2];
	int per_run; /* units of a run; 0 = all in one */
};

static void play(const struct told *told, struct level_dice *dice, struct rv_compare_group group[2])
{
	int length = (int)strlen(told->order);

	memset(estimate, 0, sizeof estimate);
	for (int i = 0; i < length; i++) {
		int g = told->order[i] == 'B', n = estimate[g].units++;
		estimate[g].mode = RV_ESTIMATE_HAULS;
		estimate[g].each[n] =
		    (struct rv_estimate_unit){.x = told->x[g] + told->scatter * level_normal(dice) +
						   told->drift * i / (length - 1),
					      .at_s = 100.0 * i,
					      .run = told->per_run ? n / told->per_run : 0,
					      .per_gain = 0.25,
					      .per_near_n = -0.25e-4,
					      .per_far_n = 0.25e-4};
	}
	for (int g = 0; g < 2; g++) {
		group[g] = (struct rv_compare_group){&estimate[g], run[g], 1, NAN};
		if (told->per_run)
			group[g].runs = (estimate[g].units + told->per_run - 1) / told->per_run;
		for (int r = 0; r < 8; r++)
			for (int c = 0; c < 2; c++)
				run[g][r].cell[c] =
				    (struct rv_estimate_cell){.name = c ? "far" : "near",
							      .u_gain_ratio = told->u_gain,
							      .u_zero_n = told->u_zero_n,
							      .u_drift_n = NAN,
							      .u_inverse_n = NAN,
							      .calibration = told->calibration[g]};
	}
}

static void the_order_decides_how_it_is_compared(void **state)
{
	static const struct {
		const char *label, *order;
		int per_run;
		bool by_line, by_run, confounded;
		double dof;
	} rows[] = {
	    {"in turns", "ABABABAB", 0, true, false, false, 5},
	    {"there and back", "ABBAABBA", 0, true, false, false, 5},
	    {"one after the other", "AAAABBBB", 0, false, false, true, 6},
	    {"once there and back", "AABBBBAA", 0, false, false, true, 6},
	    {"three runs each, one after the other", "AAAAAABBBBBB", 2, false, true, true, 4},
	    {"three runs each, in turns", "AABBAABBAABB", 2, true, true, false, 3},
	};
	struct level_dice dice = {7};
	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct told told = {.order = rows[i].order,
				    .x = {-0.04, -0.05},
				    .scatter = 0.001,
				    .u_gain = 0.003,
				    .calibration = {"a", "a"},
				    .per_run = rows[i].per_run};
		struct rv_compare_group group[2];
		struct rv_compare_difference got;

		play(&told, &dice, group);
		assert_int_equal(rv_compare_pair(&group[0], &group[1], &got, NULL), RV_OK);
		if (got.by_line != rows[i].by_line || got.by_run != rows[i].by_run ||
		    got.drift_confounded != rows[i].confounded || got.gain_added)
			fail_msg("%s: line %d, run %d, confounded %d", rows[i].label, got.by_line,
				 got.by_run, got.drift_confounded);
		assert_near(rows[i].label, got.dof, rows[i].dof, got.by_line ? 0.01 : 2.5);
		assert_true(got.differ);
		assert_near("difference", got.ratio_difference, exp(-0.05) - exp(-0.04), 0.004);
	}
}

static void a_shared_gain_falls_out_and_another_calibration_does_not(void **state)
{
	struct told told = {.order = "ABABABABAB",
			    .x = {-0.04, -0.045},
			    .scatter = 0.0005,
			    .u_gain = 0.01,
			    .calibration = {"a", "a"}};
	struct rv_compare_group group[2];
	struct rv_compare_difference got;
	struct level_dice dice = {3};
	(void)state;

	play(&told, &dice, group);
	assert_int_equal(rv_compare_pair(&group[0], &group[1], &got, NULL), RV_OK);
	assert_true(got.differ);
	double half = 0.5 * (got.high - got.low);
	assert_true(half < 0.002);
	told.calibration[1] = "b";
	play(&told, &dice, group);
	assert_int_equal(rv_compare_pair(&group[0], &group[1], &got, NULL), RV_OK);
	/* 2 groups x 2 cells of 1 %, a quarter each to the efficiency */
	assert_near("half", 0.5 * (got.high - got.low), 1.96 * 0.01 * 2.0 * 0.25 * exp(-0.0425),
		    0.0005);
	assert_true(got.gain_added && !got.differ);
	told.u_gain = NAN;
	play(&told, &dice, group);
	assert_int_equal(rv_compare_pair(&group[0], &group[1], &got, NULL), RV_OK);
	assert_true(got.gain_unknown);
}

static void one_pull_is_not_compared(void **state)
{
	struct told told = {.order = "ABBB", .x = {-0.04, -0.04}, .scatter = 0.001};
	struct rv_compare_group group[2];
	struct rv_compare_difference got;
	struct rv_error error = {0};
	struct level_dice dice = {3};
	(void)state;

	play(&told, &dice, group);
	assert_int_equal(rv_compare_pair(&group[0], &group[1], &got, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "too_few_pulls");
}

/* Coverage of the 95 % interval; in turns under drift the line covers, Welch's would not. */
static void the_interval_of_the_difference_covers(void **state)
{
	static const struct {
		const char *label, *order;
		double drift, low, high; /* % */
	} rows[] = {
	    {"in turns", "ABABABAB", 0.0, 93, 97},
	    {"in turns, drift of 4 sd", "ABABABAB", 0.008, 93, 97},
	    {"there and back, drift of 4 sd", "ABBAABBA", 0.008, 93, 97},
	    {"one after the other", "AAAABBBB", 0.0, 93, 98},
	    {"one after the other, drift of 4 sd", "AAAABBBB", 0.008, 0, 60},
	};
	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct level_dice dice = {100 + i};
		struct told told = {.order = rows[i].order,
				    .x = {-0.04, -0.05},
				    .scatter = 0.002,
				    .drift = rows[i].drift,
				    .u_gain = 0.003,
				    .calibration = {"a", "a"}};
		double truth = exp(-0.05) - exp(-0.04);
		int covered = 0;
		for (int n = 0; n < 2000; n++) {
			struct rv_compare_group group[2];
			struct rv_compare_difference got;
			play(&told, &dice, group);
			assert_int_equal(rv_compare_pair(&group[0], &group[1], &got, NULL), RV_OK);
			covered += got.low <= truth && truth <= got.high;
		}
		print_message("%-36s %.1f %%\n", rows[i].label, covered / 20.0);
		if (covered < 20.0 * rows[i].low || covered > 20.0 * rows[i].high)
			fail_msg("%s: covers %.1f %%", rows[i].label, covered / 20.0);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(the_pulls_needed_are_those_of_the_noncentral_t),
	    cmocka_unit_test(what_cannot_be_planned_has_no_number),
	    cmocka_unit_test(the_order_decides_how_it_is_compared),
	    cmocka_unit_test(a_shared_gain_falls_out_and_another_calibration_does_not),
	    cmocka_unit_test(one_pull_is_not_compared),
	    cmocka_unit_test(the_interval_of_the_difference_covers),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
