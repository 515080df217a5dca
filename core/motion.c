/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/motion.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_sort_double.h>
#include <gsl/gsl_statistics_double.h>

#define SHORTEST_W_S 0.4
#define LONGEST_W_S 2.0
#define STEPS_IN_W 7.0
#define SLOWEST_HAUL_MPS 0.010
#define ASSUMED_MPS 0.1
#define LOW_MPS 0.001
#define ON_MPS 0.005
#define FLAT_M 0.001
#define FLAT_MPS 0.020
#define LEAST_STEP_M 0.0001
#define POINT_NS 10000000  /* positions kept are at least 10 ms apart */
#define SPEED_NS 250000000 /* speeds for v_ref */
#define NS_PER_S 1e9

void rv_motion_init(struct rv_motion_track *track, const struct rv_motion_setup *setup)
{
	memset(track, 0, sizeof *track);
	track->setup = *setup;
	track->now = (struct rv_motion_now){.payout_m = NAN, .speed_mps = NAN, .travelled_m = NAN};
	track->last_m = track->begin_m = track->v_ref_mps = NAN;
	track->learned_m = INFINITY;
}

bool rv_motion_metres_per_turn(const struct rv_winch *winch, double *metres)
{
	if (isnan(winch->drum_diameter_m))
		return false;
	*metres = M_PI * winch->drum_diameter_m;
	return true;
}

static double step_m(const struct rv_motion_track *track)
{
	double step = track->setup.step_m;

	if (isnan(step))
		step = isinf(track->learned_m) ? FLAT_M : track->learned_m;
	return fmax(step, LEAST_STEP_M);
}

/* Ring index of the point i places before the newest. */
static int back(const struct rv_motion_track *track, int i)
{
	return (track->head - i + RV_MOTION_POINTS) % RV_MOTION_POINTS;
}

/* Position at an earlier time; NaN where the ring does not reach. */
static double position_at(const struct rv_motion_track *track, int64_t mono_ns)
{
	for (int i = 1; i < track->count; i++) {
		int old = back(track, i), young = back(track, i - 1);

		if (track->at_ns[old] > mono_ns)
			continue;
		double share = (double)(mono_ns - track->at_ns[old]) /
			       (double)(track->at_ns[young] - track->at_ns[old]);
		return track->position_m[old] +
		       share * (track->position_m[young] - track->position_m[old]);
	}
	return NAN;
}

/* Largest less smallest position within the last so many seconds. */
static double spread_m(const struct rv_motion_track *track, double within_s)
{
	int64_t newest_ns = track->at_ns[track->head];
	double least = track->position_m[track->head], most = least;

	for (int i = 1; i < track->count; i++) {
		int at = back(track, i);

		if ((double)(newest_ns - track->at_ns[at]) > within_s * NS_PER_S)
			break;
		least = fmin(least, track->position_m[at]);
		most = fmax(most, track->position_m[at]);
	}
	return most - least;
}

static void learn_speed(struct rv_motion_track *track, int64_t mono_ns)
{
	double sorted[RV_MOTION_SPEEDS];

	if (mono_ns - track->speed_ns < SPEED_NS)
		return;
	track->speed_ns = mono_ns;
	double then_m = position_at(track, mono_ns - (int64_t)(LONGEST_W_S * NS_PER_S));
	double speed = fabs(track->position_m[track->head] - then_m) / LONGEST_W_S;
	if (!(speed > fmax(SLOWEST_HAUL_MPS, 0.75 * step_m(track))))
		return;
	track->speed_mps[track->speed_head] = speed;
	track->speed_head = (track->speed_head + 1) % RV_MOTION_SPEEDS;
	if (track->speeds < RV_MOTION_SPEEDS)
		track->speeds++;
	memcpy(sorted, track->speed_mps, sizeof sorted);
	gsl_sort(sorted, 1, (size_t)track->speeds);
	track->v_ref_mps =
	    gsl_stats_quantile_from_sorted_data(sorted, 1, (size_t)track->speeds, 0.75);
}

/* W, and whether the encoder is too coarse for the speed the line has. */
static double window_s(const struct rv_motion_track *track, bool *too_coarse)
{
	double v_ref = isnan(track->v_ref_mps) ? ASSUMED_MPS : track->v_ref_mps;
	double wanted = STEPS_IN_W * step_m(track) / v_ref;

	*too_coarse = !isnan(track->v_ref_mps) && wanted > LONGEST_W_S;
	wanted = fmax(fmax(wanted, SHORTEST_W_S), 2.0 * track->spacing_s);
	return fmin(wanted, LONGEST_W_S);
}

