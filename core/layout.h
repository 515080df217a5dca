/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rig with all that is made from it before any force is known.  A solver sets the pose; what
 * follows (friction, spans, plans, predictions) is the same whoever found it.
 */
#ifndef RV_CORE_LAYOUT_H
#define RV_CORE_LAYOUT_H

#include "core/component.h"

struct rv_layout {
	struct rv_rig rig; /* a copy */
	struct rv_reeving reeving;
	struct rv_pose pose;
	struct rv_component_set set;
	/* Pieces whose tensions follow from one another have the same number, that of one of them. */
	int group[RV_REEVE_PIECES];
};

/* Cuts the lines, lists the components, declares the pose (positions only).  Some 300 kB: the caller
 * allocates it.  On failure *layout is not to be used. */
enum rv_err rv_layout_make(const struct rv_rig *rig, struct rv_layout *layout,
			   struct rv_error *error);

/* The pull of the lines (and outside forces, if asked for) on all points of a load together. */
void rv_layout_pull(const struct rv_layout *layout, int load, const double *tension_n, bool outside,
		    double sum[RV_DIM]);

/* True when every load grows in proportion to the given forces: no drag, no weights. */
bool rv_layout_is_proportional(const struct rv_layout *layout);

/* A leg as people are told of it. */
void rv_layout_leg(const struct rv_layout *layout, int index, struct rv_leg *leg);

/* The load that the legs of a piece touch; -1 = none, -2 = more than one. */
int rv_layout_piece_load(const struct rv_layout *layout, int piece);

#endif
