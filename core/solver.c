/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/solver.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/direct.h"
#include "core/reach.h"

enum { SETTLE_ROUNDS = 20 };

static void set_groups(struct rv_layout *layout)
{
	struct rv_reach reach;

	if (layout->rig.winches != 1 || layout->rig.loads != 1)
		return;
	rv_reach_find(layout, &reach);
	int first = rv_reeve_winch_piece(&layout->reeving, 0);
	for (int i = 0; i < layout->reeving.pieces; i++)
		if (reach.of_piece[i] == reach.of_piece[first])
			layout->group[i] = first;
}

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
	if (err == RV_OK)
		set_groups(layout);
	else
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

void rv_solver_forget(struct rv_solver *solver)
{
	if (solver->full)
		solver->full->is_warm = false;
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

/* Start tensions as slope times that of the group's first piece, plus a constant. */
static void start_tensions(const struct rv_solver *solver, const struct rv_balance *balance,
			   double *slope, double *constant_n)
{
	const struct rv_layout *layout = solver->layout;
	int first = rv_reeve_winch_piece(&layout->reeving, 0);

	for (int i = 0; i < layout->reeving.pieces; i++) {
		slope[i] = 1.0;
		constant_n[i] = 0.0;
	}
	if (!solver->full || layout->rig.winches != 1 || layout->rig.loads != 1)
		return;
	rv_full_grow(solver->full, layout, slope);
	double at_first = slope[first];
	for (int i = 0; i < layout->reeving.pieces; i++) {
		slope[i] = layout->group[i] == first ? slope[i] / at_first : 1.0;
		constant_n[i] = layout->group[i] == first
				    ? balance->start_n[i] - slope[i] * balance->start_n[first]
				    : 0.0;
	}
}

/* Neither lost altogether on the way nor beyond any number. */
static bool is_told(const struct rv_layout *layout, const struct rv_chain *chain)
{
	for (int l = 0; l < layout->reeving.legs; l++)
		if (!(fabs(chain->slope[l]) < RV_SOLVER_MOST_RATIO) ||
		    !(fabs(chain->constant_n[l]) < RV_BALANCE_MOST_N))
			return false;
	return true;
}

bool rv_solver_chain(struct rv_solver *solver, const struct rv_friction *friction,
		     struct rv_chain *chain, struct rv_pose *pose)
{
	struct rv_layout *layout = solver->layout;
	double slope[RV_REEVE_PIECES], constant_n[RV_REEVE_PIECES];
	struct rv_balance balance;

	if (!solver->full) {
		rv_friction_chain(&layout->rig, &layout->reeving, &layout->pose, friction, chain);
		*pose = layout->pose;
		for (int l = 0; l < layout->reeving.legs; l++)
			if (!(chain->slope[l] > 1.0 / RV_SOLVER_MOST_RATIO))
				return false;
		return is_told(layout, chain);
	}
	struct rv_pose kept = layout->pose;
	if (rv_full_solve(solver->full, layout, friction, &balance, NULL) != RV_OK)
		return false;
	start_tensions(solver, &balance, slope, constant_n);
	*chain = balance.chain;
	for (int l = 0; l < layout->reeving.legs; l++) {
		int piece = layout->reeving.leg[l].piece;

		chain->constant_n[l] += chain->slope[l] * constant_n[piece];
		chain->slope[l] *= slope[piece];
		if (balance.slack[piece])
			chain->slope[l] = chain->constant_n[l] = 0.0;
	}
	*pose = layout->pose;
	layout->pose = kept;
	return is_told(layout, chain);
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

bool rv_solver_joins_bodies(const struct rv_layout *layout, int leg)
{
	const struct rv_reeve_leg *l = &layout->reeving.leg[leg];
	const struct rv_reeve_piece *piece = &layout->reeving.piece[l->piece];
	const struct rv_point *a = &layout->rig.point[l->a], *b = &layout->rig.point[l->b];

	if (piece->winch < 0 && piece->legs == 1)
		return false;
	return a->load != b->load || a->kind == RV_POINT_FLOATS || b->kind == RV_POINT_FLOATS;
}

double rv_solver_stride_m(const struct rv_solver *solver)
{
	const struct rv_layout *layout = solver->layout;
	const struct rv_pose *pose = &layout->pose;
	double stride_m = INFINITY;

	for (int l = 0; l < layout->reeving.legs; l++) {
		const double *a = pose->point_speed[layout->reeving.leg[l].a];
		const double *b = pose->point_speed[layout->reeving.leg[l].b];
		double apart[RV_DIM] = {b[0] - a[0], b[1] - a[1], b[2] - a[2]};
		double speed = rv_pose_size(apart);

		if (rv_solver_joins_bodies(layout, l) && speed > 0.0)
			stride_m = fmin(stride_m, 0.5 * pose->length_m[l] / speed);
	}
	return stride_m;
}
