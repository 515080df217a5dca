/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Puts labels beside the things they name: none meets another label, a symbol or another label's
 * leader, and all lie inside the room they are given.  Where a label cannot lie close, a leader
 * leads to it.
 *
 * Each label tries places around each of its targets, near ones first, and takes the cheapest: short
 * leaders, few ropes crossed.  Then each tries again with the others where they are.  One that must be
 * there and finds no place pushes others away, the cheapest first, and those look for another.
 */
#ifndef RV_CORE_LABEL_H
#define RV_CORE_LABEL_H

#include "core/svg.h"

enum { RV_LABELS = 192, RV_LABEL_BOXES = 256, RV_LABEL_LINES = 256, RV_LABEL_TARGETS = 9 };

struct rv_label_line {
	struct rv_svg_point a, b;
	double half; /* of its thickness */
};

struct rv_label {
	double w, h;
	int targets;
	struct rv_svg_point target[RV_LABEL_TARGETS]; /* places it may point at, the dearest first */
	double clear[RV_LABEL_TARGETS]; /* its edge and its leader keep so far from the target */
	bool may_go;  /* it is not missed when there is no room close by */
	bool is_placed;
	bool has_leader;
	struct rv_svg_box box;
	struct rv_label_line leader; /* from the box to the target */
	double cost; /* of lying there, in picture units */
};

struct rv_label_field {
	struct rv_svg_box room;
	int boxes, lines, labels;
	struct rv_svg_box box[RV_LABEL_BOXES];	 /* symbols: nothing may cover them */
	struct rv_label_line line[RV_LABEL_LINES]; /* ropes: better not covered */
	struct rv_label label[RV_LABELS];	   /* the most important first */
};

/* Fills in where the labels lie.  Returns the cost of the worst placed: below RV_LABEL_FAIR no leader
 * is taken for a rope and no rope is covered; INFINITY when one that must be there found no place. */
#define RV_LABEL_FAIR 150.0
double rv_label_place(struct rv_label_field *field);

/* Whether the stretch from a to b touches the box. */
bool rv_label_crosses(struct rv_label_line line, struct rv_svg_box box);

#endif
