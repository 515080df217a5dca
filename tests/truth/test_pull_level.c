/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Does the stated 95 % cover the truth, for pulls drawn from a plain model (pull_level.h)?
 *
 * The bands are those of an independent prototype of the same methods in another language on a
 * simulator with rope and time (from its report, not re-run), widened by what a finite
 * number of tests scatters (3 standard errors).  Where an interval covers too much, the reason
 * stands beside it.
 */
#include "tests/rvtest.h"

#include "tests/truth/pull_level.h"

#include "core/stats.h"
#include "core/value.h"

enum { TESTS = 2000 };

struct tally {
	int estimated, covered, refused;
	double bias, width;
};

static struct tally tally_of(const struct level *level, double excess_low, double excess_high,
			     uint64_t seed)
{
	static struct level_test test;
	static struct rv_estimate estimate;
	struct tally tally = {0};

	for (int i = 0; i < TESTS; i++) {
		struct level one = *level;
		struct level_dice dice = {seed + 7919 * (uint64_t)i};
		one.excess = excess_low + (excess_high - excess_low) * level_uniform(&dice);
		level_make(&one, seed + (uint64_t)i, &test);
		if (rv_estimate_make(&test.setup, test.pull, test.pulls, &estimate) != RV_OK)
			fail();
		if (estimate.refused) {
			tally.refused++;
			continue;
		}
		tally.estimated++;
		tally.covered += estimate.efficiency.low_ratio <= level->efficiency &&
				 level->efficiency <= estimate.efficiency.high_ratio;
		tally.bias += estimate.efficiency.ratio - level->efficiency;
		tally.width += estimate.efficiency.high_ratio - estimate.efficiency.low_ratio;
	}
	return tally;
}

struct row {
	const char *label;
	struct level level;
	double excess_low, excess_high;
	double low, high; /* band of the coverage, % */
};

static void check(const struct row *rows, size_t count, uint64_t seed)
{
	int bad = 0;

	for (size_t i = 0; i < count; i++) {
		const struct row *row = &rows[i];
		struct tally t =
		    tally_of(&row->level, row->excess_low, row->excess_high, seed + 1000003 * i);
		double coverage = 100.0 * t.covered / t.estimated;
		bool good = coverage >= row->low && coverage <= row->high;

		print_message("%-44s %5.1f %%  width %.3f %%  bias %+.3f %%  refused %d%s\n",
			      row->label, coverage, 100.0 * t.width / t.estimated,
			      100.0 * t.bias / t.estimated, t.refused, good ? "" : "  <--");
		bad += !good || t.refused > TESTS / 50;
	}
	assert_int_equal(bad, 0);
}

/* Ratio of what is known of the instruments to the scatter of the mean, and degrees of freedom. */
static void the_rule_of_scatter_and_instruments_covers(void **state)
{
	static const struct {
		double dof, ratio, coverage, band;
	} rows[] = {{2, 1, 97.6, 0.5}, {4, 0.25, 94.3, 0.6}, {9, 1, 94.9, 0.6}};
	struct level_dice dice = {20261125};
	(void)state;
	for (size_t i = 0; i < 3; i++) {
		int covered = 0;
		for (int n = 0; n < 20000; n++) {
			double square = 0.0;
			for (int k = 0; k < (int)rows[i].dof; k++)
				square += pow(level_normal(&dice), 2) / rows[i].dof;
			struct rv_value value = {
			    .at = level_normal(&dice) + rows[i].ratio * level_normal(&dice),
			    .u = sqrt(square),
			    .dof = rows[i].dof,
			    .parts.zero = rows[i].ratio,
			};
			rv_value_close(&value);
			covered += value.low <= 0.0 && value.high >= 0.0;
		}
		print_message("dof %g, ratio %g: %.2f %%\n", rows[i].dof, rows[i].ratio,
			      covered / 200.0);
		assert_near("coverage", covered / 200.0, rows[i].coverage, rows[i].band);
	}
}

#define FOUR .sheaves = 4, .efficiency = 0.96, .u_zero_n = 10, .u_drift_n = 10, .load_n = 1e4

static void hauls_and_cycles_cover(void **state)
{
	static const struct row rows[] = {
	    {"hauls, 5, gain 0.3 %",
	     {FOUR, .u_gain = 0.003, .scatter = 0.0023, .cycles = 5, .haul_only = true},
	     0,
	     0,
	     93,
	     97.5},
	    {"hauls, 3, gain 0.1 %",
	     {FOUR, .u_gain = 0.001, .scatter = 0.0023, .cycles = 3, .haul_only = true},
	     0,
	     0,
	     93,
	     97.8},
	    {"cycles, 5, gain 0.3 %, any excess",
	     {FOUR, .u_gain = 0.003, .scatter = 0.0023, .cycles = 5},
	     0,
	     0.2,
	     93,
	     98.5},
	    {"cycles, 5, gain 0.3 %, excess 0",
	     {FOUR, .u_gain = 0.003, .scatter = 0.0023, .cycles = 5},
	     0,
	     0,
	     92.5,
	     98},
	    {"cycles, 5, gain 0.3 %, excess 20 %",
	     {FOUR, .u_gain = 0.003, .scatter = 0.0023, .cycles = 5},
	     0.2,
	     0.2,
	     92.5,
	     98},
	    {"cycles, 3, gain 0.3 %, any excess",
	     {FOUR, .u_gain = 0.003, .scatter = 0.0023, .cycles = 3},
	     0,
	     0.2,
	     93,
	     98.5},
	    /* a bound that the excess seldom fills covers too much */
	    {"cycles, 5, gain 1 %, any excess",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0023, .cycles = 5},
	     0,
	     0.2,
	     95,
	     100},
	    {"cycles, 8, gain 1 %, excess 20 %",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0023, .cycles = 8},
	     0.2,
	     0.2,
	     92.5,
	     98.5},
	    {"one redirect, cycles, 5, gain 0.3 %",
	     {.sheaves = 1,
	      .efficiency = 0.96,
	      .u_zero_n = 5,
	      .load_n = 1e4,
	      .u_gain = 0.003,
	      .scatter = 0.003,
	      .cycles = 5},
	     0,
	     0.2,
	     94,
	     99.5},
	    {"shackle of 3, cycles, 5, gain 0.3 %",
	     {.sheaves = 3,
	      .shackle = true,
	      .efficiency = 0.95,
	      .u_zero_n = 5,
	      .load_n = 1e4,
	      .u_gain = 0.003,
	      .scatter = 0.003,
	      .cycles = 5},
	     0,
	     0.2,
	     94,
	     99.5},
	};
	(void)state;
	check(rows, sizeof rows / sizeof rows[0], 101);
}

