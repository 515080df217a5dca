/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/ratio.h"

#include <math.h>

#include "core/cell.h"
#include "core/force.h"

double rv_ratio_log(const struct rv_layout *layout, const struct rv_friction *friction, int near,
		    int far)
{
	int piece = rv_cell_piece(layout, near);
	struct rv_chain chain;
	double a[RV_DIM], b[RV_DIM];

	if (piece < 0 || piece != rv_cell_piece(layout, far))
		return (double)NAN;
	rv_friction_chain(&layout->rig, &layout->reeving, &layout->pose, friction, &chain);
	rv_force_sum(&layout->set, &layout->pose, layout->set.cell_part[near], chain.slope, false,
		     a);
	rv_force_sum(&layout->set, &layout->pose, layout->set.cell_part[far], chain.slope, false,
		     b);
	return log(rv_pose_size(b) / rv_pose_size(a));
}

unsigned rv_ratio_shared(const struct rv_layout *layout, const struct rv_friction *friction,
			 int near, int far)
{
	const struct rv_rig *rig = &layout->rig;
	unsigned shared = 0;

	for (int b = 0; b < rig->blocks; b++) {
		struct rv_friction tried = *friction;

		if (!isnan(rig->block[b].bar_friction))
			continue;
		tried.efficiency_ratio[b] = 0.95;
		double one = rv_ratio_log(layout, &tried, near, far);
		tried.efficiency_ratio[b] = 0.90;
		if (fabs(rv_ratio_log(layout, &tried, near, far) - one) > 1e-12)
			shared |= 1U << b;
	}
	return shared;
}
