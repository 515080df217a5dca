/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a line diagram says where a line meets something: its name, how it stands, and what is there
 * with what it carries.
 */
#ifndef RV_CORE_SCHEMATIC_ITEM_H
#define RV_CORE_SCHEMATIC_ITEM_H

#include "core/card.h"

enum { RV_SCHEMATIC_LINES = 16, RV_SCHEMATIC_BYTES = 200, RV_SCHEMATIC_LETTER = 14 };

/* Words are broken to this width, in picture units. */
#define RV_SCHEMATIC_SIDE 290.0

struct rv_schematic_item {
	struct rv_step step;
	bool is_grab; /* the line is made fast there and goes on */
	int lines;
	char line[RV_SCHEMATIC_LINES][RV_SCHEMATIC_BYTES];
	bool bold[RV_SCHEMATIC_LINES];
};

/* Where the telling is: every part is told once. */
struct rv_schematic_telling {
	const struct rv_plan *plan;
	const struct rv_reeving *reeving;
	struct rv_cards cards; /* only for its unit */
	bool told[RV_COMPONENTS];
};

/* is_end: the line ends at that step, or begins there. */
void rv_schematic_item_make(struct rv_schematic_telling *telling, struct rv_step step, bool is_end,
			    struct rv_schematic_item *item);

#endif
