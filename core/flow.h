/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All tensions of a piece of line from one cell that it loads, for one motion: at the nominal
 * friction, and at every corner of the declared efficiencies at which something is at its largest or
 * smallest.  Made once for a rig; using it allocates nothing.
 */
#ifndef RV_CORE_FLOW_H
#define RV_CORE_FLOW_H

#include "core/vary.h"

enum { RV_FLOW_NO_PIECE = -1, RV_FLOW_SEVERAL_PIECES = -2 };

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

/* The one piece of line whose tension a cell tells, or one of the above. */
int rv_flow_cell_piece(const struct rv_layout *layout, int cell);

/* The tension at the start of the cell's piece when the cell carries load_n >= 0.  A line does not
 * push: where the load is too small to be reached, the tension that comes nearest, at least 0. */
double rv_flow_start(const struct rv_layout *layout, const struct rv_chain *chain, int cell,
		     double load_n);

/* The tension of every leg; NaN for those the cell cannot tell. */
void rv_flow_spread(const struct rv_layout *layout, const struct rv_chain *chain, int cell,
		    double load_n, double *tension_n);

#endif
