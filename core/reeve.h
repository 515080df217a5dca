/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rig cut into what the statics need: legs between the points the line touches, passes over
 * blocks, and pieces, the stretches of line between ends and grabs in which the line runs.
 *
 * A line with a winch is counted from the winch, whichever end of the path names it; a line
 * without one in path order.  A loose tail carries nothing and is dropped.  Counting of legs goes
 * on through a grab.
 */
#ifndef RV_CORE_REEVE_H
#define RV_CORE_REEVE_H

#include "core/rig.h"

enum { RV_REEVE_PIECES = 24 };

/* A leg as people are told of it. */
struct rv_leg {
	int rope; /* index of the line */
	int leg;  /* from 1, counted from the winch */
	char from[RV_NAME_SIZE], to[RV_NAME_SIZE]; /* the path's own words */
	double length_m;
};

struct rv_reeve_leg {
	int rope, leg; /* as above */
	int piece;
	int a, b; /* points: a is nearer the start of the piece */
	struct rv_step from, to;
};

/* Over a block: from leg `before` to leg `before + 1`. */
struct rv_reeve_pass {
	int block;
	int sheave; /* of the block, from 0 */
	int piece;
	int before;
};

/* Pass number i of a piece lies between its legs i and i + 1. */
struct rv_reeve_piece {
	int rope;
	int winch; /* it starts at, or -1 */
	int first_leg, legs;
	int first_pass, passes;
	bool starts_at_grab, ends_at_grab;
};

struct rv_reeving {
	int legs, passes, pieces;
	struct rv_reeve_leg leg[RV_RIG_LEGS];
	struct rv_reeve_pass pass[RV_RIG_LEGS];
	struct rv_reeve_piece piece[RV_REEVE_PIECES];
};

/* RV_ERR_REFUSED, tags: path_short, tail_inside, winch_inside, winch_both, winch_twice,
 * winch_unused, sheaves_spent, block_unused, load_untied.  RV_ERR_RANGE: too many legs. */
enum rv_err rv_reeve_cut(const struct rv_rig *rig, struct rv_reeving *reeving,
			 struct rv_error *error);

/* The name a step has in the path; "tail" for a loose end. */
const char *rv_reeve_name(const struct rv_rig *rig, struct rv_step step);

/* The leg with that number of that line, or -1. */
int rv_reeve_find_leg(const struct rv_reeving *reeving, int rope, int leg);

/* The leg at the dead end of a line (the end that is not the winch's, else the last of the path), or
 * -1 when that end is a loose tail. */
int rv_reeve_end_leg(const struct rv_rig *rig, const struct rv_reeving *reeving, int rope);

/* The piece a winch pulls; -1 = none. */
int rv_reeve_winch_piece(const struct rv_reeving *reeving, int winch);

#endif
