/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/pull.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_sort_double.h>
#include <gsl/gsl_statistics_double.h>

#include "core/convert.h"

#define GRID_NS RV_GRID_STEP_NS
#define GRID_HZ RV_GRID_HZ
#define NS_PER_S 1e9
#define GUARD_S 1.0
#define GUARD_BLIND_S 3.0 /* where travel is not known: 0.3 m at 0.1 m/s */
#define GUARD_M 0.30
#define GUARD_SHEAVE_M 0.08
#define LATENCY_S 0.3
#define LEAST_PULL_S 1.0 /* a shorter stretch is no pull */
#define WAIT_S 3.0	 /* for a late cell, before its reading counts as missing */
#define MEAN_HALF 2	 /* means of 0.1 s */
#define SLOPE_HALF 5	 /* of which the difference over 0.2 s is the slope */
#define AHEAD 10	 /* grid points that judging one looks ahead */
#define STEP_MOST_S 2.0
#define FULL_SHARE 100 /* 1 in so many at full scale: saturated */
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
	    [RV_PULL_RAN_BACK] = "sheaves ran back",
	    [RV_PULL_SATURATED] = "cell at full scale",
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
		    .full_n = channel[i]->capacity,
		};
	return setup;
}

void rv_pull_init(struct rv_pull *pull, const struct rv_pull_setup *setup)
{
	memset(pull, 0, sizeof *pull);
	pull->setup = *setup;
	for (int i = 0; i < RV_PULL_CELLS; i++) {
		rv_grid_init(&pull->cell[i], setup->side[i].delay_s, setup->side[i].tare_n);
		if (!(pull->setup.rope.legs_seen[i] > 0.0))
			pull->setup.rope.legs_seen[i] = 1.0;
	}
	if (!(pull->setup.rope.slowest_ratio > 0.0))
		pull->setup.rope.slowest_ratio = 1.0;
	rv_grid_init(&pull->payout, 0.0, 0.0);
}

void rv_pull_see(struct rv_pull *pull, enum rv_pull_cell cell, double value_n, int64_t mono_ns)
{
	rv_grid_see(&pull->cell[cell], value_n, mono_ns);
	if (!pull->under_way && value_n - pull->cell[cell].offset <= pull->setup.side[cell].floor_n)
		pull->went_slack = true;
}

void rv_pull_payout(struct rv_pull *pull, double payout_m, int64_t mono_ns)
{
	rv_grid_see(&pull->payout, payout_m, mono_ns);
}

