/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Watches one channel for a value that has stopped living: identical raw readings on end.
 * Streaming, no allocation.
 *
 * Identical readings alone prove nothing: coarse instruments stand still when the load does.  A
 * loaded channel is stuck when it repeated one raw number for at least 1 s and 10 readings while
 *   - a neighbour on the same line moved by more than 10 % of itself and more than its floor, or
 *   - its own noise is known: it changed at least 100 times in this state of the line (holding, or
 *     moving) before, and now stands for more than 5 s and ten times the longest it ever stood.
 * Below the floor neither is judged (many instruments round small values to zero).
 * Common practice, no source.
 */
#ifndef RV_CORE_STUCK_H
#define RV_CORE_STUCK_H

#include <stdbool.h>
#include <stdint.h>

#include "core/station.h"

struct rv_stuck {
	double floor_n;
	double raw;	  /* the number that is repeated */
	int64_t since_ns; /* of its first reading */
	int64_t last_ns;
	int64_t repeats;
	double neighbour_least_n, neighbour_most_n; /* since since_ns; NaN = no neighbour */
	double neighbour_floor_n;
	struct {
		int64_t changes;
		double longest_s;
	} known[2]; /* holding, moving */
	int state;  /* the line during the repeats: 0 holding, 1 moving, -1 unknown or both */
	bool is_stuck;
};

/* floor_n as by rv_loss_floor_n. */
void rv_stuck_init(struct rv_stuck *stuck, double floor_n);

/* A good reading that is no repeat by declaration (`updates`).  True while stuck. */
bool rv_stuck_see(struct rv_stuck *stuck, double raw, double force_n, enum rv_motion motion,
		  int64_t mono_ns);

/* A good reading of another channel on the same line. */
void rv_stuck_neighbour(struct rv_stuck *stuck, double force_n, double floor_n);

/* Readings were missing: begin anew, keep what is known of the noise. */
void rv_stuck_break(struct rv_stuck *stuck);

#endif
