/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the parts of a plan lie in a picture to scale: the solved positions projected and scaled,
 * and what positions alone would draw on top of one another moved apart by a few units: legs that
 * run side by side get lanes, blocks at one place stand beside one another.
 *
 * Picture units, x to the right, y down.
 */
#ifndef RV_CORE_SCENE_PARTS_H
#define RV_CORE_SCENE_PARTS_H

#include "core/plan_result.h"
#include "core/reeve.h"
#include "core/svg.h"

enum rv_scene_view {
	RV_SCENE_DECLARED, /* two dimensions, x to the right, y up the picture */
	RV_SCENE_SIDE_2D,  /* two dimensions and something hangs: y is height */
	RV_SCENE_ABOVE,	   /* three dimensions from above */
	RV_SCENE_FRONT,	   /* three dimensions, x to the right, z up */
	RV_SCENE_END,	   /* three dimensions, y to the right, z up */
};

struct rv_scene_leg {
	struct rv_svg_point a, b; /* a is nearer the start of the line */
	int lane, lanes;
	double shift; /* across the leg, for its lane */
};

struct rv_scene_block {
	struct rv_svg_point at;
	double radius;
	bool is_used;
};

struct rv_scene_mark {
	struct rv_svg_point at; /* of what holds: an anchor, a knot, a load's lug */
	struct rv_svg_point toward; /* unit vector to where its lines pull */
	int ends, winches, blocks; /* lines made fast there (winches counted), blocks held */
	bool is_used;
};

struct rv_scene {
	enum rv_scene_view view;
	struct rv_svg_box field; /* where the rig is drawn, labels around it included */
	double per_m;		 /* picture units in a metre */
	struct rv_svg_point origin; /* where 0, 0 lies in the picture */
	struct rv_reeving reeving;
	struct rv_svg_point point[RV_RIG_POINTS]; /* to scale */
	struct rv_svg_point hung[RV_RIG_BLOCKS];  /* blocks, to scale */
	struct rv_scene_leg leg[RV_RIG_LEGS];
	struct rv_scene_block block[RV_RIG_BLOCKS];
	struct rv_scene_mark mark[RV_RIG_POINTS];
	bool has_bight[RV_RIG_LEGS]; /* of each pass: its legs form an angle, and inside it nobody
				      * may be */
	struct rv_svg_box load[RV_RIG_LOADS]; /* around its points; w = 0 when it has none */
	struct rv_svg_point goes[RV_RIG_LOADS]; /* unit vector in the picture, as hauled now; 0, 0 when
						 * it goes out of the picture's plane */
};

#endif
