/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/repeat.h"

#include <math.h>

#include "core/stats.h"

static int group_stints(const int *stints, int count, int *group)
{
	int groups = 0;

	for (int i = 0; i < count; i++) {
		group[i] = groups;
		for (int j = 0; j < i && group[i] == groups; j++)
			if (stints[j] == stints[i])
				group[i] = group[j];
		groups += group[i] == groups;
	}
	return groups;
}

void rv_repeat_plan(const int *stints, int count, double declared, struct rv_repeat *repeat)
{
	int in_group[RV_ESTIMATE_PULLS] = {0};
	int groups = group_stints(stints, count, repeat->group);

	repeat->count = count;
	repeat->by_stint = isnan(declared) && groups >= 3 && groups < count;
	repeat->same_stint = isnan(declared) && groups < 3 && groups < count;
	repeat->correlation = !isnan(declared)	   ? declared
			      : repeat->same_stint ? RV_REPEAT_SAME_STINT
						   : 0.0;
	repeat->groups = repeat->by_stint ? groups : count;
	for (int i = 0; i < count; i++) {
		if (!repeat->by_stint)
			repeat->group[i] = i;
		in_group[repeat->group[i]]++;
	}
	for (int i = 0; i < count; i++)
		repeat->weight[i] = 1.0 / repeat->groups / in_group[repeat->group[i]];
}

struct rv_repeat_mean rv_repeat_mean(const struct rv_repeat *repeat, const double *values)
{
	double unit[RV_ESTIMATE_PULLS] = {0};

	for (int i = 0; i < repeat->count; i++)
		unit[repeat->group[i]] += repeat->weight[i] * repeat->groups * values[i];
	struct rv_stats_row row = rv_stats_row(repeat->groups, repeat->correlation);
	return (struct rv_repeat_mean){
	    .mean = rv_stats_mean(unit, repeat->groups),
	    .u = rv_stats_sd(unit, repeat->groups) / sqrt(repeat->groups) * row.factor,
	    .dof = row.dof,
	};
}

bool rv_repeat_follows(const struct rv_repeat *repeat, const double *values)
{
	/* 5 % one-sided points of the lag-1 correlation of that many independent normal values, by
	 * simulation. */
	static const struct {
		int count;
		double limit;
	} points[] = {{8, 0.35}, {10, 0.34}, {15, 0.32}, {20, 0.29}};
	double limit = 0.35;

	if (repeat->count < 8 || repeat->by_stint || repeat->correlation > 0.0)
		return false;
	for (int i = 0; i < 4; i++)
		if (repeat->count >= points[i].count)
			limit = points[i].limit;
	if (repeat->count > 20)
		limit *= sqrt(20.0 / repeat->count);
	return rv_stats_neighbours(values, repeat->count) > limit;
}
