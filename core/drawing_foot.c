/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/drawing_foot.h"

#include <math.h>
#include <stdio.h>

#include "core/column.h"
#include "core/drawing_rig.h"

/* Picture units. */
static const double map_width = 300.0, map_height = 230.0;
static const struct rv_svg_type plain = {14.0, false, RV_SVG_START, NULL};

/* ---- head ---- */

static const char *const views[] = {
    [RV_SCENE_DECLARED] = "To scale as declared: x to the right, y up the page.",
    [RV_SCENE_SIDE_2D] = "To scale, seen from the side: y is height.",
    [RV_SCENE_ABOVE] = "To scale, seen from above: x to the right, y up the page.",
    [RV_SCENE_FRONT] = "To scale, seen from the side: x to the right, z is height.",
    [RV_SCENE_END] = "To scale, seen from the side: y to the right, z is height.",
};

static void head(const struct rv_plan *plan, enum rv_scene_view view, struct rv_column *column)
{
	char words[400];
	int len = snprintf(words, sizeof words, "%s Line %s.", views[view],
			   plan->rig.haul_out ? "paying out" : "hauling in");

	if (plan->rig.winches == 1 && plan->rig.loads == 1)
		snprintf(words + len, sizeof words - (size_t)len,
			 " Advantage: theoretical %.2f : 1, expected %.2f : 1.",
			 plan->advantage.theoretical_ratio, plan->advantage.expected_ratio);
	rv_column_put(column, RV_COLUMN_TITLE,
		      plan->rig.name[0] ? plan->rig.name : "Rig without a name");
	rv_column_put(column, RV_COLUMN_PLAIN, words);
	column->y += 8.0;
}

double rv_drawing_foot_head(const struct rv_plan *plan)
{
	struct rv_column column = {NULL, RV_DRAWING_EDGE, 10.0,
				   RV_DRAWING_WIDTH - 2.0 * RV_DRAWING_EDGE};

	/* The longest of the views: they all fit on one line. */
	head(plan, RV_SCENE_FRONT, &column);
	return column.y;
}

void rv_drawing_foot_write_head(const struct rv_plan *plan, const struct rv_drawing *drawing,
				struct rv_text *svg)
{
	struct rv_column column = {svg, RV_DRAWING_EDGE, 10.0,
				   RV_DRAWING_WIDTH - 2.0 * RV_DRAWING_EDGE};

	head(plan, drawing->scene.view, &column);
}

/* ---- scale and legend ---- */

/* 1, 2 or 5 times a power of ten, at most most_m. */
static double round_length(double most_m)
{
	double power = pow(10.0, floor(log10(most_m)));

	return power * (most_m >= 5.0 * power ? 5.0 : most_m >= 2.0 * power ? 2.0 : 1.0);
}

static void write_scale(struct rv_text *svg, struct rv_svg_point at, double per_m, double most)
{
	double length_m = round_length(most / per_m), length = length_m * per_m;
	char words[40];

	rv_svg_box(svg, (struct rv_svg_box){at.x, at.y - 7.0, 0.5 * length, 7.0}, "fill=\"#000\"");
	rv_svg_box(svg, (struct rv_svg_box){at.x, at.y - 7.0, length, 7.0},
		   "fill=\"none\" stroke=\"#000\"");
	snprintf(words, sizeof words, "%.7g m", length_m);
	rv_svg_words(svg, (struct rv_svg_point){at.x + length + 8.0, at.y}, plain, words);
}

/* One entry of the legend: a sample of that width, then words.  They flow in rows. */
struct flow {
	struct rv_text *svg;
	double x, y;
};

static struct rv_svg_point flow_next(struct flow *flow, const char *words)
{
	double width = 62.0 + rv_svg_width(words, plain.size, false) + 24.0;

	if (flow->x > RV_DRAWING_EDGE && flow->x + width > RV_DRAWING_WIDTH) {
		flow->x = RV_DRAWING_EDGE;
		flow->y += 24.0;
	}
	struct rv_svg_point at = {flow->x, flow->y};
	rv_svg_words(flow->svg, (struct rv_svg_point){at.x + 62.0, at.y + 5.0}, plain, words);
	flow->x += width;
	return at;
}

