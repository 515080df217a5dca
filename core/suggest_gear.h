/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Gear at hand put in the place of a pattern's gear.
 *
 * The part that carries most is served first and takes the best rated piece that suits: a block with
 * enough sheaves (no more than needed, if there is a choice), a fitting of the same kind, a fixed
 * point for a fixed point, a point of the load for one of the load, a line for a line.  A piece takes
 * its name along, unless the pattern uses that name elsewhere.
 */
#ifndef RV_CORE_SUGGEST_GEAR_H
#define RV_CORE_SUGGEST_GEAR_H

#include "core/plan_result.h"

enum { RV_SUGGEST_PIECES = 128 };

enum rv_suggest_class {
	RV_SUGGEST_BLOCK,
	RV_SUGGEST_LINE,
	RV_SUGGEST_ANCHOR,
	RV_SUGGEST_LOAD_POINT,
	RV_SUGGEST_FITTING,
};

/* A piece of gear that a rig takes. */
struct rv_suggest_piece {
	enum rv_suggest_class class;
	int index; /* in the rig, by class */
	char hand[RV_NAME_SIZE]; /* what is at hand for it; "" = has to be found */
	int sheaves;		 /* that run; 0 for all but blocks */
	double carries_n;	 /* at the most; NaN until rv_suggest_gear_loads */
};

struct rv_suggest_gear {
	int pieces;
	struct rv_suggest_piece piece[RV_SUGGEST_PIECES];
	int blocks;
	int missing; /* blocks, lines and anchors to be found; fittings and the load's own eyes are
			small matters */
};

/* Serves rig (a copy of the pattern) from hand.  loads is a plan of the pattern, to tell which part
 * carries most. */
void rv_suggest_gear_serve(struct rv_rig *rig, const struct rv_rig *hand,
			 const struct rv_plan *loads, struct rv_suggest_gear *gear);

/* What each piece carries, from the plan of the rig served. */
void rv_suggest_gear_loads(const struct rv_plan *plan, struct rv_suggest_gear *gear);

/* The name a piece has in the rig, and what it is: block, line, point or a fitting's kind. */
const char *rv_suggest_gear_name(const struct rv_rig *rig, const struct rv_suggest_piece *piece);
const char *rv_suggest_gear_kind(const struct rv_rig *rig, const struct rv_suggest_piece *piece);

#endif
