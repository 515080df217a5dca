/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/placing.h"

#include <math.h>
#include <string.h>

#include "core/force.h"
#include "core/plan_note.h"

/* Small beside any rig, large beside rounding. */
#define STEP_M 1e-4

struct loads {
	double component_n[RV_COMPONENTS];
	double pull_n[RV_RIG_WINCHES];
};

static void measure_again(struct rv_solver *solver)
{
	if (solver->full)
		rv_equations_measure(solver->layout, &solver->full->equations);
}

/* Loads with a point moved by so much; the pose and the rig are put back. */
static bool loads_at(struct rv_solver *solver, int point, int axis, double moved_m,
		     struct loads *loads)
{
	struct rv_layout *layout = solver->layout;
	struct rv_pose kept = layout->pose;
	double declared_m = layout->rig.point[point].at_m[axis];
	struct rv_friction friction = solver->friction;
	struct rv_balance balance;

	layout->rig.point[point].at_m[axis] += moved_m;
	layout->pose.at_m[point][axis] += moved_m;
	measure_again(solver);
	bool is_solved =
	    rv_pose_place(&layout->rig, &layout->reeving, &layout->pose, NULL) == RV_OK &&
	    rv_solver_balance(solver, &friction, &balance, NULL) == RV_OK;
	for (int i = 0; i < layout->set.components && is_solved; i++)
		loads->component_n[i] =
		    rv_force_on(&layout->set, &layout->pose, i, balance.tension_n);
	for (int w = 0; w < layout->rig.winches && is_solved; w++)
		loads->pull_n[w] = balance.start_n[rv_reeve_winch_piece(&layout->reeving, w)];
	layout->rig.point[point].at_m[axis] = declared_m;
	layout->pose = kept;
	measure_again(solver);
	return is_solved;
}

static void add(double slope, double within_m, struct rv_plan_placed *placed)
{
	double most_n = fabs(slope) * within_m;

	placed->worst_n += most_n;
	placed->sd_n = hypot(placed->sd_n, most_n / sqrt(3.0));
}

static void add_axis(struct rv_solver *solver, int point, int axis, struct rv_plan *plan)
{
	double within_m = solver->layout->rig.point[point].within_m;
	struct loads less = {0}, more = {0};

	if (!loads_at(solver, point, axis, -STEP_M, &less) ||
	    !loads_at(solver, point, axis, STEP_M, &more)) {
		plan->placing.left_out++;
		return;
	}
	for (int i = 0; i < plan->components; i++)
		add((more.component_n[i] - less.component_n[i]) / (2.0 * STEP_M), within_m,
		    &plan->placing.component[i]);
	for (int w = 0; w < plan->rig.winches; w++)
		add((more.pull_n[w] - less.pull_n[w]) / (2.0 * STEP_M), within_m,
		    &plan->placing.line_pull[w]);
}

/* The part that placing brings nearest to its limit, beside what it carries anyway; without
 * ratings, the one whose load changes most. */
static int touchiest(const struct rv_plan *plan)
{
	int found = -1;
	double most = 0.0;

	for (int i = 0; i < plan->components; i++) {
		double share = plan->placing.component[i].worst_n / plan->component[i].limit_n;

		if (share > most) {
			most = share;
			found = i;
		}
	}
	for (int i = 0; i < plan->components && found < 0; i++)
		if (plan->placing.component[i].worst_n > most) {
			most = plan->placing.component[i].worst_n;
			found = i;
		}
	return found;
}

void rv_placing_set(struct rv_solver *solver, struct rv_plan *plan)
{
	const struct rv_rig *rig = &solver->layout->rig;

	memset(&plan->placing, 0, sizeof plan->placing);
	for (int p = 0; p < rig->points; p++) {
		if (!(rig->point[p].within_m > 0.0) || rig->point[p].kind == RV_POINT_FLOATS)
			continue;
		plan->placing.is_known = true;
		for (int axis = 0; axis < rig->dimensions; axis++)
			add_axis(solver, p, axis, plan);
	}
	int part = plan->placing.is_known ? touchiest(plan) : -1;
	if (part < 0)
		return;
	double of = plan->carried[part].nominal_n;
	rv_plan_note_add(plan, "placing",
			 "Points placed anywhere within their tolerances change the load of %s by "
			 "up to %.1f %% either way; of all parts that brings it nearest to its "
			 "limit.",
			 plan->component[part].name,
			 100.0 * plan->placing.component[part].worst_n / of);
}
