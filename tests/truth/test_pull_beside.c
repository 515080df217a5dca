/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands beside the efficiency (the other direction, the mean of both, the gain, the excess),
 * and runs as units, for pulls drawn from a plain model (pull_level.h).
 */
#include "tests/rvtest.h"

#include "tests/truth/pull_level.h"

enum { TESTS = 2000 };

#define FOUR .sheaves = 4, .efficiency = 0.96, .u_zero_n = 10, .u_drift_n = 10, .load_n = 1e4

static bool holds(const struct rv_estimate_interval *interval, double truth)
{
	return interval->low_ratio <= truth && truth <= interval->high_ratio;
}

/* Everything else that carries an interval. */
static void what_stands_beside_the_efficiency_covers(void **state)
{
	static const struct {
		const char *label;
		struct level level;
	} rows[] = {
	    {"cycles", {FOUR, .u_gain = 0.002, .scatter = 0.0023, .cycles = 6}},
	    {"exchanged", {FOUR, .u_gain = 0.01, .scatter = 0.0023, .cycles = 8, .exchange = true}},
	};
	static struct level_test test;
	static struct rv_estimate estimate;
	(void)state;
	for (size_t r = 0; r < 2; r++) {
		int mean = 0, out = 0, gain = 0, excess = 0, made = 0;
		for (uint64_t i = 0; i < TESTS; i++) {
			struct level one = rows[r].level;
			struct level_dice dice = {77 + 7919 * i};
			one.excess = 0.2 * level_uniform(&dice);
			level_make(&one, 505 + i, &test);
			if (rv_estimate_make(&test.setup, test.pull, test.pulls, &estimate) !=
			    RV_OK)
				fail();
			if (estimate.refused)
				continue;
			made++;
			mean += holds(&estimate.mean, pow(0.96, 1.0 + 0.5 * one.excess));
			out += holds(&estimate.out, pow(0.96, 1.0 + one.excess));
			gain += holds(&estimate.relative_gain, exp(test.gain));
			excess += holds(&estimate.excess, one.excess);
		}
		print_message("%-10s mean of both %.1f %%, paying out %.1f %%, gain %.1f %%, "
			      "excess %.1f %%\n",
			      rows[r].label, 100.0 * mean / made, 100.0 * out / made,
			      100.0 * gain / made, 100.0 * excess / made);
		assert_near("mean of both", 100.0 * mean / made, 95.3, 2.2);
		assert_near("paying out", 100.0 * out / made, 95.3, 2.2);
		assert_near("excess", 100.0 * excess / made, 95.3, 2.5);
		/* by cycles the bound of the excess is seldom filled */
		assert_true(gain > 0.93 * made);
	}
}

/* Sessions that differ as much as their pulls do: the run is the unit. */
static void three_runs_and_more_cover_what_one_does_not(void **state)
{
	static struct level_test test, all;
	static struct rv_estimate estimate;
	static struct rv_estimate_run run[4];
	int covered = 0, alone = 0;
	(void)state;
	for (uint64_t i = 0; i < 1000; i++) {
		struct level_dice dice = {99 + 104729 * i};
		all.pulls = 0;
		for (int r = 0; r < 4; r++) {
			struct level level = {FOUR, .u_gain = 1e-5, .scatter = 0.001, .cycles = 3,
					      .haul_only = true};
			level.efficiency *= exp(0.004 * level_normal(&dice));
			level_make(&level, 606 + 4 * i + (uint64_t)r, &test);
			run[r] = test.run;
			for (int p = 0; p < test.pulls; p++) {
				all.pull[all.pulls] = test.pull[p];
				all.pull[all.pulls++].run = r;
			}
		}
		if (rv_estimate_make(&test.setup, test.pull, test.pulls, &estimate) != RV_OK)
			fail();
		alone += holds(&estimate.efficiency, 0.96);
		test.setup.run = run;
		test.setup.runs = 4;
		if (rv_estimate_make(&test.setup, all.pull, all.pulls, &estimate) != RV_OK)
			fail();
		covered += holds(&estimate.efficiency, 0.96);
	}
	print_message("four runs %.1f %%, the last alone %.1f %%\n", covered / 10.0, alone / 10.0);
	assert_near("four runs", covered / 10.0, 95.0, 2.1);
	assert_true(alone < 800);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(what_stands_beside_the_efficiency_covers),
	    cmocka_unit_test(three_runs_and_more_cover_what_one_does_not),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
