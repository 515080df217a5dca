/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether every sheave has certainly been turning the way the line moves.  A load that surges
 * stretches and slackens the rope, which lets the slowest sheaves run back a little; until they have
 * turned far enough again their friction is neither that of hauling in nor of paying out, and the
 * ratio of two cells says nothing of efficiency.
 *
 *   p = d (line in / slowest + compliance x mean leg tension)    rope passed over the slowest sheave
 *
 * d = +1 hauling in, -1 paying out.  More than 0.3 mm back from the farthest p: run back.  From there
 * 12 mm forward from the lowest p: turning again.  Pre-sliding of bearings and rope over some
 * millimetres: Dahl, Aerospace Corporation TOR-0158 (1968), from memory; the two lengths are common
 * practice, no source, and held by the simulated pulls of tests/truth.
 */
#ifndef RV_CORE_MOBILISE_H
#define RV_CORE_MOBILISE_H

#include <stdbool.h>

#include "core/station.h"

struct rv_mobilise_setup {
	double slowest_ratio;	/* line speed / rope speed over the slowest sheave, >= 1 */
	double compliance_mpn;	/* leg length / EA; 0 = stiffness not declared, stretch not seen */
	double legs_seen[2];	/* by the near and the far cell: cell load / mean leg tension */
};

struct rv_mobilise {
	bool begun, ran_back;
	double farthest_m, lowest_m;
};

/* A stretch of steady motion begins. */
void rv_mobilise_begin(struct rv_mobilise *track);

/* Rope passed over the slowest sheave, metres, growing while the line moves the way it moves. */
double rv_mobilise_passed_m(const struct rv_mobilise_setup *setup, enum rv_motion motion,
			    double payout_m, double leg_n);

/* True: every sheave is certainly turning the way of the motion.  NaN: false, nothing changes. */
bool rv_mobilise_see(struct rv_mobilise *track, double passed_m);

#endif
