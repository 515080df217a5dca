/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands above and below the rig in a drawing: its name and view; scale, legend, how far to stay
 * clear as a small map, the weakest part, what is not rated, and the caution.
 */
#ifndef RV_CORE_DRAWING_FOOT_H
#define RV_CORE_DRAWING_FOOT_H

#include "core/drawing_parts.h"

/* Height of the head. */
double rv_drawing_foot_head(const struct rv_plan *plan);
void rv_drawing_foot_write_head(const struct rv_plan *plan, const struct rv_drawing *drawing,
				struct rv_text *svg);

/* Returns where the picture ends. */
double rv_drawing_foot_write(const struct rv_plan *plan, const struct rv_drawing *drawing,
			     struct rv_text *svg);

#endif