void rv_pull_payout_restart(struct rv_pull *pull)
{
	rv_grid_init(&pull->payout, 0.0, 0.0);
	rv_mobilise_begin(&pull->turning);
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

static double far_at(const struct rv_pull *pull, int64_t k)
{
	return pull->setup.load_n > 0.0 ? pull->setup.load_n
					: rv_grid_at(&pull->cell[RV_PULL_FAR], k);
}

/* Is every sheave certainly turning?  Where line out is not known nothing speaks against it. */
static bool turns(struct rv_pull *pull, int64_t k)
{
	const struct rv_mobilise_setup *rope = &pull->setup.rope;
	double payout_m = rv_grid_mean(&pull->payout, k, pull->step_half);
	double leg_n = rv_grid_mean(&pull->cell[RV_PULL_NEAR], k, MEAN_HALF) / rope->legs_seen[0];

	if (isnan(payout_m))
		return true;
	if (!(pull->setup.load_n > 0.0)) {
		double far_n = rv_grid_mean(&pull->cell[RV_PULL_FAR], k, MEAN_HALF);
		leg_n = (leg_n + far_n / rope->legs_seen[1]) / 2.0;
	}
	pull->placed++;
	return rv_mobilise_see(&pull->turning,
			       rv_mobilise_passed_m(rope, pull->result.direction, payout_m, leg_n));
}

static bool is_full(const struct rv_pull *pull, enum rv_pull_cell cell, double tared_n)
{
	double full_n = pull->setup.side[cell].full_n;

	return full_n > 0.0 && tared_n + pull->cell[cell].offset >= full_n;
}

static void count(struct rv_pull *pull, int64_t k, double near_n, double far_n)
{
	double t_s = (double)k / RV_GRID_HZ - (double)pull->guard_ns / NS_PER_S;
	double slope = rv_grid_mean(&pull->cell[RV_PULL_NEAR], k + SLOPE_HALF, MEAN_HALF) -
		       rv_grid_mean(&pull->cell[RV_PULL_NEAR], k - SLOPE_HALF, MEAN_HALF);

	pull->counted++;
	pull->counted_in_block++;
	pull->sum_n[RV_PULL_NEAR] += near_n;
	pull->sum_n[RV_PULL_FAR] += far_n;
	pull->total_n[RV_PULL_NEAR] += near_n;
	pull->total_n[RV_PULL_FAR] += far_n;
	pull->moment_s += t_s;
	pull->moment_s2 += t_s * t_s;
	pull->moment_ns += t_s * near_n;
	rv_surge_see(&pull->surge, slope, log(far_n / near_n));
}

/* Judges one grid point. */
static void judge(struct rv_pull *pull, int64_t k)
{
	double near_n = rv_grid_at(&pull->cell[RV_PULL_NEAR], k);
	double far_n = far_at(pull, k);
	bool turning = turns(pull, k);

	if (!(pull->setup.load_n > 0.0))
		rv_lag_see(&pull->lag, &pull->cell[RV_PULL_NEAR], &pull->cell[RV_PULL_FAR], k);
	if (isnan(near_n) || isnan(far_n)) {
		pull->missing++;
	} else if (near_n <= fmax(pull->setup.side[RV_PULL_NEAR].floor_n, 0.0) ||
		   far_n <= fmax(pull->setup.side[RV_PULL_FAR].floor_n, 0.0)) {
		pull->slack++;
	} else {
		pull->full +=
		    is_full(pull, RV_PULL_NEAR, near_n) || is_full(pull, RV_PULL_FAR, far_n);
		if (turning)
			count(pull, k, near_n, far_n);
		else
			pull->ran_back++;
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
		bool both =
		    pull->next + AHEAD < pull->cell[RV_PULL_NEAR].next &&
		    (pull->setup.load_n > 0.0 ||
		     pull->next + AHEAD < pull->cell[RV_PULL_FAR].next) &&
		    (pull->payout.next == 0 || pull->next + pull->step_half < pull->payout.next);

		if (!both && (double)(mono_ns - pull->next * GRID_NS) < WAIT_S * NS_PER_S)
			return;
		judge(pull, pull->next++);
	}
}

static enum rv_pull_why why(const struct rv_pull *pull)
{
	int64_t loaded = pull->counted + pull->ran_back;

	if (pull->full * FULL_SHARE > loaded)
		return RV_PULL_SATURATED;
	if (pull->blocks >= LEAST_BLOCKS && (double)pull->counted >= LEAST_S * GRID_HZ)
		return RV_PULL_KEPT;
	if (pull->missing > loaded && pull->missing >= pull->slack)
		return RV_PULL_MISSING;
	if (pull->slack > loaded)
		return RV_PULL_SLACK;
	return pull->ran_back > pull->counted ? RV_PULL_RAN_BACK : RV_PULL_TOO_SHORT;
}

/* Relative slope of the near tension: least squares over what was counted. */
static double slope_ps(const struct rv_pull *pull)
{
	double count = (double)pull->counted;
	double spread = pull->moment_s2 - pull->moment_s * pull->moment_s / count;
	double with = pull->moment_ns - pull->moment_s * pull->total_n[RV_PULL_NEAR] / count;

	return spread > 0.0 ? with / spread / (pull->total_n[RV_PULL_NEAR] / count) : (double)NAN;
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
	result->mean_tension_n = result->far_n = result->slope_ps = NAN;
	if (pull->counted > 0) {
		result->mean_tension_n = pull->total_n[RV_PULL_NEAR] / (double)pull->counted;
		result->far_n = pull->total_n[RV_PULL_FAR] / (double)pull->counted;
		result->slope_ps = slope_ps(pull);
	}
	int64_t loaded = pull->counted + pull->ran_back;
	result->turning_ratio =
	    pull->placed > 0 && loaded > 0 ? (double)pull->counted / (double)loaded : (double)NAN;
	result->surge_log = rv_surge_log(&pull->surge);
	result->lag_s = rv_lag_s(&pull->lag);
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
	    .direction = now->motion,
	    .start_ns = now->since_ns,
	    .travelled_m = NAN,
	    .start_m = now->payout_m,
	    .unloaded_before = pull->went_slack,
	};
	pull->went_slack = false;
	pull->guard_ns = 0;
	pull->in_block = pull->counted_in_block = pull->blocks = 0;
	pull->counted = pull->slack = pull->missing = pull->ran_back = pull->full = pull->placed =
	    0;
	pull->moment_s = pull->moment_s2 = pull->moment_ns = 0.0;
	for (int i = 0; i < RV_PULL_CELLS; i++)
		pull->sum_n[i] = pull->total_n[i] = 0.0;
	rv_mobilise_begin(&pull->turning);
	rv_surge_begin(&pull->surge);
	rv_lag_begin(&pull->lag);
	pull->block_s = 1;
}

static void go_on(struct rv_pull *pull, const struct rv_motion_now *now, int64_t mono_ns)
{
	double lasted_s = (double)(now->mono_ns - pull->result.start_ns) / NS_PER_S;
	double least_m = fmax(GUARD_M, GUARD_SHEAVE_M * pull->setup.sheaves);
	int64_t unsure_ns = (int64_t)((now->window_s + LATENCY_S) * NS_PER_S);

	double step_s = now->step_m / fabs(now->speed_mps);

	pull->step_half = step_s > 0.0 ? (int)lround(fmin(step_s, STEP_MOST_S) / 2.0 * GRID_HZ) : 0;
	pull->result.travelled_m = now->travelled_m;
	pull->result.end_ns = now->mono_ns;
	if (pull->guard_ns == 0 &&
	    lasted_s >=
		pull->setup.more_guard_s + (isnan(now->travelled_m) ? GUARD_BLIND_S : GUARD_S) &&
	    !(now->travelled_m < least_m)) {
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
