/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/creep.h"

#include <math.h>
#include <string.h>

#define NS_PER_S 1e9
#define SECOND_NS INT64_C(1000000000)
#define BEYOND_S 1.0
#define QUIET_S 5.0
#define FLOOR_SHARE 0.25
#define STEADY_SHARE 0.8
#define BEFORE 20 /* seconds known before a stretch, at most */

void rv_creep_line_init(struct rv_creep_line *creep)
{
	memset(creep, 0, sizeof *creep);
	creep->mark_m = NAN;
}

/* Whether the line ought to stand still: contactors say so, or it has stopped by itself and was not
 * moved properly since. */
static bool should_stand(struct rv_creep_line *creep, enum rv_motion motion,
			 enum rv_motion commanded)
{
	if (motion == RV_MOTION_IN || motion == RV_MOTION_OUT)
		creep->hauled = motion == RV_MOTION_IN;
	if (commanded != RV_MOTION_UNKNOWN)
		return commanded == RV_MOTION_HOLD;
	if (motion == RV_MOTION_HOLD)
		return true;
	/* Unsteady is how any start looks; after paying out it may be slow paying out. */
	return motion == RV_MOTION_UNSTEADY && (creep->stopped || creep->hauled);
}

static void set_off(struct rv_creep_line *creep)
{
	bool hauled = creep->hauled;

	rv_creep_line_init(creep);
	creep->hauled = hauled;
}

/* How it ends: a line that slips fast looks as if it were paid out, and that ends nothing. */
static bool goes_on(struct rv_creep_line *creep, const struct rv_motion_now *now,
		    enum rv_motion commanded, double enough_m, int64_t mono_ns)
{
	if (isnan(now->payout_m))
		return true; /* nobody can tell that it stopped */
	if (now->payout_m > creep->quiet_m + enough_m / 2.0) {
		creep->quiet_m = now->payout_m;
		creep->quiet_ns = mono_ns;
	}
	creep->crept_m = now->payout_m - creep->mark_m;
	if (commanded != RV_MOTION_UNKNOWN && commanded != RV_MOTION_HOLD)
		return false;
	return now->motion != RV_MOTION_IN &&
	       (double)(mono_ns - creep->quiet_ns) < QUIET_S * NS_PER_S;
}

bool rv_creep_line_see(struct rv_creep_line *creep, const struct rv_motion_now *now,
		       enum rv_motion commanded, int64_t mono_ns)
{
	double enough_m = fmax(RV_CREEP_LEAST_M, RV_CREEP_STEPS * now->step_m);

	if (creep->creeps) {
		if (!goes_on(creep, now, commanded, enough_m, mono_ns))
			set_off(creep);
		return creep->creeps;
	}
	if (!should_stand(creep, now->motion, commanded) || isnan(now->payout_m)) {
		set_off(creep);
		return false;
	}
	if (!creep->stopped) {
		creep->stopped = true;
		creep->stopped_ns = mono_ns;
	}
	if ((double)(mono_ns - creep->stopped_ns) < RV_CREEP_SETTLE_S * NS_PER_S)
		return false;
	creep->mark_m = fmin(creep->mark_m, now->payout_m); /* a NaN gives way */
	creep->crept_m = now->payout_m - creep->mark_m;
	if (creep->crept_m <= enough_m) {
		creep->beyond_ns = 0;
		return false;
	}
	if (creep->beyond_ns == 0)
		creep->beyond_ns = mono_ns;
	double sure_s = fmax(BEYOND_S, 2.0 * now->window_s);
	creep->creeps = (double)(mono_ns - creep->beyond_ns) >= sure_s * NS_PER_S;
	creep->quiet_m = now->payout_m;
	creep->quiet_ns = mono_ns;
	return creep->creeps;
}

void rv_creep_force_init(struct rv_creep_force *creep, double floor_n)
{
	memset(creep, 0, sizeof *creep);
	creep->floor_n = floor_n;
}

