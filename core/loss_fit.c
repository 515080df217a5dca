/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/loss_fit.h"

#include <math.h>
#include <stdlib.h>

#include "core/repeat.h"
#include "core/stats.h"
#include "core/value.h"

/* One unit, or the mean of a stint of them. */
struct point {
	double x, per_n; /* 1 / T */
	double zero[2];	 /* change of x by the zero of each cell, 1/N */
	int group;	 /* points of one group share a level */
	int stint, merged;
};

struct fit {
	const struct rv_loss_fit_ask *ask;
	const struct rv_estimate *estimate;
	int points, groups;
	double levels; /* largest ratio of loads within a group */
	double slope, u_scatter, u_zero, dof;
	struct point point[RV_ESTIMATE_PULLS];
};

static bool counts(const struct rv_estimate_pull *pull)
{
	return pull->why == RV_PULL_KEPT && !pull->struck && !isnan(pull->log_ratio);
}

static const struct rv_estimate_pull *haul_of(const struct rv_loss_fit_ask *ask,
					      const struct rv_estimate_unit *unit)
{
	for (int i = 0; i < ask->pulls; i++)
		if (ask->pull[i].run == unit->run && ask->pull[i].index == unit->index)
			return &ask->pull[i];
	return NULL;
}

/* The paying out that makes a cycle with the haul. */
static const struct rv_estimate_pull *out_of(const struct rv_loss_fit_ask *ask,
					     const struct rv_estimate_pull *haul)
{
	const struct rv_estimate_pull *end = ask->pull + ask->pulls;

	for (const struct rv_estimate_pull *pull = haul + 1; pull < end; pull++)
		if (pull->run == haul->run && counts(pull))
			return pull->direction == RV_MOTION_OUT ? pull : NULL;
	return NULL;
}

static void add_inverse(const struct rv_loss_fit_ask *ask, const struct rv_estimate_pull *pull,
			double *sum, int *count)
{
	const double at_n[2] = {pull->near_n, pull->far_n};

	for (int i = 0; i < 2; i++) {
		if (isnan(at_n[i]) || !(at_n[i] > 0.0))
			continue;
		*sum += (isnan(ask->legs[i]) ? 1.0 : ask->legs[i]) / at_n[i];
		(*count)++;
	}
}

static bool by_cycles(const struct rv_estimate *estimate)
{
	return estimate->mode == RV_ESTIMATE_CYCLES || estimate->mode == RV_ESTIMATE_HUNG;
}

/* False: the pulls of the unit are not there. */
static bool take(const struct fit *fit, const struct rv_estimate_unit *unit, struct point *point)
{
	const struct rv_loss_fit_ask *ask = fit->ask;
	bool both = by_cycles(fit->estimate);
	struct rv_invert f = {&ask->setup->curve, 1.0, both ? -1.0 : 0.0, 0.0};
	const struct rv_estimate_pull *haul = haul_of(ask, unit);
	const struct rv_estimate_pull *out = haul && both ? out_of(ask, haul) : NULL;
	struct rv_value_effect effect = {0};
	double sum = 0.0;
	int count = 0;

	if (!haul || (both && !out))
		return false;
	double x = both ? rv_invert_solve(&f, unit->log_value, rv_invert_usual()) : unit->x;
	double slope = rv_invert_slope(&f, x);
	add_inverse(ask, haul, &sum, &count);
	rv_value_add_pull(&effect, haul, 1.0 / slope);
	if (out) {
		add_inverse(ask, out, &sum, &count);
		rv_value_add_pull(&effect, out, -1.0 / slope);
	}
	if (count == 0 || !isfinite(x) || !isfinite(slope))
		return false;
	*point = (struct point){.x = x,
				.per_n = sum / count,
				.group = 2 * unit->run + haul->exchanged,
				.stint = unit->stint,
				.merged = 1};
	for (int i = 0; i < 2; i++)
		point->zero[i] = effect.zero_per_n[i];
	return true;
}

/* Joins it to the last point where a stint is the unit and this is the same one. */
static void add(struct fit *fit, const struct point *point)
{
	struct point *last = fit->points > 0 ? &fit->point[fit->points - 1] : NULL;

	if (fit->estimate->unit != RV_ESTIMATE_STINT || !last || last->group != point->group ||
	    last->stint != point->stint) {
		fit->point[fit->points++] = *point;
		return;
	}
	double share = 1.0 / ++last->merged;
	last->x += share * (point->x - last->x);
	last->per_n += share * (point->per_n - last->per_n);
	for (int i = 0; i < 2; i++)
		last->zero[i] += share * (point->zero[i] - last->zero[i]);
}

struct level {
	int count;
	double x, per_n; /* means */
	double least, most;
};

static struct level level_of(const struct fit *fit, int group)
{
	struct level level = {.least = INFINITY};

