/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig itself in a drawing: lines, symbols, arrows, hatched bights, and the labels.
 */
#ifndef RV_CORE_DRAWING_RIG_H
#define RV_CORE_DRAWING_RIG_H

#include "core/drawing_parts.h"

/* The patterns the pictures use; ids begin with "reeve-". */
void rv_drawing_rig_patterns(struct rv_text *svg);

void rv_drawing_rig_write(const struct rv_plan *plan, const struct rv_drawing *drawing,
			  struct rv_text *svg);

/* A stretch of a line as it looks.  use_ratio NaN = not rated. */
struct rv_drawing_look {
	int rope;
	double use_ratio;
	enum rv_card_use use;
};
void rv_drawing_rig_rope(struct rv_text *svg, struct rv_svg_point a, struct rv_svg_point b,
			 struct rv_drawing_look look);

#endif
