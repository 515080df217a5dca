/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A drawing laid out: what core/drawing makes and its writers write.
 */
#ifndef RV_CORE_DRAWING_PARTS_H
#define RV_CORE_DRAWING_PARTS_H

#include "core/card.h"

enum { RV_DRAWING_WIDTH = 1080, RV_DRAWING_EDGE = 20 };

struct rv_drawing {
	struct rv_scene scene;
	struct rv_cards cards;
	struct rv_label_field field; /* label i lies where card i goes */
	struct rv_svg_box arrow[RV_RIG_LOADS];	  /* around each load's travel arrow; w = 0 = none */
	struct rv_svg_point arrow_at[RV_RIG_LOADS]; /* its middle */
	double height;				  /* set by rv_drawing_write */
	double worst; /* what rv_label_place says: INFINITY when a label found no place and is told
		       * below the picture */
};

#endif
