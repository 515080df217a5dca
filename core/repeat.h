/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is one independent repetition: a pull, a stint, or a pull that leans on its neighbours.  The
 * stints and what was declared decide, not the values.
 *
 *   every pull its own stint    the pull is the unit
 *   three stints or more        the mean of a stint is the unit, each with equal weight
 *   fewer                       the pull is the unit, neighbours taken to correlate by 0.6
 *   a correlation was declared  the pull is the unit, with that correlation
 */
#ifndef RV_CORE_REPEAT_H
#define RV_CORE_REPEAT_H

#include "core/estimate.h"

/* Of pulls between which nothing was unloaded or moved; own choice. */
#define RV_REPEAT_SAME_STINT 0.6

struct rv_repeat {
	bool by_stint, same_stint;
	int count;			    /* values */
	int groups;			    /* units */
	int group[RV_ESTIMATE_PULLS];	    /* of each value */
	double weight[RV_ESTIMATE_PULLS];   /* of each value in the mean; their sum is 1 */
	double correlation;
};

/* declared: NaN = by the stints. */
void rv_repeat_plan(const int *stints, int count, double declared, struct rv_repeat *repeat);

struct rv_repeat_mean {
	double mean, u, dof; /* u: standard uncertainty of the mean from scatter */
};

/* u and dof NaN for fewer than two units. */
struct rv_repeat_mean rv_repeat_mean(const struct rv_repeat *repeat, const double *values);

/* True when 8 pulls or more, taken as independent, follow their neighbours more than chance gives in
 * 5 % of such rows. */
bool rv_repeat_follows(const struct rv_repeat *repeat, const double *values);

#endif
