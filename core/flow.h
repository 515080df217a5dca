/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All tensions of a piece of line from one cell that it loads, for one motion: at the nominal
 * friction, and at every corner of the declared efficiencies at which something is at its largest or
 * smallest.  Made once for a rig; using it allocates nothing.
 */
#ifndef RV_CORE_FLOW_H
#define RV_CORE_FLOW_H

#include "core/vary.h"

struct rv_flow {
	struct rv_friction friction; /* nominal */
	struct rv_chain nominal;
	int corners;
	struct rv_chain *corner; /* owned */
};

/* sense: +1 hauling in, -1 paying out, 0 either.  The pose must be complete. */
enum rv_err rv_flow_make(const struct rv_layout *layout, int sense, struct rv_flow *flow,
			 struct rv_error *error);
void rv_flow_free(struct rv_flow *flow);

/* The tension of every leg; NaN for those the cell cannot tell. */
void rv_flow_spread(const struct rv_layout *layout, const struct rv_chain *chain, int cell,
		    double load_n, double *tension_n);

#endif
