/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/stuck.h"

#include <math.h>
#include <string.h>

#define NS_PER_S 1e9
#define LEAST_S 1.0
#define LEAST_REPEATS 10
#define NEIGHBOUR_RATIO 0.10
#define KNOWN_CHANGES 100
#define KNOWN_S 5.0
#define KNOWN_TIMES 10.0

void rv_stuck_init(struct rv_stuck *stuck, double floor_n)
{
	memset(stuck, 0, sizeof *stuck);
	stuck->floor_n = floor_n;
	stuck->raw = stuck->neighbour_least_n = stuck->neighbour_most_n = NAN;
}

void rv_stuck_break(struct rv_stuck *stuck)
{
	stuck->raw = stuck->neighbour_least_n = stuck->neighbour_most_n = NAN;
	stuck->is_stuck = false;
}

static int state_of(enum rv_motion motion)
{
	if (motion == RV_MOTION_HOLD)
		return 0;
	return motion == RV_MOTION_IN || motion == RV_MOTION_OUT ? 1 : -1;
}

/* The number changed: what the stretch before teaches, and a new one begins. */
static void begin(struct rv_stuck *stuck, double raw, int state, int64_t mono_ns)
{
	if (!isnan(stuck->raw) && stuck->state >= 0 && !stuck->is_stuck) {
		double stood_s = (double)(mono_ns - stuck->since_ns) / NS_PER_S;

		stuck->known[stuck->state].changes++;
		stuck->known[stuck->state].longest_s =
		    fmax(stuck->known[stuck->state].longest_s, stood_s);
	}
	stuck->raw = raw;
	stuck->since_ns = mono_ns;
	stuck->repeats = 0;
	stuck->neighbour_least_n = stuck->neighbour_most_n = NAN;
	stuck->state = state;
	stuck->is_stuck = false;
}

static bool neighbour_moved(const struct rv_stuck *stuck)
{
	double moved_n = stuck->neighbour_most_n - stuck->neighbour_least_n;

	return moved_n > fmax(NEIGHBOUR_RATIO * stuck->neighbour_most_n, stuck->neighbour_floor_n);
}

static bool outstood_its_noise(const struct rv_stuck *stuck, double stood_s)
{
	return stuck->state >= 0 && stuck->known[stuck->state].changes >= KNOWN_CHANGES &&
	       stood_s > KNOWN_S && stood_s > KNOWN_TIMES * stuck->known[stuck->state].longest_s;
}

bool rv_stuck_see(struct rv_stuck *stuck, double raw, double force_n, enum rv_motion motion,
		  int64_t mono_ns)
{
	int state = fabs(force_n) > stuck->floor_n ? state_of(motion) : -1;

	stuck->last_ns = mono_ns;
	if (!(fabs(raw - stuck->raw) <= 0.0)) {
		begin(stuck, raw, state, mono_ns);
		return false;
	}
	stuck->repeats++;
	if (state != stuck->state)
		stuck->state = -1;
	double stood_s = (double)(mono_ns - stuck->since_ns) / NS_PER_S;
	if (fabs(force_n) > stuck->floor_n && stood_s >= LEAST_S &&
	    stuck->repeats >= LEAST_REPEATS &&
	    (neighbour_moved(stuck) || outstood_its_noise(stuck, stood_s)))
		stuck->is_stuck = true;
	return stuck->is_stuck;
}

void rv_stuck_neighbour(struct rv_stuck *stuck, double force_n, double floor_n)
{
	stuck->neighbour_least_n = fmin(stuck->neighbour_least_n, force_n);
	stuck->neighbour_most_n = fmax(stuck->neighbour_most_n, force_n);
	stuck->neighbour_floor_n = floor_n;
}
