/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/schematic.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "core/column.h"
#include "core/drawing_rig.h"
#include "core/schematic_item.h"

/* Picture units: the rows lie between left and right, words beside them. */
enum { WIDTH = 1080, EDGE = 20 };
static const double left = 370.0, right = 710.0, bulge = 30.0, beside = 14.0, least_row = 74.0;
static const double line_step = 17.0;

struct picture {
	struct rv_schematic_telling telling;
	struct rv_text *svg;
	double y, row;
};

/* ---- words beside the rows ---- */

static void write_item(const struct picture *picture, const struct rv_schematic_item *item,
		       bool is_left, double middle)
{
	double x = is_left ? left - bulge - beside : right + bulge + beside;
	struct rv_svg_type type = {RV_SCHEMATIC_LETTER, false, RV_SVG_START, NULL};

	type.anchor = is_left ? RV_SVG_END : RV_SVG_START;
	for (int i = 0; i < item->lines; i++) {
		type.bold = item->bold[i];
		rv_svg_words(
		    picture->svg,
		    (struct rv_svg_point){x, middle + line_step * (i - 0.5 * item->lines + 0.75)},
		    type, item->line[i]);
	}
}

/* ---- rows ---- */

struct row_words {
	struct picture *picture;
	double y;
	bool bold;
};

static void put_row_line(void *context, const char *line)
{
	struct row_words *words = context;

	rv_svg_words(words->picture->svg, (struct rv_svg_point){0.5 * (left + right), words->y},
		     (struct rv_svg_type){14.0, words->bold, RV_SVG_MIDDLE, NULL}, line);
	words->y += line_step;
}

static void count_row_line(void *context, const char *line)
{
	(void)line;
	struct row_words *words = context;
	words->y -= line_step;
}

static void write_row_words(struct picture *picture, int told, bool is_lead, bool is_last, double y)
{
	const struct rv_plan *plan = picture->telling.plan;
	double use_ratio, worst_ratio;
	char load[120], text[300];
	bool bold = told == rv_card_weakest_leg(plan);

	rv_card_leg_use(plan, told, &use_ratio, &worst_ratio);
	rv_card_load(&picture->telling.cards, plan->tension[told].nominal_n, use_ratio, worst_ratio,
		     load, sizeof load);
	snprintf(text, sizeof text, "%spart %d%s: %s", bold ? "FIRST TO REACH ITS LIMIT: " : "",
		 plan->leg[told].leg,
		 is_lead   ? ", lead\u00a0line"
		 : is_last ? ", dead\u00a0end"
			   : "",
		 load);
	struct rv_svg_type type = {14.0, bold, RV_SVG_MIDDLE, NULL};
	struct row_words words = {picture, y - 10.0 + line_step, bold};
	(void)rv_svg_wrap(text, type, right - left - 16.0, count_row_line, &words);
	(void)rv_svg_wrap(text, type, right - left - 16.0, put_row_line, &words);
}

static void write_cell(const struct picture *picture, int rope, int leg, double y)
{
	const struct rv_rig *rig = &picture->telling.plan->rig;
	char words[100];

	for (int c = 0; c < rig->cells; c++) {
		if (!rig->cell[c].in_leg || rig->cell[c].rope != rope || rig->cell[c].leg != leg)
			continue;
		rv_svg_box(picture->svg, (struct rv_svg_box){left + 12.0, y - 7.0, 14.0, 14.0},
			   "fill=\"#fff\" stroke=\"#000\" stroke-width=\"2\"");
		snprintf(words, sizeof words, "cell %s", rig->cell[c].name);
		rv_svg_words(picture->svg, (struct rv_svg_point){left + 34.0, y + 18.0},
			     (struct rv_svg_type){13.0, false, RV_SVG_START, NULL}, words);
		return;
	}
}

