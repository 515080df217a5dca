/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/compare.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/stats.h"
#include "core/value.h"

#define CHANGES 3
#define RUNS_AS_UNITS 3

struct unit {
	double x, at_s;
	bool second;
};

struct side {
	const struct rv_compare_group *group;
	double gain, zero_per_n[2]; /* means over the units */
	struct rv_stats_sample sample;
};

struct work {
	struct side side[2]; /* a, b */
	int count;
	bool ordered;
	struct unit unit[2 * RV_ESTIMATE_PULLS];
	double y[2 * RV_ESTIMATE_PULLS];
	bool second[2 * RV_ESTIMATE_PULLS];
};

static int runs_of(const struct rv_compare_group *group)
{
	int runs = 0, last = -1;

	for (int i = 0; i < group->estimate->units; i++) {
		runs += group->estimate->each[i].run != last;
		last = group->estimate->each[i].run;
	}
	return runs;
}

static void take(struct work *work, int which, bool by_run)
{
	const struct rv_compare_group *group = work->side[which].group;
	const struct rv_estimate *estimate = group->estimate;
	struct side *side = &work->side[which];
	int merged = 0, last = -1;

	for (int i = 0; i < estimate->units; i++) {
		const struct rv_estimate_unit *each = &estimate->each[i];
		double at_s = group->run[each->run].start_s + each->at_s;

		side->gain += each->per_gain / estimate->units;
		side->zero_per_n[0] += each->per_near_n / estimate->units;
		side->zero_per_n[1] += each->per_far_n / estimate->units;
		if (!by_run || each->run != last) {
			work->unit[work->count++] = (struct unit){.second = which == 1};
			merged = 0;
		}
		struct unit *unit = &work->unit[work->count - 1];
		merged++;
		unit->x += (each->x - unit->x) / merged;
		unit->at_s += (at_s - unit->at_s) / merged;
		last = each->run;
		work->ordered = work->ordered && !isnan(at_s);
	}
}

static int by_time(const void *a, const void *b)
{
	const struct unit *one = a, *other = b;

	return (one->at_s > other->at_s) - (one->at_s < other->at_s);
}

static struct rv_stats_sample sample_of(const struct work *work, bool second)
{
	double values[2 * RV_ESTIMATE_PULLS];
	int count = 0;

	for (int i = 0; i < work->count; i++)
		if (work->unit[i].second == second)
			values[count++] = work->unit[i].x;
	return rv_stats_sample(values, count);
}

static int changes_of(const struct work *work)
{
	int changes = 0;

	for (int i = 1; i < work->count; i++)
		changes += work->unit[i].second != work->unit[i - 1].second;
	return work->ordered ? changes : 0;
}

static bool same_text(const char *a, const char *b)
{
	return a && b ? strcmp(a, b) == 0 : a == b;
}

/* One cell with one calibration read this place in every run of both groups. */
static bool shared(const struct work *work, int place)
{
	const struct rv_estimate_cell *first = &work->side[0].group->run[0].cell[place];

	for (int s = 0; s < 2; s++)
		for (int r = 0; r < work->side[s].group->runs; r++) {
			const struct rv_estimate_cell *cell =
			    &work->side[s].group->run[r].cell[place];
			if (!same_text(cell->name, first->name) ||
			    !same_text(cell->calibration, first->calibration))
				return false;
		}
	return true;
}

static double gain_u(const struct rv_compare_group *group)
{
	const struct rv_estimate_cell *cell = group->run[0].cell;

	return isnan(group->u_gain_ratio) ? hypot(cell[0].u_gain_ratio, cell[1].u_gain_ratio)
					  : group->u_gain_ratio;
}

static double known(double u)
{
	return isnan(u) ? 0.0 : u;
}

/* What the instruments add to the difference. */
static struct rv_value_parts instruments(const struct work *work,
					 struct rv_compare_difference *difference)
{
	const struct side *a = &work->side[0], *b = &work->side[1];
	bool same = shared(work, 0) && shared(work, 1);
	struct rv_value_parts parts = {0};
	double gain = same ? fabs(b->gain - a->gain) * gain_u(a->group)
			   : hypot(a->gain * gain_u(a->group), b->gain * gain_u(b->group));

