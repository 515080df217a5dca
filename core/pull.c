/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/pull.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_sort_double.h>
#include <gsl/gsl_statistics_double.h>

#include "core/convert.h"

#define GRID_NS INT64_C(20000000)
#define GRID_HZ 50
#define NS_PER_S 1e9
#define GUARD_S 1.0
#define GUARD_BLIND_S 3.0 /* where travel is not known: 0.3 m at 0.1 m/s */
#define GUARD_M 0.30
#define GUARD_SHEAVE_M 0.08
#define LATENCY_S 0.3
#define LEAST_PULL_S 1.0 /* a shorter stretch is no pull */
#define WAIT_S 3.0	 /* for a late cell, before its reading counts as missing */
#define GAP_SPACINGS 3.0
#define GAP_LEAST_S 0.1
#define GAP_MOST_S 1.0
#define LEAST_BLOCKS 3
#define LEAST_S 2.0
#define TUKEY_C 4.685
#define MAD_TO_SIGMA 0.6745
#define STEPS_MOST 50
/* Student's t, 3 degrees of freedom, 97.5 %: any table of the distribution (3.182). */
#define T_975_3 3.182446305284263

const char *rv_pull_why_name(enum rv_pull_why why)
{
	static const char *const names[RV_PULL_WHYS] = {
	    [RV_PULL_KEPT] = "",
	    [RV_PULL_TOO_SHORT] = "too short",
	    [RV_PULL_SLACK] = "slack",
	    [RV_PULL_MISSING] = "readings missing",
	};

	return names[why];
}

double rv_pull_floor_n(const struct rv_channel *channel)
{
	double zero = channel->calibration.zero.value;
	double step = rv_convert_step(channel);

	return 10.0 * ((isnan(zero) ? 0.0 : zero) + (isnan(step) ? 0.0 : step));
}

struct rv_pull_setup rv_pull_setup_of(const struct rv_channel *near, const struct rv_channel *far,
				      double sheaves)
{
	const struct rv_channel *const channel[RV_PULL_CELLS] = {near, far};
	struct rv_pull_setup setup = {.sheaves = sheaves};

	for (int i = 0; i < RV_PULL_CELLS; i++)
		setup.side[i] = (struct rv_pull_side){
		    .delay_s = channel[i]->calibration.delay_s,
		    .tare_n = channel[i]->tare_n,
		    .floor_n = rv_pull_floor_n(channel[i]),
		};
	return setup;
}

void rv_pull_init(struct rv_pull *pull, const struct rv_pull_setup *setup)
{
	memset(pull, 0, sizeof *pull);
	pull->setup = *setup;
	for (int i = 0; i < RV_PULL_CELLS; i++) {
		struct rv_pull_side *side = &pull->setup.side[i];

		pull->side[i].value_n = NAN;
		side->delay_s = isnan(side->delay_s) ? 0.0 : side->delay_s;
		side->tare_n = isnan(side->tare_n) ? 0.0 : side->tare_n;
	}
}

void rv_pull_see(struct rv_pull *pull, enum rv_pull_cell cell, double value_n, int64_t mono_ns)
{
	double tared_n = value_n - pull->setup.side[cell].tare_n;
	int64_t at_ns = mono_ns - (int64_t)(pull->setup.side[cell].delay_s * NS_PER_S);
	int64_t was_ns = pull->side[cell].at_ns;
	double was_n = pull->side[cell].value_n;
	double dt_s = (double)(at_ns - was_ns) / NS_PER_S;
	double *spacing_s = &pull->side[cell].spacing_s;
	int64_t last = at_ns / GRID_NS;

	if (was_ns != 0 && dt_s <= 0.0)
		return; /* doubled or backward: dropped */
	if (was_ns == 0 || last - pull->side[cell].next >= RV_PULL_GRID)
		pull->side[cell].next = last + 1 - RV_PULL_GRID;
	double gap_s = fmin(fmax(GAP_SPACINGS * *spacing_s, GAP_LEAST_S), GAP_MOST_S);
	bool joined = was_ns != 0 && (*spacing_s <= 0.0 || dt_s <= gap_s);
	for (int64_t k = pull->side[cell].next; k <= last; k++) {
		double share = (double)(k * GRID_NS - was_ns) / (double)(at_ns - was_ns);
		double between_n = was_n + share * (tared_n - was_n);

		pull->side[cell].grid_n[k % RV_PULL_GRID] =
		    joined && k * GRID_NS >= was_ns ? between_n : (double)NAN;
	}
	pull->side[cell].next = last + 1;
	if (was_ns != 0 && dt_s <= GAP_MOST_S)
		*spacing_s = *spacing_s <= 0.0 ? dt_s : *spacing_s + 0.1 * (dt_s - *spacing_s);
	pull->side[cell].value_n = tared_n;
	pull->side[cell].at_ns = at_ns;
}

