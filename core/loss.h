/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Watches one force for falling away: a line that parts, an anchor that lets go, an instrument
 * somebody has zeroed under load.  Streaming, no allocation.
 *
 * Fallen: the force is below half of the most it was within the last 0.5 s, or since the reading
 * before where that is longer ago, and that most was above the floor; and it fell 1.3 times as much within them as within the 0.5 s before, or any
 * steady unloading would alarm when its end comes near zero.  Floor: max(2 % of capacity, 10 x standard uncertainty of zero); 200 N when
 * neither is stated.  Below it a slack line that is shaken would alarm (common practice, no source).
 *
 * A line that is paid out unloads by itself.  Where payout grew within the 0.5 s, what that explains
 * does not count: twice stiffness x growth, the stiffness being EA / length of the declared line.
 * Where the stiffness is not declared, a fall while paying out counts only if it comes within 0.1 s
 * and from above five times the floor: faster than a winch unloads anything but a short wire.
 *
 * Stepped: from above twice the floor to below a tenth of that and below half the floor, from one
 * reading to the next.  Whether that is a zeroed instrument or a parted line only the neighbours
 * can tell: core/guards.
 */
#ifndef RV_CORE_LOSS_H
#define RV_CORE_LOSS_H

#include <stdbool.h>
#include <stdint.h>

#include "core/station.h"

enum { RV_LOSS_POINTS = 128 };

#define RV_LOSS_WITHIN_S 0.5
#define RV_LOSS_WITHIN_PAYING_S 0.1
#define RV_LOSS_FLOOR_UNKNOWN_N 200.0

enum rv_loss_seen { RV_LOSS_NOTHING, RV_LOSS_FALLEN, RV_LOSS_STEPPED };

/* What the line did: payout now (NaN = not known), and whether it is being paid out as far as a
 * contactor or the motion tells. */
struct rv_loss_line {
	double payout_m;
	double stiffness_npm; /* N for a metre; NaN = not known */
	double step_m;	      /* of the payout; NaN = not known */
	bool paying_out;
};

struct rv_loss {
	double floor_n;
	double before_n; /* of the last fall: where it fell from */
	double last_n;	 /* last reading, NaN = none or bad */
	int64_t last_ns;
	int count, head; /* ring: most of each stretch of 10 ms, and payout at its end */
	int64_t at_ns[RV_LOSS_POINTS];
	double most_n[RV_LOSS_POINTS];
	double payout_m[RV_LOSS_POINTS];
};

double rv_loss_floor_n(const struct rv_channel *channel);

void rv_loss_init(struct rv_loss *loss, const struct rv_channel *channel);

/* A good or uncertain reading.  STEPPED implies FALLEN.  before_n tells from where. */
enum rv_loss_seen rv_loss_see(struct rv_loss *loss, double force_n, int64_t mono_ns,
			      const struct rv_loss_line *line);

/* Most of the last 0.5 s (NaN: nothing was kept), since the last fall. */
double rv_loss_most_n(const struct rv_loss *loss, int64_t mono_ns);

/* A bad reading, or none for too long: what comes after it is not compared with what was before. */
void rv_loss_break(struct rv_loss *loss);

#endif
