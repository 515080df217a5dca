/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/solver.h"

#include <stdlib.h>
#include <string.h>

#include "core/direct.h"

enum { SETTLE_ROUNDS = 20 };

enum rv_err rv_solver_open(struct rv_layout *layout, const struct rv_givens *givens,
			   struct rv_solver *solver, struct rv_error *error)
{
	enum rv_err err;

	memset(solver, 0, sizeof *solver);
	solver->layout = layout;
	solver->givens = givens;
	if (!rv_full_is_needed(layout))
		return rv_direct_pose(layout, error);
	solver->full = calloc(1, sizeof *solver->full);
	err = solver->full ? rv_full_set(layout, givens, solver->full, error)
			   : rv_err_set(error, RV_ERR_NOMEM, "no memory to solve the rig");
	if (err != RV_OK)
		rv_solver_close(solver);
	return err;
}

void rv_solver_close(struct rv_solver *solver)
{
	free(solver->full);
	solver->full = NULL;
}

void rv_solver_give(struct rv_solver *solver, const struct rv_givens *givens)
{
	solver->givens = givens;
	if (solver->full)
		rv_equations_give(solver->layout, givens, &solver->full->equations);
}

/* Friction and balance at the present pose; a free load's travel settles with them. */
static enum rv_err settle_directly(struct rv_solver *solver, int sense, struct rv_balance *balance,
				   struct rv_error *error)
{
	struct rv_layout *layout = solver->layout;

	for (int round = 0; round < SETTLE_ROUNDS; round++) {
		double moved = 0.0;

		rv_friction_start(&layout->rig, &layout->reeving, &layout->pose, sense,
				  &solver->friction);
		enum rv_err err =
		    rv_balance_solve(layout, &solver->friction, solver->givens, balance, error);
		if (err != RV_OK)
			return err;
		for (int b = 0; b < layout->rig.loads; b++) {
			double before[RV_DIM];

			if (!layout->rig.load[b].is_free)
				continue;
			memcpy(before, layout->pose.travels[b], sizeof before);
			(void)rv_direct_follow(layout, b, balance->tension_n, true);
			moved += 1.0 - rv_pose_dot(before, layout->pose.travels[b]);
		}
		if (!(moved > 1e-15))
			break;
	}
	return RV_OK;
}

enum rv_err rv_solver_settle(struct rv_solver *solver, int sense, struct rv_balance *balance,
			     struct rv_error *error)
{
	if (!solver->full)
		return settle_directly(solver, sense, balance, error);
	enum rv_err err = rv_full_settle(solver->full, solver->layout, sense, balance, error);
	if (err == RV_OK)
		solver->friction = solver->full->friction;
	return err;
}

enum rv_err rv_solver_balance(struct rv_solver *solver, const struct rv_friction *friction,
			      struct rv_balance *balance, struct rv_error *error)
{
	if (!solver->full)
		return rv_balance_solve(solver->layout, friction, solver->givens, balance, error);
	return rv_full_solve(solver->full, solver->layout, friction, balance, error);
}

enum rv_err rv_solver_advance(struct rv_solver *solver, double step_m, struct rv_error *error)
{
	struct rv_layout *layout = solver->layout;

	if (!solver->full)
		return rv_direct_advance(layout, step_m, error);
	for (int p = 0; p < layout->rig.points; p++)
		for (int i = 0; i < RV_DIM; i++)
			layout->pose.at_m[p][i] += step_m * layout->pose.point_speed[p][i];
	return rv_pose_place(&layout->rig, &layout->reeving, &layout->pose, error);
}
