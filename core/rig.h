/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rig as declared: how the line is reeved.  Plain values, filled by core/rig_read and never
 * changed afterwards.  Units: newtons, metres, degrees.  A number that was not given is NaN, an
 * index that points at nothing is -1.  Sections and keys are those of the rig file.
 */
#ifndef RV_CORE_RIG_H
#define RV_CORE_RIG_H

#include "core/err.h"
#include "core/text.h"

enum {
	RV_DIM = 3,
	RV_RIG_POINTS = 48,
	RV_RIG_BLOCKS = 24,
	RV_RIG_LINES = 16,
	RV_RIG_STEPS = 24, /* steps in one line's path */
	RV_RIG_LOADS = 4,
	RV_RIG_WINCHES = 4,
	RV_RIG_FITTINGS = 48,
	RV_RIG_HOLDS = 8, /* things one fitting or cell holds */
	RV_RIG_CELLS = 16,
	RV_RIG_LEGS = 96, /* legs of all lines together */
};

/* A value that may be declared as a range.  A plain number has low = middle = high. */
struct rv_range {
	double low, middle, high;
};

/* What a component may carry. */
struct rv_rating {
	double wll_n;	      /* working load limit */
	double mbs_n;	      /* minimum breaking strength */
	double design_factor; /* turns an mbs into a limit where there is no wll */
	bool as_mass;	      /* wll or mbs was stamped as a mass: kg, t, lb times standard gravity */
};

enum rv_point_kind { RV_POINT_FIXED, RV_POINT_FLOATS, RV_POINT_WITH_LOAD };

struct rv_point {
	char name[RV_NAME_SIZE];
	enum rv_point_kind kind;
	int load;	       /* the load it moves with, or -1 */
	double at_m[RV_DIM];   /* z = 0 in a rig of two dimensions */
	double force_n[RV_DIM]; /* a force applied from outside; 0 when none */
	double weight_n;	/* hangs from it; 0 when none */
	double within_m;	/* placing tolerance, +- each coordinate */
	bool is_pin; /* made by core/hang, not declared */
	struct rv_rating rating;
	int line; /* place in the file, for messages */
};

enum rv_load_character { RV_LOAD_UNSAID, RV_LOAD_HUNG, RV_LOAD_STEADY, RV_LOAD_VARIES };

struct rv_load {
	char name[RV_NAME_SIZE];
	bool is_free;		   /* slides along the resultant of its lines */
	double travels[RV_DIM];	   /* direction it goes when hauled in; not normalised */
	struct rv_range resists_n; /* given, or worked out from the map form (core/resist); NaN when
				      the winch's pull is given instead */
	double mass_kg;		   /* the map form of resists; NaN when not used */
	double slope_deg;
	struct rv_range rolling_ratio; /* of weight */
	struct rv_range mire_ratio;    /* of weight */
	enum rv_load_character character;
	int line;
};

struct rv_winch {
	char name[RV_NAME_SIZE];
	int point;
	double line_pull_n; /* NaN when the load's resistance is given instead */
	double rated_n;
	bool rated_as_mass; /* stamped as a mass */
	bool is_vehicle; /* a vehicle pulling the line's end; rated_n = its drawbar limit */
	double wraps_left;
	double drum_diameter_m, drum_width_m;
	int drum_layers; /* 0 = not said */
	int line;
};

enum { RV_TAKES_WIRE = 1, RV_TAKES_SYNTHETIC = 2, RV_TAKES_CHAIN = 4 }; /* bits of .takes */

enum rv_said { RV_UNSAID, RV_SAID_NO, RV_SAID_YES };

struct rv_block {
	char name[RV_NAME_SIZE];
	int point;
	int sheaves;
	struct rv_range efficiency; /* tension out / tension in at 180 degree wrap; NaN where only
				       drag, pin drag or bar friction are declared: no such loss */
	double drag_n;		    /* c0: part of the loss that does not depend on load */
	double pin_drag_ratio;	    /* c1 */
	double bearing_share;	    /* b: share of the loss that follows the pin load */
	double bar_friction;	    /* mu: a fixed bar, not a sheave, when given */
	double turns;		    /* full turns round the bar besides the wrap */
	double wrap_deg;	    /* wrap given outright */
	double diameter_m;
	double hangs_m; /* on a strop of that length from its point */
	unsigned takes; /* 0 = not said */
	double groove_low_mm, groove_high_mm;
	enum rv_said opens;
	struct rv_rating rating;
	double becket_wll_n;
	bool becket_as_mass; /* stamped as a mass */
	int line;
};

