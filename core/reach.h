/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What hangs together: loads and floating points joined by pieces of line.  A fixed point joins
 * nothing.
 */
#ifndef RV_CORE_REACH_H
#define RV_CORE_REACH_H

#include "core/layout.h"

struct rv_reach {
	int of_piece[RV_REEVE_PIECES]; /* the cluster of each piece; -1 = it touches fixed points only */
	int of_load[RV_RIG_LOADS];
	int of_point[RV_RIG_POINTS]; /* floating points; -1 for others */
};

void rv_reach_find(const struct rv_layout *layout, struct rv_reach *reach);

/* True when something in a cluster is pulled on: a load, a weight or an outside force. */
bool rv_reach_has_force(const struct rv_layout *layout, const struct rv_reach *reach, int cluster);

/* How many loads it holds. */
int rv_reach_loads(const struct rv_layout *layout, const struct rv_reach *reach, int cluster);

#endif
