/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/drawing_rig.h"

#include <math.h>
#include <stdio.h>

/* Dashes in units of the line's width; a second round of lines has a white core, a third a thin
 * one. */
enum { DASHES = 5 };
static const double dashes[DASHES][4] = {
    {0, 0, 0, 0}, {5, 2.5, 5, 2.5}, {1.2, 1.6, 1.2, 1.6}, {6, 2, 1.2, 2}, {10, 2, 3, 2}};

static const char symbol[] = "fill=\"#fff\" stroke=\"#000\" stroke-width=\"2\"";
static const char solid[] = "fill=\"#000\"";

void rv_drawing_rig_patterns(struct rv_text *svg)
{
	static const char hatch[] =
	    "<pattern id=\"reeve-%s\" width=\"%d\" height=\"%d\" patternUnits=\"userSpaceOnUse\" "
	    "patternTransform=\"rotate(%d)\">%s<path d=\"%s\" stroke=\"%s\" "
	    "stroke-width=\"%.1f\" fill=\"none\"/></pattern>\n";

	rv_text_add(svg, "<defs>\n");
	rv_text_add(svg, hatch, "bight", 9, 9, 45, "", "M0 0V9", "#888", 1.0);
	rv_text_add(svg, hatch, "clear", 6, 6, -45, "", "M0 0V6", "#666", 1.4);
	rv_text_add(svg, hatch, "near", 8, 8, 30,
		    "<rect width=\"8\" height=\"8\" fill=\"#ffd166\"/>", "M0 0V8", "#000", 1.6);
	rv_text_add(svg, hatch, "over", 7, 7, 45,
		    "<rect width=\"7\" height=\"7\" fill=\"#ff8a80\"/>", "M0 0V7M0 0H7", "#000",
		    2.4);
	rv_text_add(svg, "</defs>\n");
}

void rv_drawing_rig_rope(struct rv_text *svg, struct rv_svg_point a, struct rv_svg_point b,
			 struct rv_drawing_look look)
{
	static const char *const bands[] = {NULL, "url(#reeve-near)", "url(#reeve-over)"};
	double width =
	    isnan(look.use_ratio) ? 2.5 : 2.0 + 4.0 * fmin(1.2, fmax(0.0, look.use_ratio));
	const double *dash = dashes[look.rope % DASHES];
	char attributes[200];
	int len = 0;

	if (bands[look.use]) {
		snprintf(attributes, sizeof attributes, "stroke=\"#000\" stroke-width=\"%.1f\"",
			 width + 9.0);
		rv_svg_line(svg, a, b, attributes);
		snprintf(attributes, sizeof attributes, "stroke=\"%s\" stroke-width=\"%.1f\"",
			 bands[look.use], width + 7.0);
		rv_svg_line(svg, a, b, attributes);
	}
	len =
	    snprintf(attributes, sizeof attributes, "stroke=\"#000\" stroke-width=\"%.1f\"", width);
	if (look.rope % DASHES != 0)
		snprintf(attributes + len, sizeof attributes - (size_t)len,
			 " stroke-dasharray=\"%.1f %.1f %.1f %.1f\"", dash[0] * width,
			 dash[1] * width, dash[2] * width, dash[3] * width);
	rv_svg_line(svg, a, b, attributes);
	if (look.rope / DASHES > 0) {
		snprintf(attributes, sizeof attributes, "stroke=\"#fff\" stroke-width=\"%.1f\"",
			 width * (look.rope / DASHES == 1 ? 0.5 : 0.2));
		rv_svg_line(svg, a, b, attributes);
	}
}

static void write_bights(const struct rv_drawing *drawing, struct rv_text *svg)
{
	const struct rv_scene *scene = &drawing->scene;

	for (int p = 0; p < scene->reeving.passes; p++) {
		const struct rv_reeve_pass *pass = &scene->reeving.pass[p];
		struct rv_svg_point corner[3] = {scene->leg[pass->before].a,
						 scene->block[pass->block].at,
						 scene->leg[pass->before + 1].b};
		if (scene->has_bight[p])
			rv_svg_shape(svg, corner, 3, "fill=\"url(#reeve-bight)\"");
	}
}

static void write_stub(struct rv_text *svg, struct rv_svg_point a, struct rv_svg_point b)
{
	if (hypot(a.x - b.x, a.y - b.y) > 6.0)
		rv_svg_line(svg, a, b, "stroke=\"#000\" stroke-width=\"1.5\"");
}