void rv_creep_force_motion(struct rv_creep_force *creep, bool holds, int64_t mono_ns)
{
	if (holds && !creep->holding) {
		creep->held_ns = mono_ns;
		creep->second_ns = mono_ns + (int64_t)(RV_CREEP_SETTLE_S * NS_PER_S);
	}
	if (!holds || !creep->holding) {
		creep->count = creep->in_mean = 0;
		creep->sum_n = 0.0;
		creep->creeps = false;
	}
	creep->holding = holds;
}

static double mean_ago(const struct rv_creep_force *creep, int i)
{
	return creep->mean_n[(creep->head - i + RV_CREEP_MEANS) % RV_CREEP_MEANS];
}

/* Whether the means of the last so many seconds follow the way of the whole. */
static bool is_steady(const struct rv_creep_force *creep, int seconds, double way)
{
	int along = 0;

	for (int i = 0; i < seconds; i++)
		along += (mean_ago(creep, i) - mean_ago(creep, i + 1)) * way > 0.0;
	return along >= STEADY_SHARE * seconds;
}

/* What rope and ground may lose by themselves between two times after the stop. */
static double relaxed_n(double force_n, double from_s, double to_s)
{
	return RV_CREEP_RELAX_RATIO * force_n * log10(to_s / from_s);
}

/* How far the newest mean lies outside of all that stood before the last so many seconds; 0 when
 * it lies within: a load that swings comes back where it was.  NaN: a second without readings. */
static double beyond_n(const struct rv_creep_force *creep, int seconds)
{
	double now_n = mean_ago(creep, 0), then_n = mean_ago(creep, seconds);
	double least_n = then_n, most_n = then_n;

	for (int i = seconds + 1; i < creep->count; i++) {
		least_n = fmin(least_n, mean_ago(creep, i)); /* a NaN gives way */
		most_n = fmax(most_n, mean_ago(creep, i));
	}
	if (isnan(now_n) || isnan(then_n))
		return NAN;
	return now_n > most_n ? now_n - most_n : fmin(now_n - least_n, 0.0);
}

static bool moves(struct rv_creep_force *creep, int64_t mono_ns)
{
	static const int stretches[] = {5, 10, 20, 40};
	double held_s = (double)(mono_ns - creep->held_ns) / NS_PER_S;

	for (size_t k = 0; k < sizeof stretches / sizeof stretches[0]; k++) {
		int seconds = stretches[k], before = seconds < BEFORE ? seconds : BEFORE;

		if (creep->count <= seconds + before)
			break;
		double force_n = fabs(mean_ago(creep, seconds));
		double moved_n = beyond_n(creep, seconds);
		double allowed_n = RV_CREEP_FORCE_RATIO * force_n + FLOOR_SHARE * creep->floor_n;
		if (moved_n < 0.0)
			/* The mean of a second stands for its middle. */
			allowed_n += relaxed_n(force_n, held_s - seconds - 0.5, held_s - 0.5);
		if (fabs(moved_n) > allowed_n && is_steady(creep, seconds, moved_n)) {
			creep->moved_n = moved_n;
			creep->within_s = seconds;
			return true;
		}
	}
	return false;
}

/* Ends the mean of the second under way, and empty ones up to now. */
static void end_seconds(struct rv_creep_force *creep, int64_t mono_ns)
{
	if (mono_ns - creep->second_ns >= RV_CREEP_MEANS * SECOND_NS) {
		creep->count = creep->in_mean = 0;
		creep->sum_n = 0.0;
		creep->second_ns = mono_ns;
	}
	while (mono_ns - creep->second_ns >= SECOND_NS) {
		creep->head = (creep->head + 1) % RV_CREEP_MEANS;
		creep->count += creep->count < RV_CREEP_MEANS;
		creep->mean_n[creep->head] =
		    creep->in_mean > 0 ? creep->sum_n / creep->in_mean : (double)NAN;
		creep->sum_n = 0.0;
		creep->in_mean = 0;
		creep->second_ns += SECOND_NS;
		creep->creeps = moves(creep, creep->second_ns);
	}
}

bool rv_creep_force_see(struct rv_creep_force *creep, double force_n, int64_t mono_ns)
{
	if (!creep->holding || mono_ns < creep->second_ns)
		return creep->creeps;
	end_seconds(creep, mono_ns);
	creep->sum_n += force_n;
	creep->in_mean++;
	return creep->creeps;
}