static void exchanged_cells_cover_whatever_the_excess(void **state)
{
	static const struct row rows[] = {
	    {"exchanged, 6, gain 1 %, any excess",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0023, .cycles = 6, .exchange = true},
	     0,
	     0.2,
	     93,
	     97.5},
	    {"exchanged, 4, gain 1 %, any excess",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0023, .cycles = 4, .exchange = true},
	     0,
	     0.2,
	     93,
	     98},
	    {"exchanged, 6, gain 1 %, excess 30 %",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0023, .cycles = 6, .exchange = true},
	     0.3,
	     0.3,
	     93,
	     97.5},
	    {"exchanged, hauls, 8, gain 3 %",
	     {FOUR, .u_gain = 0.03, .scatter = 0.0023, .cycles = 8, .exchange = true,
	      .haul_only = true},
	     0,
	     0,
	     93,
	     97.5},
	    {"one redirect, exchanged, 6",
	     {.sheaves = 1,
	      .efficiency = 0.95,
	      .u_zero_n = 5,
	      .load_n = 1e4,
	      .u_gain = 0.01,
	      .scatter = 0.003,
	      .cycles = 6,
	      .exchange = true},
	     0,
	     0.2,
	     93,
	     97.5},
	};
	(void)state;
	check(rows, sizeof rows / sizeof rows[0], 202);
}

static void one_cell_covers(void **state)
{
	static const struct row rows[] = {
	    /* alone, the bound of the excess rules: seldom filled, it covers too much */
	    {"hung, 5 cycles, any excess",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0023, .cycles = 5, .design = RV_ESTIMATE_ONE_HUNG},
	     0,
	     0.2,
	     95,
	     100},
	    {"hung, 5 cycles, excess 0",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0023, .cycles = 5, .design = RV_ESTIMATE_ONE_HUNG},
	     0,
	     0,
	     92.5,
	     98},
	    {"hung, 5 cycles, excess 20 %",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0023, .cycles = 5, .design = RV_ESTIMATE_ONE_HUNG},
	     0.2,
	     0.2,
	     92.5,
	     98},
	    {"moved, 4 pairs",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0015, .load_scatter = 0.007, .cycles = 8,
	      .haul_only = true, .design = RV_ESTIMATE_ONE_MOVED},
	     0,
	     0,
	     93,
	     97.5},
	    {"moved, 4 pairs, load drifts 3 %",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0015, .load_scatter = 0.007, .load_drift = 0.03,
	      .cycles = 8, .haul_only = true, .design = RV_ESTIMATE_ONE_MOVED},
	     0,
	     0,
	     93,
	     97.5},
	    {"moved, 3 pairs",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0015, .load_scatter = 0.007, .cycles = 6,
	      .haul_only = true, .design = RV_ESTIMATE_ONE_MOVED},
	     0,
	     0,
	     93,
	     98},
	    {"moved, 8 pairs, dragged 3 %",
	     {FOUR, .u_gain = 0.01, .scatter = 0.0015, .load_scatter = 0.03, .cycles = 16,
	      .haul_only = true, .design = RV_ESTIMATE_ONE_MOVED},
	     0,
	     0,
	     93,
	     97.5},
	};
	(void)state;
	check(rows, sizeof rows / sizeof rows[0], 303);
}

/* The test itself must be able to fail: declared equal loss where paying out costs 20 % more. */
static void a_false_declaration_does_not_cover(void **state)
{
	static const struct level level = {FOUR, .u_gain = 0.01, .scatter = 0.0023, .cycles = 8,
					   .excess = 0.2};
	static struct level_test test;
	static struct rv_estimate estimate;
	int covered = 0;
	(void)state;
	for (uint64_t i = 0; i < 400; i++) {
		level_make(&level, 404 + i, &test);
		test.setup.excess_high_ratio = 0.0;
		assert_int_equal(rv_estimate_make(&test.setup, test.pull, test.pulls, &estimate),
				 RV_OK);
		covered +=
		    estimate.efficiency.low_ratio <= 0.96 && estimate.efficiency.high_ratio >= 0.96;
	}
	assert_true(covered < 80);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(the_rule_of_scatter_and_instruments_covers),
	    cmocka_unit_test(hauls_and_cycles_cover),
	    cmocka_unit_test(exchanged_cells_cover_whatever_the_excess),
	    cmocka_unit_test(one_cell_covers),
	    cmocka_unit_test(a_false_declaration_does_not_cover),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
