/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From pulls as they end to the facts an estimate is made of: their numbers, the stint each belongs
 * to, and how late the far cell is over all of them.
 *
 * A stint ends when, between two pulls, the line went slack and began again from another place (0.3 m
 * or more of line; where line out is not known, slack alone), or when a person says that it was rigged
 * anew.  Pulls of one stint share what does not change without that, and are not independent.
 */
#ifndef RV_CORE_FACTS_H
#define RV_CORE_FACTS_H

#include "core/estimate.h"

struct rv_facts {
	int run;      /* position of the run among those given */
	int count;    /* at most RV_ESTIMATE_PULLS; what comes after is not kept */
	int left_out; /* pulls that found no room */
	int stint;
	double stint_m; /* line out where the stint began; NaN = not known */
	bool rigged_anew;
	struct rv_estimate_pull pull[RV_ESTIMATE_PULLS];
};

void rv_facts_init(struct rv_facts *facts, int run);

/* The next pull; its times counted from the run's start. */
void rv_facts_add(struct rv_facts *facts, const struct rv_pull_result *result);

/* A person says that it was rigged anew: the next pull begins a stint. */
void rv_facts_rigged_anew(struct rv_facts *facts);

/* Every pull is there: how far each lies between the zeros at the run's start and its end. */
void rv_facts_end(struct rv_facts *facts);

/* Median of the lags found in kept pulls, s; NaN: none was found. */
double rv_facts_lag_s(const struct rv_facts *facts);

#endif
