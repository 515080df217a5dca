/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/full_speed.h"

#include <math.h>
#include <string.h>

bool rv_full_speed_is_driven(const struct rv_rig *rig)
{
	for (int w = 0; w < rig->winches; w++)
		if (rig->drive[w] > 0.0)
			return rig->loads == 0 || rig->winches == rig->loads;
	return false;
}

void rv_full_speed_answer(const struct rv_solving *s, const struct rv_motions *motions, double *way)
{
	rv_equations_rate(s, motions, way);
	for (int i = 0; i < s->equations->n; i++)
		way[i] = -way[i];
	rv_linear_solve(s->linear, way);
}

static void put_floats(const struct rv_equations *equations, const double *way, double factor,
		       struct rv_pose *pose)
{
	for (int f = 0; f < equations->floats; f++)
		for (int i = 0; i < equations->dimensions; i++)
			pose->point_speed[equations->floating[f]][i] +=
			    factor * equations->length_m * way[f * equations->dimensions + i];
}

static void clear(const struct rv_layout *layout, struct rv_pose *pose)
{
	memset(pose->point_speed, 0, sizeof pose->point_speed[0] * (size_t)layout->rig.points);
}

/* Adds what one load going at this speed makes everything do. */
static void add_load(const struct rv_equations *equations, struct rv_layout *layout, int load,
		     double speed, const double *way)
{
	struct rv_pose *pose = &layout->pose;

	for (int p = 0; p < layout->rig.points; p++)
		for (int i = 0; i < RV_DIM && layout->rig.point[p].load == load; i++)
			pose->point_speed[p][i] = speed * pose->travels[load][i];
	put_floats(equations, way, speed, pose);
}

static void load_motion(const struct rv_layout *layout, int load, struct rv_motions *motions)
{
	memset(motions, 0, sizeof *motions);
	for (int p = 0; p < layout->rig.points; p++)
		if (layout->rig.point[p].load == load)
			memcpy(motions->point[p], layout->pose.travels[load],
			       sizeof motions->point[p]);
}

/* Line each winch takes in per unit of each load's travel, solved for the loads' speeds. */
static void drive_loads(const struct rv_equations *equations, struct rv_layout *layout,
			double way[][RV_LINEAR_MOST], double *speed)
{
	const struct rv_rig *rig = &layout->rig;
	double a[RV_RIG_LOADS * RV_RIG_WINCHES];
	int n = rig->loads;

	for (int b = 0; b < n; b++) {
		clear(layout, &layout->pose);
		add_load(equations, layout, b, 1.0, way[b]);
		rv_pose_move(&layout->reeving, &layout->pose);
		for (int w = 0; w < n; w++)
			a[w * n + b] = rv_pose_winch_ratio(&layout->reeving, &layout->pose, w);
	}
	for (int w = 0; w < n; w++)
		speed[w] = isnan(rig->drive[w]) ? 0.0 : rig->drive[w];
	rv_linear_least(a, n, n, speed);
	for (int b = 0; b < n; b++) {
		double first = fabs(speed[b]);
		if (!(first > 1e-9))
			continue;
		for (int k = 0; k < n; k++)
			speed[k] /= first;
		return;
	}
}

static void without_loads(const struct rv_equations *equations, struct rv_layout *layout,
			  const struct rv_linear *linear)
{
	double way[RV_LINEAR_MOST];
	int row = equations->positions;

	memset(way, 0, sizeof way);
	for (int i = 0; i < layout->reeving.pieces; i++, row++) {
		int winch = layout->reeving.piece[i].winch;
		if (winch >= 0 && layout->rig.drive[winch] > 0.0)
			way[row] = -layout->rig.drive[winch] / equations->length_m;
	}
	rv_linear_solve(linear, way);
	put_floats(equations, way, 1.0, &layout->pose);
}

void rv_full_speed_set(const struct rv_solving *s)
{
	const struct rv_equations *equations = s->equations;
	struct rv_layout *layout = s->layout;
	double way[RV_RIG_LOADS][RV_LINEAR_MOST] = {{0.0}}, speed[RV_RIG_LOADS] = {0.0};
	struct rv_motions motions;

	for (int b = 0; b < layout->rig.loads; b++) {
		speed[b] = 1.0;
		load_motion(layout, b, &motions);
		rv_full_speed_answer(s, &motions, way[b]);
	}
	if (layout->rig.loads > 1 && rv_full_speed_is_driven(&layout->rig))
		drive_loads(equations, layout, way, speed);
	clear(layout, &layout->pose);
	for (int b = 0; b < layout->rig.loads; b++)
		add_load(equations, layout, b, speed[b], way[b]);
	if (layout->rig.loads == 0)
		without_loads(equations, layout, s->linear);
	rv_pose_move(&layout->reeving, &layout->pose);
}