	for (int i = 0; i < fit->points; i++) {
		const struct point *point = &fit->point[i];
		if (point->group != group)
			continue;
		level.count++;
		level.x += (point->x - level.x) / level.count;
		level.per_n += (point->per_n - level.per_n) / level.count;
		level.least = fmin(level.least, point->per_n);
		level.most = fmax(level.most, point->per_n);
	}
	return level;
}

/* Least squares within the groups.  False: too few points. */
static bool solve(struct fit *fit)
{
	double xx = 0.0, xy = 0.0, left = 0.0, zero[2] = {0.0, 0.0};
	int groups = 0;

	for (int i = 0; i < fit->points; i++) {
		struct level level = level_of(fit, fit->point[i].group);
		double away = fit->point[i].per_n - level.per_n;
		xx += away * away;
		xy += away * (fit->point[i].x - level.x);
		fit->levels = fmax(fit->levels, level.most / level.least);
		if (i == 0 || fit->point[i].group != fit->point[i - 1].group)
			groups++;
	}
	fit->groups = groups;
	fit->dof = fit->points - groups - 1.0;
	if (fit->points < RV_LOSS_FIT_UNITS || fit->dof < 1.0 || !(xx > 0.0))
		return false;
	fit->slope = xy / xx;
	for (int i = 0; i < fit->points; i++) {
		struct level level = level_of(fit, fit->point[i].group);
		double away = fit->point[i].per_n - level.per_n;
		left += pow(fit->point[i].x - level.x - fit->slope * away, 2);
		for (int c = 0; c < 2; c++)
			zero[c] += away * fit->point[i].zero[c] / xx;
	}
	fit->u_scatter = sqrt(left / fit->dof / xx);
	const struct rv_estimate_cell *cell = fit->ask->setup->run[0].cell;
	for (int c = 0; c < 2; c++)
		if (!isnan(cell[c].u_zero_n))
			fit->u_zero = hypot(fit->u_zero, zero[c] * cell[c].u_zero_n);
	return true;
}

static void warn_levels(const struct fit *fit, struct rv_estimate *estimate)
{
	rv_estimate_warn(
	    estimate, "single_load",
	    "Whether a part of the loss stays the same at any load is not known: it "
	    "takes %d %s or more at two loads of 1 to 2 or wider; here are %d, the loads "
	    "within 1 to %.2f.",
	    RV_LOSS_FIT_UNITS, by_cycles(estimate) ? "cycles" : "hauls", fit->points, fit->levels);
}

static void conclude(const struct fit *fit, struct rv_estimate *estimate)
{
	double dof = fit->dof, u = fit->u_scatter;

	/* Pulls in a row without a stint between them: as for their mean. */
	if (rv_estimate_has_warning(estimate, "same_stint")) {
		struct rv_stats_row row = rv_stats_row(fit->points, RV_REPEAT_SAME_STINT);
		u *= row.factor;
		dof = fmin(dof, row.dof);
	}
	double half = hypot(rv_stats_t95(dof) * u, rv_stats_normal(0.975) * fit->u_zero);
	struct rv_estimate_loss *loss = &estimate->loss;
	*loss = (struct rv_estimate_loss){.known = true,
					  .constant_n = -fit->slope,
					  .low_n = -fit->slope - half,
					  .high_n = -fit->slope + half};
	loss->has_constant = loss->low_n > 0.0;
	if (loss->high_n < 0.0)
		rv_estimate_warn(
		    estimate, "better_at_low_load",
		    "The efficiency falls as the load grows, as if each sheave gave back "
		    "%.0f N: no sheave does; look at the zeros of the cells.",
		    -loss->constant_n);
	if (loss->has_constant)
		rv_estimate_warn(
		    estimate, "constant_loss",
		    "%.0f N (%.0f to %.0f N) of each sheave's loss do not grow with "
		    "the load: the efficiency holds for the loads pulled, is lower below "
		    "them and must not be carried over to others.",
		    loss->constant_n, loss->low_n, loss->high_n);
}

enum rv_err rv_loss_fit(const struct rv_loss_fit_ask *ask, struct rv_estimate *estimate)
{
	struct point point;

	if (estimate->refused || (!by_cycles(estimate) && estimate->mode != RV_ESTIMATE_HAULS &&
				  estimate->mode != RV_ESTIMATE_SWAPPED))
		return RV_OK;
	struct fit *fit = calloc(1, sizeof *fit);
	if (!fit)
		return RV_ERR_NOMEM;
	fit->ask = ask;
	fit->estimate = estimate;
	fit->levels = 1.0;
	for (int i = 0; i < estimate->units; i++)
		if (take(fit, &estimate->each[i], &point))
			add(fit, &point);
	if (solve(fit) && fit->levels >= RV_LOSS_FIT_LEVELS)
		conclude(fit, estimate);
	else
		warn_levels(fit, estimate);
	free(fit);
	return RV_OK;
}
