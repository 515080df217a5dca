/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/pose.h"

#include <math.h>
#include <string.h>

/* Closer than this two points are one: no direction can be told. */
#define COINCIDE_M 1e-6

double rv_pose_dot(const double a[RV_DIM], const double b[RV_DIM])
{
	return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

double rv_pose_size(const double a[RV_DIM])
{
	return sqrt(rv_pose_dot(a, a));
}

void rv_pose_declare(const struct rv_rig *rig, struct rv_pose *pose)
{
	memset(pose, 0, sizeof *pose);
	for (int p = 0; p < rig->points; p++)
		memcpy(pose->at_m[p], rig->point[p].at_m, sizeof pose->at_m[p]);
}

static void set_wrap(const struct rv_rig *rig, const struct rv_reeving *reeving, int pass,
		     struct rv_pose *pose)
{
	const struct rv_block *block = &rig->block[reeving->pass[pass].block];
	int before = reeving->pass[pass].before;
	double sum[RV_DIM], difference[RV_DIM];

	/* From the sheave the leg before points back along its direction. */
	for (int i = 0; i < RV_DIM; i++) {
		sum[i] = pose->direction[before + 1][i] - pose->direction[before][i];
		difference[i] = pose->direction[before + 1][i] + pose->direction[before][i];
	}
	pose->half_sine[pass] = fmin(1.0, 0.5 * rv_pose_size(sum));
	/* The arc sine would lose half the digits near 180 degrees. */
	pose->wrap_rad[pass] = 2.0 * atan2(rv_pose_size(sum), rv_pose_size(difference));
	if (!isnan(block->wrap_deg))
		pose->wrap_rad[pass] = block->wrap_deg * M_PI / 180.0;
	if (!isnan(block->turns))
		pose->wrap_rad[pass] += 2.0 * M_PI * block->turns;
}

enum rv_err rv_pose_place(const struct rv_rig *rig, const struct rv_reeving *reeving,
			  struct rv_pose *pose, struct rv_error *error)
{
	for (int l = 0; l < reeving->legs; l++) {
		const struct rv_reeve_leg *leg = &reeving->leg[l];
		double *to = pose->direction[l];

		for (int i = 0; i < RV_DIM; i++)
			to[i] = pose->at_m[leg->b][i] - pose->at_m[leg->a][i];
		double length_m = rv_pose_size(to);
		if (!(length_m > COINCIDE_M)) {
			enum rv_err err = rv_err_refuse(
			    error, "leg_zero", "line %s, leg %d: points %s and %s coincide",
			    rig->rope[leg->rope].name, leg->leg, rig->point[leg->a].name,
			    rig->point[leg->b].name);
			if (error)
				error->line = rig->rope[leg->rope].line;
			return err;
		}
		pose->length_m[l] = length_m;
		for (int i = 0; i < RV_DIM; i++)
			to[i] /= length_m;
	}
	for (int p = 0; p < reeving->passes; p++)
		set_wrap(rig, reeving, p, pose);
	return RV_OK;
}

static double lengthens(const struct rv_reeving *reeving, const struct rv_pose *pose, int leg)
{
	const double *va = pose->point_speed[reeving->leg[leg].a];
	const double *vb = pose->point_speed[reeving->leg[leg].b];

	return rv_pose_dot(pose->direction[leg], vb) - rv_pose_dot(pose->direction[leg], va);
}

void rv_pose_move(const struct rv_reeving *reeving, struct rv_pose *pose)
{
	for (int i = 0; i < reeving->pieces; i++) {
		const struct rv_reeve_piece *piece = &reeving->piece[i];
		double speed = 0.0; /* at the made-fast end the rope does not run */

		for (int k = piece->legs - 1; k >= 1; k--) {
			speed -= lengthens(reeving, pose, piece->first_leg + k);
			pose->rope_speed_ratio[piece->first_pass + k - 1] = speed;
		}
		pose->line_speed_ratio[i] = speed - lengthens(reeving, pose, piece->first_leg);
	}
}

double rv_pose_winch_ratio(const struct rv_reeving *reeving, const struct rv_pose *pose, int winch)
{
	int piece = rv_reeve_winch_piece(reeving, winch);

	return piece < 0 ? (double)NAN : pose->line_speed_ratio[piece];
}
