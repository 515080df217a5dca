/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All tensions of a piece of line from one cell that it loads, for one motion: at the nominal
 * friction, and at every corner of the declared efficiencies at which something is at its largest or
 * smallest.  Made once for a rig; using it allocates nothing.
 */
#ifndef RV_CORE_FLOW_H
#define RV_CORE_FLOW_H

#include "core/solver.h"
#include "core/vary.h"

/* How tensions follow from one another, and the pose in which they do. */
struct rv_flow_state {
	struct rv_chain chain; /* as rv_solver_chain has it */
	struct rv_pose pose;
};

struct rv_flow {
	int sense;
	struct rv_vary vary;
	struct rv_flow_state nominal;
	int corners;
	uint64_t *mask;		      /* owned: which corners */
	struct rv_flow_state *corner; /* owned */
	struct rv_flow_state *next;   /* owned: where they are renewed */
};

/* sense: +1 hauling in, -1 paying out, 0 either.  The pose must be solved.  Allocates.  Corners at
 * which nothing can be solved are left out when extremes are first sought, as a plan does, which says
 * so (slack_possible).  RV_ERR_REFUSED, tag no_equilibrium; rv_flow_free whatever came. */
enum rv_err rv_flow_make(struct rv_solver *solver, int sense, struct rv_flow *flow,
			 struct rv_error *error);
void rv_flow_free(struct rv_flow *flow);

/* The same at another pose; allocates nothing.  On failure the flow is as before.  RV_ERR_REFUSED,
 * tag no_equilibrium: also when one corner cannot be solved, lest the ranges get narrower unsaid. */
enum rv_err rv_flow_renew(struct rv_solver *solver, struct rv_flow *flow, struct rv_error *error);

/* The tension of every leg; NaN for those the cell cannot tell. */
void rv_flow_spread(const struct rv_layout *layout, const struct rv_flow_state *state, int cell,
		    double load_n, double *tension_n);

#endif