static void write_row(struct picture *picture, int leg, int row, bool is_last)
{
	const struct rv_reeve_leg *is = &picture->telling.reeving->leg[leg];
	int told = rv_scene_plan_leg(picture->telling.plan, is);
	double y = picture->y + row * picture->row, use_ratio = (double)NAN,
	       worst_ratio = (double)NAN;

	if (told >= 0)
		rv_card_leg_use(picture->telling.plan, told, &use_ratio, &worst_ratio);
	rv_drawing_rig_rope(
	    picture->svg, (struct rv_svg_point){left, y}, (struct rv_svg_point){right, y},
	    (struct rv_drawing_look){is->rope, use_ratio, rv_card_use(worst_ratio)});
	if (told >= 0)
		write_row_words(picture, told, row == 0 && is->from.kind == RV_STEP_WINCH,
				is_last && row > 0, y);
	write_cell(picture, is->rope, is->leg, y);
}

static void write_knot(struct rv_text *svg, struct rv_svg_point at)
{
	struct rv_svg_point corner[4] = {
	    {at.x - 9, at.y}, {at.x, at.y - 9}, {at.x + 9, at.y}, {at.x, at.y + 9}};

	rv_svg_shape(svg, corner, 4, "fill=\"#000\"");
}

static void write_turn(const struct picture *picture, const struct rv_schematic_item *item,
		       bool is_left, double y)
{
	double x = is_left ? left : right, out = is_left ? -bulge : bulge;
	double middle = y + 0.5 * picture->row;
	struct rv_svg_point at = {x + (item->is_grab ? out : 0.0), middle};

	if (item->is_grab)
		rv_text_add(picture->svg, "<path d=\"M %.1f %.1f h %.1f v %.1f h %.1f\"", x, y, out,
			    picture->row, -out);
	else
		rv_text_add(picture->svg, "<path d=\"M %.1f %.1f A %.1f %.1f 0 0 %d %.1f %.1f\"", x,
			    y, bulge, 0.5 * picture->row, is_left ? 0 : 1, x, y + picture->row);
	rv_text_add(picture->svg, " fill=\"none\" stroke=\"#000\" stroke-width=\"3\"/>\n");
	if (item->is_grab)
		write_knot(picture->svg, at);
	else
		rv_svg_circle(picture->svg, at, 6.0,
			      "fill=\"#fff\" stroke=\"#000\" stroke-width=\"2.5\"");
	write_item(picture, item, is_left, middle);
}

static void write_ending(const struct picture *picture, const struct rv_schematic_item *item,
			 bool is_left, double y)
{
	double x = is_left ? left : right, out = is_left ? -1.0 : 1.0;

	if (item->is_grab) {
		write_knot(picture->svg, (struct rv_svg_point){x + out * 9.0, y});
	} else if (item->step.kind == RV_STEP_WINCH) {
		struct rv_svg_point at = {x + out * 14.0, y};
		rv_svg_circle(picture->svg, at, 14.0,
			      "fill=\"#fff\" stroke=\"#000\" stroke-width=\"3\"");
		rv_svg_circle(picture->svg, at, 4.0, "fill=\"#000\"");
	} else if (item->step.kind == RV_STEP_BLOCK) {
		rv_svg_circle(picture->svg, (struct rv_svg_point){x + out * 8.0, y}, 8.0,
			      "fill=\"#fff\" stroke=\"#000\" stroke-width=\"2.5\"");
	} else {
		rv_svg_box(picture->svg,
			   (struct rv_svg_box){x + fmin(0.0, out * 14.0), y - 12.0, 14.0, 24.0},
			   "fill=\"#000\"");
	}
	write_item(picture, item, is_left, y);
}

/* ---- one line ---- */

/* Items of a line: before its first leg, between legs, after its last.  Returns how many. */
static int make_items(struct picture *picture, int first, int legs, struct rv_schematic_item *items)
{
	const struct rv_reeve_leg *leg = &picture->telling.reeving->leg[first];

	for (int i = 0; i <= legs; i++)
		rv_schematic_item_make(&picture->telling, i < legs ? leg[i].from : leg[i - 1].to,
				       i == 0 || i == legs, &items[i]);
	return legs + 1;
}

static bool is_cut_at(const struct picture *picture, int first, int at)
{
	const struct rv_reeve_leg *leg = &picture->telling.reeving->leg[first + at];

	return picture->telling.reeving->piece[leg->piece].starts_at_grab &&
	       picture->telling.reeving->piece[leg->piece].first_leg == first + at;
}

static void write_line(struct picture *picture, int first, int legs,
		       struct rv_schematic_item *items)
{
	int count = make_items(picture, first, legs, items), most = 0;
	const struct rv_rope *rope =
	    &picture->telling.plan->rig.rope[picture->telling.reeving->leg[first].rope];
	char words[120];

