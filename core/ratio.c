/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/ratio.h"

#include <math.h>

#include "core/cell.h"
#include "core/force.h"

double rv_ratio_log(struct rv_solver *solver, const struct rv_friction *friction, int near, int far)
{
	const struct rv_layout *layout = solver->layout;
	int piece = rv_cell_piece(layout, near);
	struct rv_chain chain;
	struct rv_pose pose;
	double a[RV_DIM], b[RV_DIM];

	if (piece < 0 || piece != rv_cell_piece(layout, far))
		return (double)NAN;
	if (!rv_solver_chain(solver, friction, &chain, &pose))
		return (double)NAN;
	rv_force_sum(&layout->set, &pose, layout->set.cell_part[near], chain.slope, false, a);
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