enum rv_step_kind { RV_STEP_POINT, RV_STEP_BLOCK, RV_STEP_WINCH, RV_STEP_TAIL };

/* One word of a line's path.  In the middle a block is run over and a point is made fast (rope
 * grab); at an end a block means its becket and a point means made fast. */
struct rv_step {
	enum rv_step_kind kind;
	int index; /* of the point, block or winch; -1 for a tail */
	int sheave; /* which sheave of the block this pass uses, from 0; -1 when not run over */
};

enum rv_material { RV_MATERIAL_UNSAID, RV_WIRE, RV_SYNTHETIC, RV_CHAIN };
enum rv_terminal { RV_TERMINAL_UNSAID, RV_HOOK, RV_EYE, RV_SOFT_EYE };

struct rv_rope {
	char name[RV_NAME_SIZE];
	int steps;
	struct rv_step path[RV_RIG_STEPS];
	double length_m;
	double diameter_m;
	double stiffness_n; /* EA: force for 100 % stretch */
	enum rv_material material;
	enum rv_terminal terminal;
	struct rv_rating rating;
	bool is_pendant; /* made by core/hang, not declared */
	int line;
};

enum rv_held_kind { RV_HELD_POINT, RV_HELD_BLOCK, RV_HELD_FITTING, RV_HELD_LINE_END };

struct rv_held {
	enum rv_held_kind kind;
	int index;
};

struct rv_fitting {
	char name[RV_NAME_SIZE];
	char kind[RV_NAME_SIZE]; /* shackle, strop, ring, ... */
	int count;
	struct rv_held holds[RV_RIG_HOLDS];
	int legs;		   /* 1 or 2 */
	double included_angle_deg; /* between the two legs */
	struct rv_rating rating;
	int line;
};

/* Where a load cell sits: in a leg of a line, or between a thing and what holds it. */
struct rv_cell {
	char name[RV_NAME_SIZE];
	bool in_leg;
	int rope;		/* in_leg: index of the line */
	int leg;	/* in_leg; from 1, counted from the winch */
	struct rv_held holds; /* otherwise */
	int line;
};

struct rv_rig {
	char name[2 * RV_NAME_SIZE];
	bool haul_out; /* haul: out */
	int dimensions; /* 2 or 3; "up" is y in two, z in three */
	int points, loads, winches, blocks, ropes, fittings, cells; /* entries used */
	struct rv_point point[RV_RIG_POINTS];
	struct rv_load load[RV_RIG_LOADS];
	struct rv_winch winch[RV_RIG_WINCHES];
	struct rv_block block[RV_RIG_BLOCKS];
	struct rv_rope rope[RV_RIG_LINES];
	struct rv_fitting fitting[RV_RIG_FITTINGS];
	struct rv_cell cell[RV_RIG_CELLS];
	double drive[RV_RIG_WINCHES]; /* relative winch speeds; NaN when not given */
};

/* The limit a rating gives: wll_n, or mbs_n / design_factor; NaN = not rated. */
double rv_rig_limit_n(struct rv_rating rating);

/* Index of the cell with that name, or -1. */
int rv_rig_find_cell(const struct rv_rig *rig, const char *name);
int rv_rig_find_winch(const struct rv_rig *rig, const char *name);
int rv_rig_find_load(const struct rv_rig *rig, const char *name);
int rv_rig_find_point(const struct rv_rig *rig, const char *name);
int rv_rig_find_block(const struct rv_rig *rig, const char *name);
int rv_rig_find_fitting(const struct rv_rig *rig, const char *name);
int rv_rig_find_rope(const struct rv_rig *rig, const char *name);

/* Legs of a line: one less than the steps of its path, a loose tail not counted. */
int rv_rig_legs(const struct rv_rope *rope);

/* The point a step of a path stands at, or -1 for a tail. */
int rv_rig_step_point(const struct rv_rig *rig, const struct rv_step *step);

#endif