static enum rv_motion classify(const struct rv_motion_track *track, double v, double w_s,
			       bool too_coarse)
{
	double step = step_m(track);
	double v_low = fmax(2.0 * step / w_s, LOW_MPS);
	double v_on = fmax(2.0 * v_low, ON_MPS);
	double flat_s = too_coarse ? LONGEST_W_S : fmin(fmax(w_s, step / FLAT_MPS), LONGEST_W_S);
	bool flat = spread_m(track, flat_s) <= fmax(1.5 * step, FLAT_M);

	if (!isnan(track->v_ref_mps))
		v_on = fmax(v_on, 0.3 * track->v_ref_mps);
	if (flat && fabs(v) < v_low)
		return RV_MOTION_HOLD;
	if (too_coarse || fabs(v) <= v_on)
		return RV_MOTION_UNSTEADY;
	return v < 0.0 ? RV_MOTION_IN : RV_MOTION_OUT;
}

static bool enter(struct rv_motion_now *now, enum rv_motion motion, int64_t mono_ns)
{
	if (now->motion == motion)
		return false;
	now->motion = motion;
	now->since_ns = mono_ns;
	return true;
}

static bool judge(struct rv_motion_track *track, int64_t mono_ns)
{
	struct rv_motion_now *now = &track->now;
	enum rv_motion motion = RV_MOTION_UNKNOWN;
	bool knows = track->setup.knows_metres;

	learn_speed(track, mono_ns);
	now->step_m = step_m(track);
	now->window_s = window_s(track, &now->too_coarse);
	double then_m = position_at(track, mono_ns - (int64_t)(now->window_s * NS_PER_S));
	double v = (track->last_m - then_m) / now->window_s;
	if (!isnan(v))
		motion = classify(track, v, now->window_s, now->too_coarse);
	now->speed_mps = knows ? v : (double)NAN;
	bool changed = enter(now, motion, mono_ns);
	if (changed)
		track->begin_m = track->last_m;
	now->travelled_m = knows ? fabs(track->last_m - track->begin_m) : (double)NAN;
	return changed;
}

/* What the step of the encoder is, and how far apart its readings are. */
static void learn_steps(struct rv_motion_track *track, double position_m, int64_t mono_ns)
{
	double change = fabs(position_m - track->last_m);

	if (change > LEAST_STEP_M / 2.0 && change < track->learned_m)
		track->learned_m = change;
	double dt_s = (double)(mono_ns - track->now.mono_ns) / NS_PER_S;
	track->spacing_s += 0.1 * (dt_s - track->spacing_s);
}

bool rv_motion_see(struct rv_motion_track *track, double value, int64_t mono_ns)
{
	double position_m = value * track->setup.metres_per_unit;

	if (!isnan(track->last_m)) {
		if (mono_ns <= track->now.mono_ns)
			return false;
		if ((double)(mono_ns - track->now.mono_ns) > RV_MOTION_STALE_S * NS_PER_S)
			rv_motion_restart(track);
		else
			learn_steps(track, position_m, mono_ns);
	}
	track->last_m = position_m;
	track->now.mono_ns = mono_ns;
	track->now.payout_m = track->setup.is_turns ? (double)NAN : position_m;
	if (track->count > 0 && mono_ns - track->at_ns[track->head] < POINT_NS)
		return false;
	track->head = (track->head + 1) % RV_MOTION_POINTS;
	if (track->count < RV_MOTION_POINTS)
		track->count++;
	track->at_ns[track->head] = mono_ns;
	track->position_m[track->head] = position_m;
	return judge(track, mono_ns);
}

void rv_motion_restart(struct rv_motion_track *track)
{
	track->count = 0;
	track->last_m = NAN;
	track->now.payout_m = NAN;
}

bool rv_motion_tick(struct rv_motion_track *track, int64_t mono_ns)
{
	struct rv_motion_now *now = &track->now;

	if ((double)(mono_ns - now->mono_ns) <= RV_MOTION_STALE_S * NS_PER_S)
		return false;
	now->payout_m = now->speed_mps = now->travelled_m = NAN;
	return enter(now, RV_MOTION_UNKNOWN, mono_ns);
}

enum rv_motion rv_motion_by_switch(const struct rv_motion_switch *contacts)
{
	bool in = contacts->has_in && contacts->in_known && contacts->in_closed;
	bool out = contacts->has_out && contacts->out_known && contacts->out_closed;

	if (in && out)
		return RV_MOTION_UNSTEADY;
	if (in)
		return RV_MOTION_IN;
	if (out)
		return RV_MOTION_OUT;
	if (contacts->has_in && contacts->in_known && contacts->has_out && contacts->out_known)
		return RV_MOTION_HOLD;
	return RV_MOTION_UNKNOWN;
}

bool rv_motion_see_switch(struct rv_motion_now *now, enum rv_motion motion, int64_t mono_ns)
{
	now->payout_m = now->speed_mps = now->travelled_m = NAN;
	now->window_s = 0.0;
	now->mono_ns = mono_ns;
	return enter(now, motion, mono_ns);
}
