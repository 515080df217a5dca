/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/reach.h"

/* Each load and floating point begins as a cluster of its own; a piece of line joins what it
 * touches. */
static int number_of(const struct rv_layout *layout, const struct rv_reach *reach, int point)
{
	int load = layout->rig.point[point].load;

	return load >= 0 ? reach->of_load[load] : reach->of_point[point];
}

static void rename_all(const struct rv_layout *layout, struct rv_reach *reach, int from, int to)
{
	for (int b = 0; b < layout->rig.loads; b++)
		if (reach->of_load[b] == from)
			reach->of_load[b] = to;
	for (int p = 0; p < layout->rig.points; p++)
		if (reach->of_point[p] == from)
			reach->of_point[p] = to;
	for (int i = 0; i < layout->reeving.pieces; i++)
		if (reach->of_piece[i] == from)
			reach->of_piece[i] = to;
}

static void join(const struct rv_layout *layout, struct rv_reach *reach, int piece, int point)
{
	int cluster = number_of(layout, reach, point);

	if (cluster < 0 || cluster == reach->of_piece[piece])
		return;
	if (reach->of_piece[piece] >= 0)
		rename_all(layout, reach, reach->of_piece[piece], cluster);
	reach->of_piece[piece] = cluster;
}

void rv_reach_find(const struct rv_layout *layout, struct rv_reach *reach)
{
	for (int b = 0; b < layout->rig.loads; b++)
		reach->of_load[b] = RV_RIG_POINTS + b;
	for (int p = 0; p < layout->rig.points; p++)
		reach->of_point[p] = layout->rig.point[p].kind == RV_POINT_FLOATS ? p : -1;
	for (int i = 0; i < layout->reeving.pieces; i++)
		reach->of_piece[i] = -1;
	for (int l = 0; l < layout->reeving.legs; l++) {
		const struct rv_reeve_leg *leg = &layout->reeving.leg[l];
		join(layout, reach, leg->piece, leg->a);
		join(layout, reach, leg->piece, leg->b);
	}
}

int rv_reach_loads(const struct rv_layout *layout, const struct rv_reach *reach, int cluster)
{
	int count = 0;

	for (int b = 0; b < layout->rig.loads; b++)
		count += reach->of_load[b] == cluster;
	return count;
}

bool rv_reach_has_force(const struct rv_layout *layout, const struct rv_reach *reach, int cluster)
{
	if (cluster < 0)
		return false;
	for (int p = 0; p < layout->rig.points; p++)
		if (reach->of_point[p] == cluster && rv_pose_size(layout->set.outside_n[p]) > 0.0)
			return true;
	return rv_reach_loads(layout, reach, cluster) > 0;
}