/* Short connections from what holds to what it holds. */
static void write_stubs(const struct rv_plan *plan, const struct rv_drawing *drawing,
			struct rv_text *svg)
{
	const struct rv_scene *scene = &drawing->scene;

	for (int b = 0; b < plan->rig.blocks; b++)
		if (scene->block[b].is_used)
			write_stub(svg, scene->mark[plan->rig.block[b].point].at,
				   scene->block[b].at);
	for (int l = 0; l < scene->reeving.legs; l++) {
		const struct rv_reeve_leg *leg = &scene->reeving.leg[l];
		if (leg->from.kind != RV_STEP_BLOCK)
			write_stub(svg, scene->mark[leg->a].at, scene->leg[l].a);
		if (leg->to.kind != RV_STEP_BLOCK)
			write_stub(svg, scene->mark[leg->b].at, scene->leg[l].b);
	}
}

static void write_loads(const struct rv_plan *plan, const struct rv_drawing *drawing,
			struct rv_text *svg)
{
	for (int b = 0; b < plan->rig.loads; b++)
		if (drawing->scene.load[b].w > 0.0)
			rv_svg_box(svg, drawing->scene.load[b],
				   "rx=\"5\" fill=\"#e6e6e6\" stroke=\"#000\" "
				   "stroke-width=\"1.5\"");
}

static void write_arrow(struct rv_text *svg, struct rv_svg_point at, struct rv_svg_point way)
{
	/* Along and across the way. */
	static const double shape[7][2] = {{-27, -4}, {7, -4}, {7, -11}, {27, 0},
					   {7, 11},   {7, 4},  {-27, 4}};
	struct rv_svg_point corner[7];

	for (int i = 0; i < 7; i++)
		corner[i] = (struct rv_svg_point){at.x + shape[i][0] * way.x - shape[i][1] * way.y,
						  at.y + shape[i][0] * way.y + shape[i][1] * way.x};
	rv_svg_shape(svg, corner, 7, symbol);
}

static void write_winch(struct rv_text *svg, struct rv_svg_point at)
{
	rv_svg_box(svg, (struct rv_svg_box){at.x - 13.0, at.y - 11.0, 26.0, 22.0}, symbol);
	rv_svg_circle(svg, at, 7.0, symbol);
	rv_svg_circle(svg, at, 2.0, solid);
}

static void write_end(struct rv_text *svg, const struct rv_step *step, struct rv_svg_point at,
		      bool is_grab)
{
	struct rv_svg_point corner[4] = {
	    {at.x - 7, at.y}, {at.x, at.y - 7}, {at.x + 7, at.y}, {at.x, at.y + 7}};

	if (step->kind == RV_STEP_WINCH)
		write_winch(svg, at);
	else if (step->kind == RV_STEP_POINT && is_grab)
		rv_svg_shape(svg, corner, 4, solid);
	else if (step->kind == RV_STEP_POINT)
		rv_svg_circle(svg, at, 3.5, solid);
}

/* What stands fast is a filled square, what moves a filled circle, what floats a ring. */
static void write_marks(const struct rv_plan *plan, const struct rv_scene *scene,
			struct rv_text *svg)
{
	for (int p = 0; p < plan->rig.points; p++) {
		const struct rv_scene_mark *mark = &scene->mark[p];
		struct rv_svg_point at = mark->at;
		bool only_winch = mark->blocks == 0 && mark->ends == 1 && mark->winches == 1;

		if (!mark->is_used || only_winch)
			continue;
		if (plan->rig.point[p].kind == RV_POINT_FIXED)
			rv_svg_box(svg, (struct rv_svg_box){at.x - 7, at.y - 7, 14, 14}, solid);
		else if (plan->rig.point[p].kind == RV_POINT_FLOATS)
			rv_svg_circle(svg, at, 5.0, symbol);
		else
			rv_svg_circle(svg, at, 5.0, solid);
	}
}

static void write_symbols(const struct rv_plan *plan, const struct rv_drawing *drawing,
			  struct rv_text *svg)
{
	const struct rv_scene *scene = &drawing->scene;

