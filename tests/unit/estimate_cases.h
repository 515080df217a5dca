/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Tests of ordinary kinds, which the cases then spoil, and what a refusal and a warning must be
 * like.
 */
#ifndef RV_TESTS_UNIT_ESTIMATE_CASES_H
#define RV_TESTS_UNIT_ESTIMATE_CASES_H

#include "tests/rvtest.h"
#include "tests/truth/pull_level.h"

static struct level_test test;
static struct rv_estimate estimate;

#define QUIET .sheaves = 4, .efficiency = 0.96, .load_n = 1e4

static inline struct level cycles5(void)
{
	return (struct level){QUIET,	   .u_gain = 0.003, .u_zero_n = 10, .scatter = 0.002,
			      .cycles = 5, .excess = 0.1};
}

static inline struct level hauls5(void)
{
	return (struct level){QUIET,	   .u_gain = 0.003,  .u_zero_n = 10, .scatter = 0.002,
			      .cycles = 5, .haul_only = true};
}

static inline struct level swapped8(void)
{
	return (struct level){QUIET,	   .u_gain = 0.01,  .u_zero_n = 10, .scatter = 0.002,
			      .cycles = 8, .exchange = true};
}

static inline struct level hung5(void)
{
	return (struct level){QUIET,	      .u_gain = 0.01,
			      .u_zero_n = 10, .scatter = 0.002,
			      .cycles = 5,    .design = RV_ESTIMATE_ONE_HUNG};
}

static inline struct level moved8(void)
{
	return (struct level){
	    QUIET,	 .u_gain = 0.01,    .u_zero_n = 10,	   .scatter = 0.002,
	    .cycles = 8, .haul_only = true, .load_scatter = 0.007, .design = RV_ESTIMATE_ONE_MOVED};
}

static inline void make(void)
{
	assert_int_equal(rv_estimate_make(&test.setup, test.pull, test.pulls, &estimate), RV_OK);
}

static inline void refused(const char *label, const char *code)
{
	make();
	if (!estimate.refused || strcmp(estimate.refusal.code, code) != 0) {
		print_error("%s: want %s, got %s (%s)\n", label, code, estimate.refusal.code,
			    estimate.refusal.text);
		fail();
	}
	if (!isnan(estimate.efficiency.ratio) || strlen(estimate.refusal.text) < 20 ||
	    strlen(estimate.refusal.cure) < 10) {
		print_error("%s: a refusal gives no number, and says why and what to do\n", label);
		fail();
	}
}

static inline void warned(const char *label, const char *code)
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

static inline void begin(struct level level)
{
	level_make(&level, 1, &test);
}

#endif