	/* A path that begins with a tail begins at a grab. */
	items[0].is_grab = is_cut_at(picture, first, 0);
	for (int i = 0; i < count; i++)
		most = items[i].lines > most ? items[i].lines : most;
	/* On one side, what stands there is at least one and a half rows apart; the two ends of a
	 * line of two legs one row. */
	picture->row = fmax(least_row, (most * line_step + 12.0) / (legs == 2 ? 1.0 : 1.5));
	snprintf(words, sizeof words, "Line: %s", rope->name);
	rv_svg_words(picture->svg, (struct rv_svg_point){EDGE, picture->y + 16.0},
		     (struct rv_svg_type){16.0, true, RV_SVG_START, NULL}, words);
	picture->y += 40.0 + fmax(34.0, 0.5 * line_step * items[0].lines);
	for (int i = 0; i < legs; i++)
		write_row(picture, first + i, i, i == legs - 1);
	for (int i = 1; i < legs; i++)
		write_turn(picture, &items[i], i % 2 == 0, picture->y + (i - 1) * picture->row);
	write_ending(picture, &items[0], true, picture->y);
	write_ending(picture, &items[legs], legs % 2 == 0, picture->y + (legs - 1) * picture->row);
	picture->y +=
	    (legs - 1) * picture->row + fmax(34.0, 0.5 * line_step * items[legs].lines) + 14.0;
}

static void write_lines(struct picture *picture, struct rv_schematic_item *items)
{
	const struct rv_reeving *reeving = picture->telling.reeving;

	for (int l = 0; l < reeving->legs;) {
		int legs = 1;
		while (l + legs < reeving->legs &&
		       reeving->leg[l + legs].rope == reeving->leg[l].rope)
			legs++;
		write_line(picture, l, legs, items);
		l += legs;
	}
}

static void write_all(struct picture *picture, struct rv_schematic_item *items)
{
	struct rv_column column = {picture->svg, EDGE, 10.0, WIDTH - 2.0 * EDGE, RV_COLUMN_PLAIN};
	const struct rv_plan *plan = picture->telling.plan;

	rv_column_put(&column, RV_COLUMN_TITLE,
		      plan->rig.name[0] ? plan->rig.name : "Rig without a name");
	rv_column_put(&column, RV_COLUMN_PLAIN,
		      plan->rig.haul_out ? "Part by part, not to scale. Line paying out."
					 : "Part by part, not to scale. Line hauling in.");
	picture->y = column.y + 16.0;
	write_lines(picture, items);
	column.y = picture->y;
	rv_column_weakest(&column, plan, picture->telling.cards.unit);
	rv_column_clear(&column, plan, "");
	rv_column_not_rated(&column, plan);
	rv_column_put(&column, RV_COLUMN_STRONG, rv_column_caution);
	picture->y = column.y + 14.0;
}

enum rv_err rv_schematic_svg(const struct rv_plan *plan, enum rv_force_unit unit,
			     struct rv_text *svg, struct rv_error *error)
{
	struct rv_text inside = {0};
	struct rv_reeving *reeving = calloc(1, sizeof *reeving);
	struct picture *picture = calloc(1, sizeof *picture);
	struct rv_schematic_item *items = calloc(RV_RIG_LEGS + 1, sizeof *items);
	enum rv_err err = reeving && picture && items
			      ? rv_reeve_cut(&plan->rig, reeving, error)
			      : rv_err_set(error, RV_ERR_NOMEM, "no memory for the diagram");

	if (err == RV_OK) {
		picture->telling.plan = plan;
		picture->telling.reeving = reeving;
		picture->telling.cards.unit = unit;
		picture->svg = &inside;
		write_all(picture, items);
		rv_svg_document(svg, (struct rv_svg_box){0.0, 0.0, WIDTH, picture->y},
				plan->rig.name, rv_drawing_rig_patterns, &inside);
		if (inside.failed || svg->failed)
			err = rv_err_set(error, RV_ERR_NOMEM, "no memory for the diagram");
	}
	rv_text_free(&inside);
	free(items);
	free(picture);
	free(reeving);
	return err;
}
