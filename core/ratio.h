/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What two cells of one piece of line say of one another, whatever the load: the ratio of their
 * loads without the drag and weights that do not grow with it.
 */
#ifndef RV_CORE_RATIO_H
#define RV_CORE_RATIO_H

#include "core/friction.h"
#include "core/layout.h"

/* ln(far / near); NaN when they are not loaded by one and the same piece of line. */
double rv_ratio_log(const struct rv_layout *layout, const struct rv_friction *friction, int near,
		    int far);

/* The blocks (bit b for block b) whose turning changes the ratio; fixed bars are no blocks here. */
unsigned rv_ratio_shared(const struct rv_layout *layout, const struct rv_friction *friction,
			 int near, int far);

#endif
