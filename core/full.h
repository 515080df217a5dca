/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rigs with floating points, hanging blocks, weights hung on lines, or lines that join two loads:
 * places, tensions and speeds are solved for together.
 *
 * A solve allocates nothing.  The friction of each sheave acts against its turning, which follows
 * from the speeds, which follow from the places: solved with all sheaves still, then with the turns
 * the speeds say, until they agree.
 */
#ifndef RV_CORE_FULL_H
#define RV_CORE_FULL_H

#include "core/balance.h"
#include "core/equations.h"

/* Room to work in, some 100 kB; the caller allocates it. */
struct rv_full {
	struct rv_equations equations;
	struct rv_friction friction; /* with the turns last found */
	struct rv_tension tension;
	struct rv_linear linear; /* factored at the last pose solved */
	struct rv_pose kept;
	bool is_warm; /* friction and tension are those of a solved pose near by */
	bool is_placed; /* the pose's floating points are worth beginning from */
	bool has_speeds; /* the winches' speeds are told or follow */
	int passes_made, steps_made; /* of the last solve, for benches */
};

/* True when the direct way cannot solve it. */
bool rv_full_is_needed(const struct rv_layout *layout);

/* Prepares; looks at what can be said before solving.  RV_ERR_REFUSED, tags: winch_idle,
 * travel_missing, travel_zero, travel_blocked, split_unknown, speeds_unknown. */
enum rv_err rv_full_set(struct rv_layout *layout, const struct rv_givens *givens,
			struct rv_full *full, struct rv_error *error);

/* Places, tensions and speeds for this friction, beginning from the pose as it is.
 * RV_ERR_REFUSED, tags: line_slack, load_not_pulled, rig_loose, travel_blocked, split_unknown,
 * winch_idle, no_equilibrium, leg_zero.  On failure the pose is as before. */
enum rv_err rv_full_solve(struct rv_full *full, struct rv_layout *layout,
			  const struct rv_friction *friction, struct rv_balance *balance,
			  struct rv_error *error);

/* The same with the middle efficiencies and turns that agree with the speeds; sense: +1 hauling in,
 * -1 paying out.  Also turns_undecided.  full->friction is what it was solved with. */
enum rv_err rv_full_settle(struct rv_full *full, struct rv_layout *layout, int sense,
			   struct rv_balance *balance, struct rv_error *error);

/* How start tensions grow with the first given force, at the pose solved last: newtons per newton,
 * one entry for each piece. */
void rv_full_grow(const struct rv_full *full, const struct rv_layout *layout, double *slope);

#endif
