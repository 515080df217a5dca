/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The shape a rig comes to rest in without friction: a safe place to begin from.
 *
 * With the loads held, it has the least of (winch pulls times line still out, less outside forces
 * times place) that the lengths of the other lines allow.  That sum bends upwards everywhere, so
 * there is one shape and no wrong one to end in.  Lines of fixed length stand in as springs that
 * only pull, stiffened in steps.
 */
#ifndef RV_CORE_REST_H
#define RV_CORE_REST_H

#include "core/equations.h"

/* Moves the floating points of the layout's pose there, sets the start tensions (of winches: as
 * s->tension has them) and tells which lines of fixed length hang slack.  False: not found. */
bool rv_rest_find(const struct rv_solving *s, bool slack[RV_REEVE_PIECES]);

#endif