	write_marks(plan, scene, svg);
	for (int b = 0; b < plan->rig.blocks; b++) {
		if (!scene->block[b].is_used)
			continue;
		rv_svg_circle(svg, scene->block[b].at, scene->block[b].radius, symbol);
		rv_svg_circle(svg, scene->block[b].at, 2.5, solid);
	}
	for (int l = 0; l < scene->reeving.legs; l++) {
		const struct rv_reeve_leg *leg = &scene->reeving.leg[l];
		const struct rv_reeve_piece *piece = &scene->reeving.piece[leg->piece];
		bool first = l == piece->first_leg, last = l == piece->first_leg + piece->legs - 1;

		write_end(svg, &leg->from, scene->leg[l].a, first && piece->starts_at_grab);
		write_end(svg, &leg->to, scene->leg[l].b, last && piece->ends_at_grab);
	}
	for (int b = 0; b < plan->rig.loads; b++)
		if (drawing->arrow[b].w > 0.0)
			write_arrow(svg, drawing->arrow_at[b], scene->goes[b]);
}

static void write_ropes(const struct rv_plan *plan, const struct rv_scene *scene,
			struct rv_text *svg)
{
	for (int l = 0; l < scene->reeving.legs; l++) {
		int told = rv_scene_plan_leg(plan, &scene->reeving.leg[l]);
		double use_ratio = (double)NAN, worst_ratio = (double)NAN;

		if (told >= 0)
			rv_card_leg_use(plan, told, &use_ratio, &worst_ratio);
		rv_drawing_rig_rope(svg, scene->leg[l].a, scene->leg[l].b,
				    (struct rv_drawing_look){scene->reeving.leg[l].rope, use_ratio,
							     rv_card_use(worst_ratio)});
	}
}

static void write_leaders(const struct rv_drawing *drawing, struct rv_text *svg)
{
	for (int i = 0; i < drawing->cards.count; i++) {
		const struct rv_label *label = &drawing->field.label[i];

		if (!label->is_placed || !label->has_leader)
			continue;
		rv_svg_line(svg, label->leader.a, label->leader.b,
			    "stroke=\"#fff\" stroke-width=\"3\"");
		rv_svg_line(svg, label->leader.a, label->leader.b,
			    "stroke=\"#000\" stroke-width=\"0.9\"");
		if (drawing->cards.card[i].kind == RV_CARD_LEG)
			rv_svg_circle(svg, label->leader.b, 3.0,
				      "fill=\"#fff\" stroke=\"#000\" stroke-width=\"1.2\"");
	}
}

static void write_card(const struct rv_card *card, const struct rv_label *label,
		       struct rv_text *svg)
{
	static const char *const frames[] = {
	    "fill=\"#fff\"", "fill=\"#fff\" stroke=\"#000\" stroke-dasharray=\"4 2\"",
	    "fill=\"#fff\" stroke=\"#000\" stroke-width=\"2\""};
	const char *frame = card->is_weakest ? "fill=\"#fff\" stroke=\"#000\" stroke-width=\"2.5\""
					     : frames[card->use];

	rv_text_add(svg, "<g class=\"label\">");
	rv_svg_box(svg, label->box, frame);
	/* Against the thing it names: the box is wider than most fonts need. */
	bool is_left = label->leader.b.x > label->box.x + 0.7 * label->box.w;
	double x = label->box.x + (is_left ? label->box.w - RV_CARD_PAD : RV_CARD_PAD);
	for (int i = 0; i < card->lines; i++)
		rv_svg_words(svg,
			     (struct rv_svg_point){x, label->box.y + RV_CARD_PAD +
							  RV_CARD_LINE_STEP * (i + 0.78)},
			     (struct rv_svg_type){RV_CARD_LETTER, card->bold[i],
						  is_left ? RV_SVG_END : RV_SVG_START, NULL},
			     card->line[i]);
	rv_text_add(svg, "</g>\n");
}

void rv_drawing_rig_write(const struct rv_plan *plan, const struct rv_drawing *drawing,
			  struct rv_text *svg)
{
	write_bights(drawing, svg);
	write_loads(plan, drawing, svg);
	write_stubs(plan, drawing, svg);
	write_ropes(plan, &drawing->scene, svg);
	write_symbols(plan, drawing, svg);
	write_leaders(drawing, svg);
	for (int i = 0; i < drawing->cards.count; i++)
		if (drawing->field.label[i].is_placed)
			write_card(&drawing->cards.card[i], &drawing->field.label[i], svg);
}
