/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/cell.h"

#include <math.h>

#include "core/force.h"

int rv_cell_piece(const struct rv_layout *layout, int cell)
{
	const struct rv_component_set *set = &layout->set;
	const struct rv_component_part *part = &set->part[set->cell_part[cell]];
	int found = RV_CELL_NO_PIECE;

	for (int t = part->first; t < part->first + part->terms; t++) {
		if (set->term[t].leg < 0)
			continue;
		int piece = layout->group[layout->reeving.leg[set->term[t].leg].piece];
		if (found == RV_CELL_NO_PIECE)
			found = piece;
		else if (found != piece)
			found = RV_CELL_SEVERAL_PIECES;
	}
	return found;
}

double rv_cell_start(const struct rv_layout *layout, const struct rv_pose *pose,
		     const struct rv_chain *chain, int cell, double load_n)
{
	int part = layout->set.cell_part[cell];
	double slope[RV_DIM], constant_n[RV_DIM];

	rv_force_sum(&layout->set, pose, part, chain->slope, false, slope);
	rv_force_sum(&layout->set, pose, part, chain->constant_n, true, constant_n);
	if (layout->set.part[part].plain)
		return fmax(0.0, (load_n - constant_n[0]) / slope[0]);
	double root = rv_force_root(slope, constant_n, load_n);
	if (!isnan(root))
		return root;
	return fmax(0.0, -rv_pose_dot(slope, constant_n) / rv_pose_dot(slope, slope));
}
