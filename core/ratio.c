/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/ratio.h"

#include <math.h>

#include "core/cell.h"
#include "core/force.h"

/* The pull of the lines on the load for one newton, along its way. */
static double load_pull(const struct rv_layout *layout, const struct rv_pose *pose,
			const double *slope)
{
	const struct rv_rig *rig = &layout->rig;
	double sum[RV_DIM] = {0};

	for (int l = 0; l < layout->reeving.legs; l++) {
		const struct rv_reeve_leg *leg = &layout->reeving.leg[l];
		double toward = (rig->point[leg->a].load == 0 ? slope[l] : 0.0) -
				(rig->point[leg->b].load == 0 ? slope[l] : 0.0);

		for (int i = 0; i < RV_DIM; i++)
			sum[i] += toward * pose->direction[l][i];
	}
	if (rig->load[0].is_free)
		return rv_pose_size(sum);
	return fabs(rv_pose_dot(sum, rig->load[0].travels)) / rv_pose_size(rig->load[0].travels);
}

/* True when one and the same group of pieces loads both. */
static bool are_of_one_line(const struct rv_layout *layout, int near, int far)
{
	int piece = rv_cell_piece(layout, near);

	if (piece < 0)
		return false;
	if (far != RV_RATIO_LOAD)
		return piece == rv_cell_piece(layout, far);
	for (int l = 0; l < layout->reeving.legs; l++) {
		const struct rv_reeve_leg *leg = &layout->reeving.leg[l];
		bool touches =
		    layout->rig.point[leg->a].load == 0 || layout->rig.point[leg->b].load == 0;
		if (touches && layout->group[leg->piece] != piece)
			return false;
	}
	return layout->rig.loads == 1;
}

double rv_ratio_log(struct rv_solver *solver, const struct rv_friction *friction, int near, int far)
{
	const struct rv_layout *layout = solver->layout;
	struct rv_chain chain;
	struct rv_pose pose;
	double a[RV_DIM], b[RV_DIM];

	if (!are_of_one_line(layout, near, far))
		return (double)NAN;
	if (!rv_solver_chain(solver, friction, &chain, &pose))
		return (double)NAN;
	rv_force_sum(&layout->set, &pose, layout->set.cell_part[near], chain.slope, false, a);
	if (far == RV_RATIO_LOAD)
		return log(load_pull(layout, &pose, chain.slope) / rv_pose_size(a));
	rv_force_sum(&layout->set, &pose, layout->set.cell_part[far], chain.slope, false, b);
	return log(rv_pose_size(b) / rv_pose_size(a));
}

unsigned rv_ratio_shared(struct rv_solver *solver, const struct rv_friction *friction, int near,
			 int far)
{
	const struct rv_rig *rig = &solver->layout->rig;
	unsigned shared = 0;

	for (int b = 0; b < rig->blocks; b++) {
		struct rv_friction tried = *friction;

		if (!isnan(rig->block[b].bar_friction))
			continue;
		tried.efficiency_ratio[b] = 0.95;
		double one = rv_ratio_log(solver, &tried, near, far);
		tried.efficiency_ratio[b] = 0.90;
		if (fabs(rv_ratio_log(solver, &tried, near, far) - one) >
		    (solver->full ? 1e-9 : 1e-12))
			shared |= 1U << b;
	}
	return shared;
}
