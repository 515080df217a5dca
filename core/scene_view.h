/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From where a rig is seen, and to what scale.  A rig of three dimensions is seen along the axis it
 * is shallowest in; from above when it is as wide as it is high.
 */
#ifndef RV_CORE_SCENE_VIEW_H
#define RV_CORE_SCENE_VIEW_H

#include "core/scene_parts.h"

/* Fills in view, field, per_m and origin.  top: where the field begins and how wide it is; margin is
 * left free at its sides, more above and below. */
void rv_scene_view_set(const struct rv_plan *plan, struct rv_svg_box top, double margin,
		       struct rv_scene *scene);

/* A place of the plan in the picture. */
struct rv_svg_point rv_scene_view_at(const struct rv_scene *scene, const double at_m[RV_DIM]);

/* A direction as it looks: shorter than 1 when it leads out of the picture. */
struct rv_svg_point rv_scene_view_way(const struct rv_scene *scene, const double way[RV_DIM]);

#endif
