/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where everything is and how it moves: lengths and directions of the legs, wraps, and the speed of
 * the rope over every sheave for a unit speed of the load.  Who knows the positions and speeds of
 * the points (declared, or found by a solver) puts them in; this room does the rest.
 */
#ifndef RV_CORE_POSE_H
#define RV_CORE_POSE_H

#include "core/reeve.h"

struct rv_pose {
	double at_m[RV_RIG_POINTS][RV_DIM];
	double point_speed[RV_RIG_POINTS][RV_DIM]; /* per unit speed of the load, hauling in */
	double travels[RV_RIG_LOADS][RV_DIM];	   /* unit vector each load goes, hauling in */

	double length_m[RV_RIG_LEGS];
	double direction[RV_RIG_LEGS][RV_DIM]; /* unit vector from point a to point b */
	double half_sine[RV_RIG_LEGS];	       /* of each pass: sin(wrap / 2) */
	double wrap_rad[RV_RIG_LEGS];	       /* of each pass; declared wrap and full turns count */

	double rope_speed_ratio[RV_RIG_LEGS];	  /* of each pass, relative to the block, towards the
						   * start of the piece; hauling in */
	double line_speed_ratio[RV_REEVE_PIECES]; /* line that must go into the start of the piece;
						   * for a winch, its velocity ratio */
};

/* Puts every point where it is declared, at rest. */
void rv_pose_declare(const struct rv_rig *rig, struct rv_pose *pose);

/* Lengths, directions and wraps from at_m.  RV_ERR_REFUSED, tag leg_zero: two points coincide. */
enum rv_err rv_pose_place(const struct rv_rig *rig, const struct rv_reeving *reeving,
			  struct rv_pose *pose, struct rv_error *error);

/* Speeds of ropes and lines from point_speed: rope that goes over a sheave comes from somewhere. */
void rv_pose_move(const struct rv_reeving *reeving, struct rv_pose *pose);

/* The speed a winch's line has; NaN when it has none. */
double rv_pose_winch_ratio(const struct rv_reeving *reeving, const struct rv_pose *pose, int winch);

double rv_pose_dot(const double a[RV_DIM], const double b[RV_DIM]);
double rv_pose_size(const double a[RV_DIM]);

#endif
