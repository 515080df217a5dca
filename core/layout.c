/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/layout.h"

#include <stdio.h>

#include "core/hang.h"

enum rv_err rv_layout_make(const struct rv_rig *rig, struct rv_layout *layout,
			   struct rv_error *error)
{
	layout->rig = *rig;
	enum rv_err err = rv_hang_expand(&layout->rig, error);
	if (err == RV_OK)
		err = rv_reeve_cut(&layout->rig, &layout->reeving, error);
	if (err == RV_OK)
		err = rv_component_list(&layout->rig, &layout->reeving, &layout->set, error);
	if (err == RV_OK)
		rv_pose_declare(&layout->rig, &layout->pose);
	for (int i = 0; i < RV_REEVE_PIECES; i++)
		layout->group[i] = i;
	return err;
}

static void add(double sum[RV_DIM], double factor, const double vector[RV_DIM])
{
	for (int i = 0; i < RV_DIM; i++)
		sum[i] += factor * vector[i];
}

void rv_layout_pull(const struct rv_layout *layout, int load, const double *tension_n, bool outside,
		    double sum[RV_DIM])
{
	const struct rv_rig *rig = &layout->rig;

	sum[0] = sum[1] = sum[2] = 0.0;
	for (int l = 0; l < layout->reeving.legs; l++) {
		const struct rv_reeve_leg *leg = &layout->reeving.leg[l];

		if (rig->point[leg->a].load == load)
			add(sum, tension_n[l], layout->pose.direction[l]);
		if (rig->point[leg->b].load == load)
			add(sum, -tension_n[l], layout->pose.direction[l]);
	}
	for (int p = 0; outside && p < rig->points; p++)
		if (rig->point[p].load == load)
			add(sum, 1.0, layout->set.outside_n[p]);
}

void rv_layout_leg(const struct rv_layout *layout, int index, struct rv_leg *leg)
{
	const struct rv_reeve_leg *cut = &layout->reeving.leg[index];

	leg->rope = cut->rope;
	leg->leg = cut->leg;
	leg->length_m = layout->pose.length_m[index];
	snprintf(leg->from, sizeof leg->from, "%s", rv_reeve_name(&layout->rig, cut->from));
	snprintf(leg->to, sizeof leg->to, "%s", rv_reeve_name(&layout->rig, cut->to));
}

int rv_layout_piece_load(const struct rv_layout *layout, int piece)
{
	const struct rv_reeve_piece *p = &layout->reeving.piece[piece];
	int load = -1;

	for (int l = p->first_leg; l < p->first_leg + p->legs; l++) {
		int ends[] = {layout->rig.point[layout->reeving.leg[l].a].load,
			      layout->rig.point[layout->reeving.leg[l].b].load};
		for (int i = 0; i < 2; i++) {
			if (ends[i] >= 0 && load >= 0 && load != ends[i])
				return -2;
			if (ends[i] >= 0)
				load = ends[i];
		}
	}
	return load;
}

bool rv_layout_is_proportional(const struct rv_layout *layout)
{
	for (int b = 0; b < layout->rig.blocks; b++)
		if (layout->rig.block[b].drag_n > 0.0)
			return false;
	for (int p = 0; p < layout->rig.points; p++)
		if (rv_pose_size(layout->set.outside_n[p]) > 0.0)
			return false;
	return true;
}
