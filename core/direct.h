/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rigs whose points are all fixed or move with a load: the pose is as declared, speeds follow from
 * the loads' travels, and one pass along each line gives every tension.
 */
#ifndef RV_CORE_DIRECT_H
#define RV_CORE_DIRECT_H

#include "core/friction.h"
#include "core/layout.h"

/* Completes layout->pose.  RV_ERR_REFUSED, tags: floats_unsolved (floating points, blocks on a
 * strop), leg_zero, travel_zero, travel_missing, travel_blocked, split_unknown, speeds_unknown,
 * winch_idle, load_not_pulled. */
enum rv_err rv_direct_pose(struct rv_layout *layout, struct rv_error *error);

/* Moves every load on from where the pose has it, this far along its travel (metres, hauling in;
 * below zero the other way).  Does not look again whether the rig can be solved; the only failure
 * is leg_zero. */
enum rv_err rv_direct_advance(struct rv_layout *layout, double step_m, struct rv_error *error);

/* Turns the travel of a free load into the direction its lines (and outside forces, if asked for)
 * pull for these tensions, and brings the speeds up to date.  False if they cancel. */
bool rv_direct_follow(struct rv_layout *layout, int load, const double *tension_n, bool outside);

#endif
