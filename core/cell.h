/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a load cell feels: which line's tension it tells, and what that tension is for a reading.
 */
#ifndef RV_CORE_CELL_H
#define RV_CORE_CELL_H

#include "core/friction.h"
#include "core/layout.h"

enum { RV_CELL_NO_PIECE = -1, RV_CELL_SEVERAL_PIECES = -2 };

/* The group of pieces of line (layout->group) whose tensions a cell tells, or one of the above. */
int rv_cell_piece(const struct rv_layout *layout, int cell);

/* The tension that the chain counts from when the cell carries load_n >= 0.  A line does not
 * push: where the load is too small to be reached, the tension that comes nearest, at least 0. */
double rv_cell_start(const struct rv_layout *layout, const struct rv_pose *pose,
		     const struct rv_chain *chain, int cell, double load_n);

#endif
