/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/direct.h"

#include <math.h>
#include <string.h>

/* Speeds are per unit speed of the load; below this they are rounding. */
#define NO_SPEED 1e-9

static enum rv_err refuse(struct rv_error *error, int line, const char *tag, const char *who,
			  const char *name, const char *what)
{
	enum rv_err err = rv_err_refuse(error, tag, "%s %s %s", who, name, what);

	if (error)
		error->line = line;
	return err;
}

static enum rv_err check_fixed(const struct rv_rig *rig, struct rv_error *error)
{
	for (int p = 0; p < rig->points; p++)
		if (rig->point[p].kind == RV_POINT_FLOATS)
			return refuse(
			    error, rig->point[p].line, "floats_unsolved", "point",
			    rig->point[p].name,
			    "floats: where the lines hold it is not worked out by this "
			    "version; only points that are fixed or move with a load are");
	for (int b = 0; b < rig->blocks; b++)
		if (!isnan(rig->block[b].hangs_m))
			return refuse(
			    error, rig->block[b].line, "floats_unsolved", "block",
			    rig->block[b].name,
			    "hangs on a strop: where it comes to rest is not worked out by "
			    "this version; put it straight at a point");
	return RV_OK;
}

static enum rv_err set_travels(struct rv_layout *layout, struct rv_error *error)
{
	const struct rv_rig *rig = &layout->rig;

	for (int b = 0; b < rig->loads; b++) {
		const struct rv_load *load = &rig->load[b];

		if (load->is_free)
			continue;
		double size = rv_pose_size(load->travels);
		if (isnan(size))
			return refuse(error, load->line, "travel_missing", "load", load->name,
				      "needs the direction it travels, or free: true");
		if (!(size > 0.0))
			return refuse(error, load->line, "travel_zero", "load", load->name,
				      "has a travel without direction");
		for (int i = 0; i < RV_DIM; i++)
			layout->pose.travels[b][i] = load->travels[i] / size;
	}
	return RV_OK;
}

static void set_speeds(struct rv_layout *layout)
{
	struct rv_pose *pose = &layout->pose;

	for (int p = 0; p < layout->rig.points; p++)
		if (layout->rig.point[p].load >= 0)
			memcpy(pose->point_speed[p], pose->travels[layout->rig.point[p].load],
			       sizeof pose->point_speed[p]);
	rv_pose_move(&layout->reeving, pose);
}

bool rv_direct_follow(struct rv_layout *layout, int load, const double *tension_n, bool outside)
{
	double sum[RV_DIM];

	rv_layout_pull(layout, load, tension_n, outside, sum);
	double size = rv_pose_size(sum);
	if (!(size > 0.0))
		return false;
	for (int i = 0; i < RV_DIM; i++)
		layout->pose.travels[load][i] = sum[i] / size;
	set_speeds(layout);
	return true;
}

/* A free load goes where its lines pull; as a start, as if all were equally tight. */
static enum rv_err start_free(struct rv_layout *layout, struct rv_error *error)
{
	double even[RV_RIG_LEGS];

	for (int l = 0; l < RV_RIG_LEGS; l++)
		even[l] = 1.0;
	for (int b = 0; b < layout->rig.loads; b++) {
		const struct rv_load *load = &layout->rig.load[b];
		double sum[RV_DIM];

		if (!load->is_free)
			continue;
		rv_layout_pull(layout, b, even, false, sum);
		double size = rv_pose_size(sum);
		if (!(size > NO_SPEED))
			return refuse(error, load->line, "load_not_pulled", "load", load->name,
				      "is free, and its lines cancel");
		for (int i = 0; i < RV_DIM; i++)
			layout->pose.travels[b][i] = sum[i] / size;
	}
	return RV_OK;
}

static enum rv_err check_piece(const struct rv_layout *layout, int i, struct rv_error *error)
{
	const struct rv_reeve_piece *piece = &layout->reeving.piece[i];
	const struct rv_rope *rope = &layout->rig.rope[piece->rope];
	double speed = layout->pose.line_speed_ratio[i];
	int load = rv_layout_piece_load(layout, i);

	if (load == -2)
		return refuse(error, rope->line, "speeds_unknown", "line", rope->name,
			      "touches two loads: which of them moves is not told");
	if (piece->winch < 0 && fabs(speed) > NO_SPEED)
		return refuse(error, rope->line, "travel_blocked", "line", rope->name,
			      "has no winch and ties the load to the ground: it cannot move");
	if (piece->winch < 0)
		return refuse(error, rope->line, "split_unknown", "line", rope->name,
			      "has no winch and nothing moves it: its tension cannot be told");
	if (load < 0 || fabs(speed) <= NO_SPEED)
		return refuse(error, layout->rig.winch[piece->winch].line, "winch_idle", "winch",
			      layout->rig.winch[piece->winch].name,
			      "takes in no line when the load moves");
	if (speed < 0.0)
		return refuse(error, layout->rig.load[load].line, "load_not_pulled", "load",
			      layout->rig.load[load].name,
			      "would have to pay out line to go the way it travels");
	return RV_OK;
}

enum rv_err rv_direct_pose(struct rv_layout *layout, struct rv_error *error)
{
	enum rv_err err = check_fixed(&layout->rig, error);

	if (err == RV_OK)
		err = set_travels(layout, error);
	if (err == RV_OK)
		err = rv_pose_place(&layout->rig, &layout->reeving, &layout->pose, error);
	if (err == RV_OK)
		err = start_free(layout, error);
	if (err != RV_OK)
		return err;
	set_speeds(layout);
	for (int i = 0; i < layout->reeving.pieces && err == RV_OK; i++)
		err = check_piece(layout, i, error);
	return err;
}

enum rv_err rv_direct_advance(struct rv_layout *layout, double step_m, struct rv_error *error)
{
	const struct rv_rig *rig = &layout->rig;
	struct rv_pose *pose = &layout->pose;

	for (int p = 0; p < rig->points; p++)
		for (int i = 0; i < RV_DIM && rig->point[p].load >= 0; i++)
			pose->at_m[p][i] += step_m * pose->travels[rig->point[p].load][i];
	enum rv_err err = rv_pose_place(rig, &layout->reeving, pose, error);
	if (err == RV_OK)
		set_speeds(layout);
	return err;
}
