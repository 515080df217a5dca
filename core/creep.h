/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Something that should stand still gives way: a brake that slips, an anchor that drags.
 * Streaming, no allocation.
 *
 * Line.  Once the line has stopped (hold; or hauling in has ended), and RV_CREEP_SETTLE_S later (a brake sets back a little when it
 * takes the load), the least payout from then on is the mark.  The line creeps when it stands more
 * than max(10 mm, 3 encoder steps) beyond its mark for max(1 s, 2 W) on end without having been
 * paid out properly (motion `out`).  Only outwards: a line slowly taken in is no danger.  Where
 * contactors say what is commanded, hold is what they say, and a line that runs out with the
 * contactors open creeps however fast it is.  Without contactors a slip as fast as paying out
 * cannot be told from it, nor paying out of a hold at a small part of the usual speed from a slip.
 * It creeps until it is hauled in, or has not gone on by half of that distance for 5 s.
 *
 * Force.  Rope, ground and straps relax after a stop: the force falls with the logarithm of time.
 * Means over 1 s, from the same settling time on; the force creeps when over the last 5, 10, 20 or
 * 40 s it has moved by more than 2 % of itself, plus the floor of core/loss / 4, plus, downwards,
 * what a relaxation of RV_CREEP_RELAX_RATIO in each decade of time would take off in that stretch;
 * and that steadily (four of five neighbouring means follow the same way) and out of the range of
 * all means before that stretch, of which there must be as many (20 s at most).
 *
 * All figures are common practice, no source; the relaxation is twice what the softest synthetic
 * winch lines show in the first minutes (from memory).
 */
#ifndef RV_CORE_CREEP_H
#define RV_CORE_CREEP_H

#include <stdbool.h>
#include <stdint.h>

#include "core/motion.h"

#define RV_CREEP_SETTLE_S 2.0
#define RV_CREEP_LEAST_M 0.010
#define RV_CREEP_STEPS 3.0
#define RV_CREEP_FORCE_RATIO 0.02
#define RV_CREEP_RELAX_RATIO 0.10

enum { RV_CREEP_MEANS = 64 };

struct rv_creep_line {
	bool stopped;	    /* a mark stands or is being waited for */
	int64_t stopped_ns;
	double mark_m;	    /* NaN while settling */
	int64_t beyond_ns;  /* since when the line stands beyond its mark; 0 = it does not */
	double crept_m;	    /* beyond the mark; 0 when not */
	bool hauled;	    /* hauled in since it was last paid out: unsteady is no paying out */
	bool creeps;
	double quiet_m;	    /* while it creeps: payout that was last passed, and when */
	int64_t quiet_ns;
};

struct rv_creep_force {
	double floor_n;
	bool holding;
	int64_t held_ns;      /* since when */
	int64_t second_ns;    /* begin of the mean under way */
	double sum_n;
	int in_mean;
	int count, head;      /* ring of means, 1 s apart; NaN = no readings in that second */
	double mean_n[RV_CREEP_MEANS];
	double moved_n;	      /* what was found; negative downwards */
	double within_s;
	bool creeps;
};

void rv_creep_line_init(struct rv_creep_line *creep);

/* The line at each change of motion and at least a few times a second.  commanded: what contactors
 * say, RV_MOTION_UNKNOWN where they say nothing.  True while it creeps. */
bool rv_creep_line_see(struct rv_creep_line *creep, const struct rv_motion_now *now,
		       enum rv_motion commanded, int64_t mono_ns);

/* floor_n as by rv_loss_floor_n. */
void rv_creep_force_init(struct rv_creep_force *creep, double floor_n);

/* Whether the line holds, as far as is known. */
void rv_creep_force_motion(struct rv_creep_force *creep, bool holds, int64_t mono_ns);

/* A good reading.  True while it creeps. */
bool rv_creep_force_see(struct rv_creep_force *creep, double force_n, int64_t mono_ns);

#endif