double rv_pull_location(const double *values, int count, double *work)
{
	if (count < 1)
		return NAN;
	memcpy(work, values, (size_t)count * sizeof *work);
	gsl_sort(work, 1, (size_t)count);
	double location = gsl_stats_median_from_sorted_data(work, 1, (size_t)count);
	double scale = gsl_stats_mad0(values, 1, (size_t)count, work + count) / MAD_TO_SIGMA;
	if (!(scale > 0.0))
		return location;
	for (int step = 0; step < STEPS_MOST; step++) {
		double sum = 0.0, weights = 0.0, was = location;

		for (int i = 0; i < count; i++) {
			double u = (values[i] - location) / (TUKEY_C * scale);
			double w = fabs(u) < 1.0 ? (1.0 - u * u) * (1.0 - u * u) : 0.0;

			sum += w * values[i];
			weights += w;
		}
		location = sum / weights; /* half of the values lie within one MAD: never 0 */
		if (fabs(location - was) <= 1e-12 * scale)
			break;
	}
	return location;
}

static void join_blocks(struct rv_pull *pull)
{
	for (size_t i = 0; i < RV_PULL_BLOCKS / 2; i++)
		pull->block[i] = (pull->block[2 * i] + pull->block[2 * i + 1]) / 2.0;
	pull->blocks = RV_PULL_BLOCKS / 2;
	pull->block_s *= 2;
}

static void end_block(struct rv_pull *pull)
{
	if (2 * pull->counted_in_block >= GRID_HZ * pull->block_s) {
		if (pull->blocks == RV_PULL_BLOCKS)
			join_blocks(pull);
		pull->block[pull->blocks++] =
		    log(pull->sum_n[RV_PULL_FAR] / pull->sum_n[RV_PULL_NEAR]);
	}
	pull->sum_n[RV_PULL_NEAR] = pull->sum_n[RV_PULL_FAR] = 0.0;
	pull->in_block = pull->counted_in_block = 0;
}

static double grid_n(const struct rv_pull *pull, enum rv_pull_cell cell, int64_t k)
{
	int64_t next = pull->side[cell].next;

	if (k >= next || k < next - RV_PULL_GRID)
		return NAN;
	return pull->side[cell].grid_n[k % RV_PULL_GRID];
}

/* Judges one grid point.  Later rules of what counts as steady belong here. */
static void judge(struct rv_pull *pull, int64_t k)
{
	double near_n = grid_n(pull, RV_PULL_NEAR, k);
	double far_n = grid_n(pull, RV_PULL_FAR, k);

	if (isnan(near_n) || isnan(far_n))
		pull->missing++;
	else if (near_n <= fmax(pull->setup.side[RV_PULL_NEAR].floor_n, 0.0) ||
		 far_n <= fmax(pull->setup.side[RV_PULL_FAR].floor_n, 0.0))
		pull->slack++;
	else {
		pull->counted++;
		pull->counted_in_block++;
		pull->sum_n[RV_PULL_NEAR] += near_n;
		pull->sum_n[RV_PULL_FAR] += far_n;
		pull->total_near_n += near_n;
	}
	if (++pull->in_block >= GRID_HZ * pull->block_s)
		end_block(pull);
}

/* Judges all grid points up to until_ns for which both cells have spoken, or had time to. */
static void advance(struct rv_pull *pull, int64_t until_ns, int64_t mono_ns)
{
	if (pull->guard_ns == 0)
		return;
	while (pull->next * GRID_NS <= until_ns) {
		bool both = pull->next < pull->side[RV_PULL_NEAR].next &&
			    pull->next < pull->side[RV_PULL_FAR].next;

		if (!both && (double)(mono_ns - pull->next * GRID_NS) < WAIT_S * NS_PER_S)
			return;
		judge(pull, pull->next++);
	}
}

