/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/scene_view.h"

#include <math.h>

/* Picture units. */
static const double shallowest = 250.0, deepest = 620.0, label_high = 16.0;

/* ---- what is seen ---- */

static bool something_hangs(const struct rv_rig *rig)
{
	for (int p = 0; p < rig->points; p++)
		if (rig->point[p].weight_n > 0.0)
			return true;
	for (int b = 0; b < rig->loads; b++)
		if (rig->load[b].character == RV_LOAD_HUNG)
			return true;
	return false;
}

struct extent {
	double low[RV_DIM], high[RV_DIM];
};

static void widen(struct extent *extent, const double at_m[RV_DIM])
{
	for (int i = 0; i < RV_DIM; i++) {
		extent->low[i] = fmin(extent->low[i], at_m[i]);
		extent->high[i] = fmax(extent->high[i], at_m[i]);
	}
}

static struct extent extent_of(const struct rv_plan *plan)
{
	struct extent extent;

	for (int i = 0; i < RV_DIM; i++) {
		extent.low[i] = (double)INFINITY;
		extent.high[i] = -(double)INFINITY;
	}
	for (int p = 0; p < plan->rig.points; p++)
		widen(&extent, plan->at_m[p]);
	for (int b = 0; b < plan->rig.blocks; b++)
		widen(&extent, plan->block_at_m[b]);
	return extent;
}

static enum rv_scene_view view_of(const struct rv_plan *plan, const struct extent *extent)
{
	double wide = extent->high[0] - extent->low[0], deep = extent->high[1] - extent->low[1];

	if (plan->rig.dimensions < 3)
		return something_hangs(&plan->rig) ? RV_SCENE_SIDE_2D : RV_SCENE_DECLARED;
	if (extent->high[2] - extent->low[2] <= fmin(wide, deep))
		return RV_SCENE_ABOVE;
	return wide >= deep ? RV_SCENE_FRONT : RV_SCENE_END;
}

static int across_axis(enum rv_scene_view view)
{
	return view == RV_SCENE_END ? 1 : 0;
}

static int up_axis(enum rv_scene_view view)
{
	return view == RV_SCENE_FRONT || view == RV_SCENE_END ? 2 : 1;
}

/* ---- scale ---- */

static void set_scale(struct rv_scene *scene, const struct extent *extent, struct rv_svg_box top,
		      double margin)
{
	int a = across_axis(scene->view), u = up_axis(scene->view);
	double wide_m = extent->high[a] - extent->low[a], high_m = extent->high[u] - extent->low[u];
	double room = top.w - 2.0 * margin;
	/* Above and below, more for many legs: what stays empty is cropped. */
	double tall = margin + label_high * scene->reeving.legs;

	scene->per_m = fmin(room / fmax(wide_m, 1e-6), deepest / fmax(high_m, 1e-6));
	scene->field = (struct rv_svg_box){top.x, top.y, top.w,
					   fmax(shallowest, high_m * scene->per_m) + 2.0 * tall};
	double x0 = scene->field.x + 0.5 * (scene->field.w - wide_m * scene->per_m);
	double y0 = scene->field.y + 0.5 * (scene->field.h + high_m * scene->per_m);
	scene->origin = (struct rv_svg_point){x0 - extent->low[a] * scene->per_m,
					      y0 + extent->low[u] * scene->per_m};
}

struct rv_svg_point rv_scene_view_at(const struct rv_scene *scene, const double at_m[RV_DIM])
{
	return (struct rv_svg_point){scene->origin.x +
					 at_m[across_axis(scene->view)] * scene->per_m,
				     scene->origin.y - at_m[up_axis(scene->view)] * scene->per_m};
}

struct rv_svg_point rv_scene_view_way(const struct rv_scene *scene, const double way[RV_DIM])
{
	return (struct rv_svg_point){way[across_axis(scene->view)], -way[up_axis(scene->view)]};
}

void rv_scene_view_set(const struct rv_plan *plan, struct rv_svg_box top, double margin,
		       struct rv_scene *scene)
{
	struct extent extent = extent_of(plan);

	scene->view = view_of(plan, &extent);
	set_scale(scene, &extent, top, margin);
}
