/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Components and cells as sums of line tensions and outside forces: the list itself.  core/component
 * fills it, core/force adds it up.
 */
#ifndef RV_CORE_PARTS_H
#define RV_CORE_PARTS_H

#include "core/pose.h"

enum { RV_COMPONENTS = 256, RV_COMPONENT_PARTS = 768, RV_COMPONENT_TERMS = 4096 };

/* One entry for everything that carries load, in the order points, joints, winches, lines, blocks,
 * beckets, grabs, fittings, each in file order. */
struct rv_component {
	char name[2 * RV_NAME_SIZE + 8];
	char kind[RV_NAME_SIZE]; /* point, joint, winch, line, block, becket, grab, pendant, shackle, strop, ... */
	double limit_n;		 /* NaN = not rated */
};

/* sign * tension of a leg, or the outside force at a point. */
struct rv_component_term {
	int leg;   /* or -1 */
	int point; /* or -1 */
	double sign;
};

/* A sum of terms: of vectors, or of plain tensions. */
struct rv_component_part {
	int first, terms;
	bool plain;
};

struct rv_component_set {
	int components, parts, terms;
	struct rv_component component[RV_COMPONENTS];
	double scale[RV_COMPONENTS]; /* load = scale * largest part */
	int first_part[RV_COMPONENTS], part_count[RV_COMPONENTS];
	struct rv_component_part part[RV_COMPONENT_PARTS];
	struct rv_component_term term[RV_COMPONENT_TERMS];
	int cell_part[RV_RIG_CELLS];
	double outside_n[RV_RIG_POINTS][RV_DIM]; /* applied force and weight */
};

#endif