static enum rv_pull_why why(const struct rv_pull *pull)
{
	if (pull->blocks >= LEAST_BLOCKS && (double)pull->counted >= LEAST_S * GRID_HZ)
		return RV_PULL_KEPT;
	if (pull->missing > pull->counted && pull->missing >= pull->slack)
		return RV_PULL_MISSING;
	return pull->slack > pull->counted ? RV_PULL_SLACK : RV_PULL_TOO_SHORT;
}

/* t(0.975; 3) x sd of the means of four stretches / 2; see the header for what it is not. */
static double scatter(const double *values, int count)
{
	double mean[4];

	if (count < 4)
		return NAN;
	for (int i = 0; i < 4; i++) {
		int from = i * count / 4, to = (i + 1) * count / 4;

		mean[i] = gsl_stats_mean(values + from, 1, (size_t)(to - from));
	}
	return T_975_3 * gsl_stats_sd(mean, 1, 4) / 2.0;
}

static void fill(const struct rv_pull *pull, struct rv_pull_result *result)
{
	double work[2 * RV_PULL_BLOCKS];

	*result = pull->result;
	result->mean_tension_n =
	    pull->counted > 0 ? pull->total_near_n / (double)pull->counted : (double)NAN;
	result->log_ratio = rv_pull_location(pull->block, pull->blocks, work);
	result->scatter_ratio = scatter(pull->block, pull->blocks);
	result->counted_s = (double)pull->counted / GRID_HZ;
	result->blocks = pull->blocks;
	result->why = why(pull);
}

static void begin(struct rv_pull *pull, const struct rv_motion_now *now)
{
	pull->under_way = true;
	pull->result = (struct rv_pull_result){
	    .direction = now->motion, .start_ns = now->since_ns, .travelled_m = NAN};
	pull->guard_ns = 0;
	pull->in_block = pull->counted_in_block = pull->blocks = 0;
	pull->counted = pull->slack = pull->missing = 0;
	pull->sum_n[RV_PULL_NEAR] = pull->sum_n[RV_PULL_FAR] = pull->total_near_n = 0.0;
	pull->block_s = 1;
}

static void go_on(struct rv_pull *pull, const struct rv_motion_now *now, int64_t mono_ns)
{
	double lasted_s = (double)(now->mono_ns - pull->result.start_ns) / NS_PER_S;
	double least_m = fmax(GUARD_M, GUARD_SHEAVE_M * pull->setup.sheaves);
	int64_t unsure_ns = (int64_t)((now->window_s + LATENCY_S) * NS_PER_S);

	pull->result.travelled_m = now->travelled_m;
	pull->result.end_ns = now->mono_ns;
	if (pull->guard_ns == 0 &&
	    (isnan(now->travelled_m) ? lasted_s >= GUARD_BLIND_S
				     : lasted_s >= GUARD_S && now->travelled_m >= least_m)) {
		pull->guard_ns = now->mono_ns;
		pull->next = now->mono_ns / GRID_NS + 1;
	}
	advance(pull, now->mono_ns - unsure_ns, mono_ns);
}

static bool finish(struct rv_pull *pull, const struct rv_motion_now *now, int64_t mono_ns,
		   struct rv_pull_result *ended)
{
	int64_t unsure_ns = (int64_t)((now->window_s + LATENCY_S) * NS_PER_S);

	advance(pull, now->since_ns - unsure_ns, mono_ns);
	pull->under_way = false;
	pull->result.end_ns = now->since_ns;
	if ((double)(pull->result.end_ns - pull->result.start_ns) < LEAST_PULL_S * NS_PER_S)
		return false;
	end_block(pull);
	fill(pull, ended);
	return true;
}

bool rv_pull_motion(struct rv_pull *pull, const struct rv_motion_now *now, int64_t mono_ns,
		    struct rv_pull_result *ended)
{
	bool moves = now->motion == RV_MOTION_IN || now->motion == RV_MOTION_OUT;
	bool same = pull->under_way && now->motion == pull->result.direction &&
		    now->since_ns == pull->result.start_ns;
	bool over = false;

	if (pull->under_way && !same)
		over = finish(pull, now, mono_ns, ended);
	if (moves && !pull->under_way)
		begin(pull, now);
	if (pull->under_way)
		go_on(pull, now, mono_ns);
	return over;
}

bool rv_pull_running(const struct rv_pull *pull, struct rv_pull_result *running)
{
	if (!pull->under_way)
		return false;
	fill(pull, running);
	return true;
}