static void legend_rope(struct flow *flow, const char *words, struct rv_drawing_look look)
{
	struct rv_svg_point at = flow_next(flow, words);

	rv_drawing_rig_rope(flow->svg, at, (struct rv_svg_point){at.x + 54.0, at.y}, look);
}

static void legend_hatch(struct flow *flow, const char *words, const char *attributes)
{
	struct rv_svg_point at = flow_next(flow, words);

	rv_svg_box(flow->svg, (struct rv_svg_box){at.x, at.y - 8.0, 54.0, 16.0}, attributes);
}

static bool has_bight(const struct rv_scene *scene)
{
	for (int p = 0; p < scene->reeving.passes; p++)
		if (scene->has_bight[p])
			return true;
	return false;
}

static enum rv_card_use worst_leg_use(const struct rv_drawing *drawing)
{
	enum rv_card_use worst = RV_CARD_BELOW;

	for (int i = 0; i < drawing->cards.count; i++)
		if (drawing->cards.card[i].kind == RV_CARD_LEG &&
		    drawing->cards.card[i].use > worst)
			worst = drawing->cards.card[i].use;
	return worst;
}

static double write_legend(const struct rv_plan *plan, const struct rv_drawing *drawing, double y,
			   struct rv_text *svg)
{
	struct flow flow = {svg, RV_DRAWING_EDGE, y};

	for (int r = 0; r < plan->rig.ropes; r++)
		legend_rope(&flow, plan->rig.rope[r].name,
			    (struct rv_drawing_look){r, 0.3, RV_CARD_BELOW});
	if (worst_leg_use(drawing) >= RV_CARD_NEAR)
		legend_rope(&flow, "near its limit: 80 % or more",
			    (struct rv_drawing_look){0, 0.9, RV_CARD_NEAR});
	if (worst_leg_use(drawing) == RV_CARD_OVER)
		legend_rope(&flow, "over its limit",
			    (struct rv_drawing_look){0, 1.1, RV_CARD_OVER});
	if (has_bight(&drawing->scene))
		legend_hatch(&flow, "bight: nobody inside the angle",
			     "fill=\"url(#reeve-bight)\" stroke=\"#888\"");
	return flow.y + 22.0;
}

/* ---- how far to stay clear ---- */

static void thick(struct rv_text *svg, const struct rv_scene *scene, struct rv_svg_point shift,
		  double scale, const char *attributes)
{
	for (int l = 0; l < scene->reeving.legs; l++)
		rv_svg_line(svg,
			    (struct rv_svg_point){shift.x + scale * scene->leg[l].a.x,
						  shift.y + scale * scene->leg[l].a.y},
			    (struct rv_svg_point){shift.x + scale * scene->leg[l].b.x,
						  shift.y + scale * scene->leg[l].b.y},
			    attributes);
}

/* Everything nearer than the distance, around all legs: strokes of twice that width. */
static void write_map(const struct rv_plan *plan, const struct rv_scene *scene,
		      struct rv_svg_point corner, struct rv_text *svg)
{
	double keep = plan->clear.keep_m * scene->per_m;
	double x0 = (double)INFINITY, y0 = x0, x1 = -x0, y1 = -x0;
	char attributes[120];

