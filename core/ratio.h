/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What two cells of one piece of line, or of lines that hang together, say of one another, whatever the load: the ratio of their
 * loads without the drag and weights that do not grow with it.
 */
#ifndef RV_CORE_RATIO_H
#define RV_CORE_RATIO_H

#include "core/solver.h"

/* In the place of the far cell: the rig's only load, what pulls it along its way. */
enum { RV_RATIO_LOAD = -1 };

/* ln(far / near); NaN when they are not loaded by one and the same group of pieces. */
double rv_ratio_log(struct rv_solver *solver, const struct rv_friction *friction, int near,
		    int far);

/* The blocks (bit b for block b) whose turning changes the ratio; fixed bars are no blocks here. */
unsigned rv_ratio_shared(struct rv_solver *solver, const struct rv_friction *friction, int near,
			 int far);

#endif
