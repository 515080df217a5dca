/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Second pass over a rig file: where points are and what stands at them.
 *
 * A position is [x, y] or [x, y, z] in metres, the same number for all points, or measured from
 * another point: distance over the ground (horizontal), compass bearing (degrees, 0 = north = +y,
 * 90 = east = +x) and, in three dimensions, rise.
 */
#ifndef RV_CORE_RIG_PLACE_H
#define RV_CORE_RIG_PLACE_H

#include "core/rig_part.h"

/* Fills positions, forces on points, directions of loads, and what moves with or stands at what. */
enum rv_err rv_rig_place_all(struct rv_rig *rig, const struct rv_rig_nodes *nodes,
			     struct rv_error *error);

#endif
