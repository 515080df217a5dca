/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The result of a plan (core/plan).  Newtons, metres, ratios.  NaN = has no meaning here or is not
 * known.
 */
#ifndef RV_CORE_PLAN_RESULT_H
#define RV_CORE_PLAN_RESULT_H

#include "core/predict.h"
#include "core/travel.h"

enum { RV_PLAN_NOTES = 96 };

/* Uses nearer to one another than this are equal: the same load, added up in another order. */
#define RV_PLAN_SAME_RATIO 1e-12

/* A load that is pushed aside by more than this share of what it resists is worth a note.  Own
 * choice (common practice, no source). */
#define RV_PLAN_SIDE_RATIO 0.1

/* Line on the drum of a winch; core/plan_drum. */
struct rv_plan_drum {
	double on_drum_m; /* now; NaN without the line's length */
	double left_m;	  /* beyond what the rig needs and what must stay on the drum; below zero =
			     too short */
	int layer;	  /* the uppermost, from 1; 0 = not known */
	double rated_n;	  /* what the winch pulls on that layer; NaN = not known */
};

struct rv_plan_winch {
	struct rv_span line_pull;
	struct rv_plan_drum drum;
	double velocity_ratio;
	double at_low_n, at_high_n; /* line pull at the ends of the load's range; NaN = no range */
};

struct rv_plan_load {
	double resists_n, side_n;
	double low_n, high_n; /* the range it was given; NaN = no range */
};

struct rv_plan_sheave {
	int block, sheave, rope; /* sheave from 1 */
	double wrap_deg;	 /* of a bar: full turns included */
	double pin_n;
	double rope_speed_ratio; /* towards the winch / speed of the load */
	double loss_ratio;
};

enum rv_clear_rule { RV_CLEAR_TWICE_OUT, RV_CLEAR_APART };

/* How far to stay away; core/clear. */
struct rv_plan_clear {
	double keep_m;
	enum rv_clear_rule rule; /* the one that says it */
	double twice_out_m, apart_m, longest_m; /* what each rule says */
};

/* What the additive rule of thumb would say of a vehicle's line pull; core/resist. */
struct rv_plan_additive {
	double line_pull_n; /* NaN: nothing here is reckoned from mass and slope */
	int sheaves;
};

/* What a tolerance of placing does to a load, either way; core/placing. */
struct rv_plan_placed {
	double worst_n, sd_n;
};

struct rv_plan_note {
	char code[32];
	char text[300];
};

struct rv_plan {
	struct rv_rig rig; /* a copy: names, ratings */
	struct rv_givens givens;
	double at_m[RV_RIG_POINTS][RV_DIM];	  /* where the points are, as solved */
	double block_at_m[RV_RIG_BLOCKS][RV_DIM]; /* where the blocks are: at the end of their strop
						   * when they hang on one */
	double goes[RV_RIG_LOADS][RV_DIM];	  /* unit vector each load goes, hauling in */
	double velocity_ratio;
	struct {
		double theoretical_ratio, expected_ratio, low_ratio, high_ratio;
	} advantage; /* NaN unless there is exactly one winch and one load */
	struct rv_plan_winch winch[RV_RIG_WINCHES];
	struct rv_plan_load load[RV_RIG_LOADS];
	int legs;
	struct rv_leg leg[RV_RIG_LEGS];
	struct rv_span tension[RV_RIG_LEGS];
	int sheaves;
	struct rv_plan_sheave sheave[RV_RIG_LEGS];
	int components;
	struct rv_component component[RV_COMPONENTS];
	struct rv_span carried[RV_COMPONENTS];
	double use_ratio[RV_COMPONENTS], use_worst_ratio[RV_COMPONENTS];
	int weakest, weakest_worst; /* component, or -1: none is rated */
	double line_pull_limit_n;   /* brings the weakest to its limit; NaN as advantage */
	struct rv_span cell[RV_RIG_CELLS];
	double line_needed_m[RV_RIG_LINES]; /* with what must stay on the drum */
	double line_out_m[RV_RIG_LINES];    /* between its ends, with what lies on sheaves */
	struct rv_plan_clear clear;
	struct rv_plan_additive additive;
	struct {
		bool is_known; /* some point has a tolerance */
		int left_out;  /* coordinates at which the rig would not hold */
		struct rv_plan_placed component[RV_COMPONENTS];
		struct rv_plan_placed line_pull[RV_RIG_WINCHES];
	} placing;
	bool has_travel;
	struct rv_travel travel;
	int notes;
	struct rv_plan_note note[RV_PLAN_NOTES];
};

#endif