	for (int l = 0; l < scene->reeving.legs; l++) {
		const struct rv_scene_leg *leg = &scene->leg[l];
		x0 = fmin(x0, fmin(leg->a.x, leg->b.x));
		x1 = fmax(x1, fmax(leg->a.x, leg->b.x));
		y0 = fmin(y0, fmin(leg->a.y, leg->b.y));
		y1 = fmax(y1, fmax(leg->a.y, leg->b.y));
	}
	double scale = fmin((map_width - 12.0) / (x1 - x0 + 2.0 * keep),
			    (map_height - 34.0) / (y1 - y0 + 2.0 * keep));
	struct rv_svg_point shift = {corner.x + 0.5 * map_width - 0.5 * scale * (x0 + x1),
				     corner.y + 0.5 * (map_height - 24.0) -
					 0.5 * scale * (y0 + y1)};
	static const char *const looks[] = {"#000", "#fff", "url(#reeve-clear)"};
	for (int i = 0; i < 3; i++) {
		snprintf(attributes, sizeof attributes,
			 "stroke=\"%s\" stroke-width=\"%.1f\" stroke-linecap=\"round\"", looks[i],
			 2.0 * scale * keep + (i == 0 ? 2.4 : 0.0));
		thick(svg, scene, shift, scale, attributes);
	}
	thick(svg, scene, shift, scale, "stroke=\"#fff\" stroke-width=\"7\"");
	thick(svg, scene, shift, scale, "stroke=\"#000\" stroke-width=\"2.5\"");
	write_scale(svg, (struct rv_svg_point){corner.x + 8.0, corner.y + map_height - 8.0},
		    scene->per_m * scale, 60.0);
	snprintf(attributes, sizeof attributes, "keep clear: %.0f m", ceil(plan->clear.keep_m));
	rv_svg_words(svg,
		     (struct rv_svg_point){corner.x + map_width - 8.0, corner.y + map_height - 8.0},
		     (struct rv_svg_type){14.0, true, RV_SVG_END, NULL}, attributes);
	rv_svg_box(svg, (struct rv_svg_box){corner.x, corner.y, map_width, map_height},
		   "fill=\"none\" stroke=\"#000\"");
}

/* What found no room in the picture is told here instead. */
static void say_missing(const struct rv_drawing *drawing, struct rv_column *column)
{
	bool any = false;

	for (int i = 0; i < drawing->cards.count; i++) {
		const struct rv_card *card = &drawing->cards.card[i];
		if (drawing->field.label[i].is_placed || drawing->field.label[i].may_go)
			continue;
		if (!any)
			rv_column_put(column, RV_COLUMN_STRONG,
				      "Not labelled above for want of room:");
		any = true;
		for (int k = 0; k < card->lines; k++)
			rv_column_put(column, RV_COLUMN_PLAIN, card->line[k]);
	}
}

double rv_drawing_foot_write(const struct rv_plan *plan, const struct rv_drawing *drawing,
			     struct rv_text *svg)
{
	const struct rv_svg_box *field = &drawing->scene.field;
	double y = field->y + field->h + 18.0;
	bool has_map = plan->clear.keep_m > 0.0 && drawing->scene.reeving.legs > 0;
	struct rv_column column = {svg, RV_DRAWING_EDGE, 0.0,
				   RV_DRAWING_WIDTH - 2.0 * RV_DRAWING_EDGE -
				       (has_map ? map_width + 24.0 : 0.0)};

	write_scale(svg, (struct rv_svg_point){RV_DRAWING_EDGE, y}, drawing->scene.per_m, 240.0);
	y = write_legend(plan, drawing, y + 28.0, svg);
	if (has_map)
		write_map(plan, &drawing->scene,
			  (struct rv_svg_point){RV_DRAWING_WIDTH - RV_DRAWING_EDGE - map_width, y},
			  svg);
	column.y = y - 6.0;
	rv_column_weakest(&column, plan, drawing->cards.unit);
	rv_column_clear(&column, plan, ": the hatched area of the small map");
	rv_column_not_rated(&column, plan);
	say_missing(drawing, &column);
	rv_column_put(
	    &column, RV_COLUMN_PLAIN,
	    "Predicted from what the rig file declares; loads are for the line moving as "
	    "said above and shift when it stops. Symbols are not to scale, and lines that "
	    "lie on one another are drawn side by side.");
	rv_column_put(&column, RV_COLUMN_STRONG, rv_column_caution);
	return fmax(column.y + 14.0, has_map ? y + map_height + 14.0 : 0.0);
}
