/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A plan laid out in a picture to scale; see core/scene_parts.
 */
#ifndef RV_CORE_SCENE_H
#define RV_CORE_SCENE_H

#include "core/scene_parts.h"

/* The scene in a field of that width at top; margin is left free around the rig for labels. */
enum rv_err rv_scene_make(const struct rv_plan *plan, struct rv_svg_box top, double margin,
			  struct rv_scene *scene, struct rv_error *error);

/* The leg of the plan that is that leg of the scene, or -1. */
int rv_scene_plan_leg(const struct rv_plan *plan, const struct rv_reeve_leg *leg);

#endif