	difference->gain_added = !same && gain > 0.0;
	difference->gain_unknown = !same && isnan(gain) && fabs(a->gain) + fabs(b->gain) > 1e-3;
	parts.gain = known(gain);
	for (int c = 0; c < 2; c++) {
		const struct rv_estimate_cell *of_a = &a->group->run[0].cell[c];
		const struct rv_estimate_cell *of_b = &b->group->run[0].cell[c];
		double at_a = a->zero_per_n[c], at_b = b->zero_per_n[c];
		double zero = shared(work, c) ? fabs(at_b - at_a) * known(of_a->u_zero_n)
					      : hypot(at_a * known(of_a->u_zero_n),
						      at_b * known(of_b->u_zero_n));
		parts.zero = hypot(parts.zero, zero);
		/* Between zeros a drift moves one after the other apart; in turns the line takes
		 * it. */
		if (!difference->by_line)
			parts.drift = hypot(parts.drift, hypot(at_a * known(of_a->u_drift_n),
							       at_b * known(of_b->u_drift_n)));
	}
	return parts;
}

static struct rv_stats_difference scatter(struct work *work,
					  struct rv_compare_difference *difference)
{
	const struct rv_stats_sample *a = &work->side[0].sample, *b = &work->side[1].sample;
	struct rv_stats_difference step = rv_stats_welch(*a, *b);

	if (work->ordered)
		qsort(work->unit, (size_t)work->count, sizeof work->unit[0], by_time);
	difference->changes = changes_of(work);
	difference->unit_sd =
	    sqrt(((a->count - 1) * a->sd * a->sd + (b->count - 1) * b->sd * b->sd) /
		 (a->count + b->count - 2));
	if (difference->changes < CHANGES || work->count < 4) {
		difference->drift_confounded = true;
		return step;
	}
	for (int i = 0; i < work->count; i++) {
		work->y[i] = work->unit[i].x;
		work->second[i] = work->unit[i].second;
	}
	difference->by_line = true;
	step = rv_stats_step(work->y, work->second, work->count);
	difference->unit_sd = step.u / sqrt(1.0 / a->count + 1.0 / b->count);
	return step;
}

/* A difference of x about the mean, as one of efficiencies. */
static double as_ratio(double mean_x, double difference_x)
{
	return 2.0 * exp(mean_x) * sinh(0.5 * difference_x);
}

static void compare(struct work *work, struct rv_compare_difference *difference)
{
	struct rv_stats_difference step = scatter(work, difference);
	struct rv_value value = {.at = step.value, .u = step.u, .dof = step.dof};

	value.parts = instruments(work, difference);
	rv_value_close(&value);
	difference->mean_x = 0.5 * (work->side[0].sample.mean + work->side[1].sample.mean);
	difference->ratio_difference = as_ratio(difference->mean_x, value.at);
	difference->low = as_ratio(difference->mean_x, value.low);
	difference->high = as_ratio(difference->mean_x, value.high);
	difference->dof = value.dof_effective;
	difference->differ = difference->low > 0.0 || difference->high < 0.0;
}

enum rv_err rv_compare_pair(const struct rv_compare_group *a, const struct rv_compare_group *b,
			    struct rv_compare_difference *difference, struct rv_error *error)
{
	struct rv_compare_difference made = {0};

	if (a->estimate->units < 2 || b->estimate->units < 2)
		return rv_err_refuse(
		    error, "too_few_pulls",
		    "a group has %d pulls that count and the other %d: two of each "
		    "are the least, four or more, taken in turns, are sensible",
		    a->estimate->units, b->estimate->units);
	struct work *work = calloc(1, sizeof *work);
	if (!work)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory");
	work->ordered = true;
	work->side[0].group = a;
	work->side[1].group = b;
	made.by_run = runs_of(a) >= RUNS_AS_UNITS && runs_of(b) >= RUNS_AS_UNITS;
	made.two_runs = !made.by_run && (runs_of(a) > 1 || runs_of(b) > 1);
	made.modes_differ = a->estimate->mode != b->estimate->mode;
	for (int s = 0; s < 2; s++)
		take(work, s, made.by_run);
	for (int s = 0; s < 2; s++)
		work->side[s].sample = sample_of(work, s == 1);
	made.units_a = work->side[0].sample.count;
	made.units_b = work->side[1].sample.count;
	compare(work, &made);
	free(work);
	*difference = made;
	return RV_OK;
}

int rv_compare_needed(struct rv_compare_aim aim)
{
	if (!(aim.unit_sd > 0.0) || !(fabs(aim.difference_x) > 0.0))
		return 0;
	for (int n = 2; n <= RV_COMPARE_MOST_PULLS; n++) {
		double shift = fabs(aim.difference_x) / (aim.unit_sd * sqrt(2.0 / n));
		if (rv_stats_power(shift, 2.0 * n - 2.0) >= aim.power)
			return n;
	}
	return 0;
}
