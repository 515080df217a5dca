/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How a line moves, from its payout, the turns of the drum, or the winch's contactors.  Streaming
 * and causal: the same code runs live and over stored readings.  Time is an argument, nothing is
 * allocated.
 *
 * The rule is a dead band over a window W long enough to hold seven encoder steps.  It has no
 * published source; the figures are common practice, the test of the room is its evidence.
 *   v_ref  75th percentile of the speeds over 2 s that were above 10 mm/s (and 0.75
 *          steps a second), of the last 10 s of moving; a slower line creeps, it is not hauled.
 *          Before the line has moved: 0.1 m/s for W, none for v_on
 *   W      max(0.4 s, 7 steps / v_ref, twice the spacing of readings); above 2 s the encoder is too
 *          coarse for this speed and the line is `unsteady` whenever it moves
 *   v      (payout now - payout W ago) / W
 *   v_low  max(2 steps / W, 1 mm/s)       v_on  max(2 v_low, 0.3 v_ref, 5 mm/s)
 *   v < -v_on: in.  v > v_on: out.  |v| < v_low and at most one step (or 1 mm) of
 *   change within max(W, step / (20 mm/s)), at most 2 s: hold.  Otherwise: unsteady.
 * What is called `in` at t was moving during all of [since, t - W]: whoever keeps readings lets the
 * last W before the end go.
 */
#ifndef RV_CORE_MOTION_H
#define RV_CORE_MOTION_H

#include <stdbool.h>
#include <stdint.h>

#include "core/rig.h"
#include "core/station.h"

enum { RV_MOTION_POINTS = 256, RV_MOTION_SPEEDS = 40 };

/* No reading for so long: the motion is unknown. */
#define RV_MOTION_STALE_S 1.0

struct rv_motion_setup {
	double step_m;		/* line for one encoder step; NaN = learned from the readings */
	double metres_per_unit; /* 1 for payout; of line for a turn, for turns */
	bool knows_metres;	/* false: metres_per_unit is a guess, for thresholds only */
	bool is_turns;		/* values tell of movement, not of line out */
};

struct rv_motion_now {
	enum rv_motion motion;
	int64_t since_ns;   /* when it began */
	int64_t mono_ns;    /* last reading */
	double payout_m;    /* NaN by turns and by switch */
	double speed_mps;   /* negative hauling in; NaN when not known */
	double travelled_m; /* line moved since since_ns, always >= 0; NaN when not known */
	double window_s;    /* W; 0 by switch */
	double step_m;
	bool too_coarse; /* the line moves too slowly for its encoder step */
};

struct rv_motion_track {
	struct rv_motion_setup setup;
	struct rv_motion_now now;
	double last_m;	/* position of the last reading; NaN = none */
	double begin_m; /* position when the motion began */
	double spacing_s;
	double learned_m; /* smallest change seen; infinite before the first */
	int head, count; /* ring of positions, at least 10 ms apart */
	int64_t at_ns[RV_MOTION_POINTS];
	double position_m[RV_MOTION_POINTS];
	int speeds, speed_head;
	double speed_mps[RV_MOTION_SPEEDS];
	int64_t speed_ns;
	double v_ref_mps; /* NaN = has not moved yet */
};

void rv_motion_init(struct rv_motion_track *track, const struct rv_motion_setup *setup);

/* Line for one turn of a winch's bare drum; false when the rig does not say. */
bool rv_motion_metres_per_turn(const struct rv_winch *winch, double *metres);

/* A good reading of payout or turns.  True if the motion changed. */
bool rv_motion_see(struct rv_motion_track *track, double value, int64_t mono_ns);

/* The counter was set anew: forget positions, keep what is known of speeds. */
void rv_motion_restart(struct rv_motion_track *track);

/* Time passes without a reading.  True if the motion became unknown. */
bool rv_motion_tick(struct rv_motion_track *track, int64_t mono_ns);

/* Contactors of a winch.  What two contacts say together: in, out, hold (both are wired and both
 * open), unsteady (both closed), unknown (only one is wired, and it is open). */
struct rv_motion_switch {
	bool has_in, has_out;	     /* wired */
	bool in_closed, out_closed;
	bool in_known, out_known;    /* a good reading stands */
};
enum rv_motion rv_motion_by_switch(const struct rv_motion_switch *contacts);

/* The same as a motion with a beginning, when there is no encoder.  True if it changed. */
bool rv_motion_see_switch(struct rv_motion_now *now, enum rv_motion motion, int64_t mono_ns);

#endif
