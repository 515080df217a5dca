/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Groups compared pair by pair, the warnings that go with it, and the JSON of `reeve compare`: SI,
 * null = not known.  a and b of a difference are places in "groups", from 0.
 */
#ifndef RV_CORE_COMPARE_JSON_H
#define RV_CORE_COMPARE_JSON_H

#include "core/compare.h"
#include "core/json.h"

enum { RV_COMPARE_PAIRS = RV_COMPARE_GROUPS * (RV_COMPARE_GROUPS - 1) / 2, RV_COMPARE_NOTES = 10 };

struct rv_compare_result {
	int groups; /* 2 .. RV_COMPARE_GROUPS; set by the caller, as is group */
	struct rv_compare_group group[RV_COMPARE_GROUPS];
	double aim_ratio; /* set by the caller: difference of efficiencies to be told */
	int pairs;
	struct {
		int a, b;
		struct rv_compare_difference found;
	} pair[RV_COMPARE_PAIRS];
	double unit_sd;	  /* of x, the largest of the pairs */
	int at_80, at_90; /* units needed in each group; 0: not to be had */
	int warnings;
	struct rv_estimate_note warning[RV_COMPARE_NOTES];
};

/* Fills all but what the caller sets.  Errors of rv_compare_pair. */
enum rv_err rv_compare_json_fill(struct rv_compare_result *result, struct rv_error *error);

/* New reference; NULL when memory was refused. */
json_t *rv_compare_json(const struct rv_compare_result *result);

#endif
