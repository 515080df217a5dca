/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Legs that run side by side, closer than a line is thick, get lanes: the parts of a tackle are
 * then seen one by one.
 */
#ifndef RV_CORE_SCENE_LANE_H
#define RV_CORE_SCENE_LANE_H

#include "core/scene_parts.h"

/* Fills in lane, lanes and shift of every leg from their ends to scale.  In a bundle the lanes keep the
 * order the legs have across it, and, where that says nothing, their order along the line. */
void rv_scene_lane_set(struct rv_scene *scene);

#endif
