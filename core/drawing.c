/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/drawing.h"

#include <math.h>
#include <stdlib.h>

#include "core/drawing_foot.h"
#include "core/drawing_rig.h"

/* Picture units. */
static const double arrow_beside = 16.0, arrow_half = 28.0, arrow_deep = 12.0;
static const double margins[] = {150.0, 200.0, 260.0, 330.0};

/* ---- what labels must keep clear of ---- */

static void add_box(struct rv_label_field *field, struct rv_svg_box box)
{
	if (field->boxes < RV_LABEL_BOXES)
		field->box[field->boxes++] = box;
}

static void add_round(struct rv_label_field *field, struct rv_svg_point at, double radius)
{
	add_box(field,
		(struct rv_svg_box){at.x - radius, at.y - radius, 2.0 * radius, 2.0 * radius});
}

static void add_line(struct rv_label_field *field, struct rv_svg_point a, struct rv_svg_point b,
		     double half)
{
	if (field->lines < RV_LABEL_LINES)
		field->line[field->lines++] = (struct rv_label_line){a, b, half};
}

static void add_edges(struct rv_label_field *field, struct rv_svg_box box)
{
	struct rv_svg_point a = {box.x, box.y}, b = {box.x + box.w, box.y},
			    c = {box.x + box.w, box.y + box.h}, d = {box.x, box.y + box.h};

	add_line(field, a, b, 1.0);
	add_line(field, b, c, 1.0);
	add_line(field, c, d, 1.0);
	add_line(field, d, a, 1.0);
}

static struct rv_svg_box arrow_box(struct rv_svg_point at, struct rv_svg_point way)
{
	double w = fabs(way.x) * arrow_half + fabs(way.y) * arrow_deep;
	double h = fabs(way.y) * arrow_half + fabs(way.x) * arrow_deep;

	return (struct rv_svg_box){at.x - w, at.y - h, 2.0 * w, 2.0 * h};
}

/* How much an arrow there would be in the way. */
static int in_the_way(const struct rv_label_field *field, struct rv_svg_box box)
{
	int count = 0;

	for (int i = 0; i < field->lines; i++)
		count += rv_label_crosses(field->line[i], box);
	for (int i = 0; i < field->boxes; i++)
		count += 4 * rv_svg_meet(field->box[i], box);
	if (box.x < field->room.x || box.y < field->room.y ||
	    box.x + box.w > field->room.x + field->room.w ||
	    box.y + box.h > field->room.y + field->room.h)
		count += 100;
	return count;
}

/* Places for a load's arrow, the dearest first: beside the load, and last behind it. */
enum { ARROW_PLACES = 13 };

static struct rv_svg_point arrow_place(const struct rv_drawing *drawing, int b, int i)
{
	const struct rv_svg_box *load = &drawing->scene.load[b];
	struct rv_svg_point way = drawing->scene.goes[b];
	struct rv_svg_point middle = {load->x + 0.5 * load->w, load->y + 0.5 * load->h};
	double half = 0.5 * (fabs(way.y) * load->w + fabs(way.x) * load->h);
	double ahead = 0.5 * (fabs(way.x) * load->w + fabs(way.y) * load->h);
	double aside = (i % 2 ? 1.0 : -1.0) * (half + arrow_beside + (i < 6 ? 0.0 : 8.0));
	double along = (double)(i / 2 % 3) * -0.5 * (ahead + arrow_half);

	if (i == ARROW_PLACES - 1) {
		aside = 0.0;
		along = -(ahead + arrow_half + 8.0);
	}
	return (struct rv_svg_point){middle.x - way.y * aside + way.x * along,
				     middle.y + way.x * aside + way.y * along};
}

/* Where least is in the way.  A load that is wide across its way has its lines at its ends, and its
 * labels there: behind it is better. */
static void set_arrow(struct rv_drawing *drawing, int b)
{
	const struct rv_svg_box *load = &drawing->scene.load[b];
	struct rv_svg_point way = drawing->scene.goes[b];
	bool is_wide = fabs(way.y) * load->w + fabs(way.x) * load->h > 2.0 * arrow_half;
	int least = -1;

	drawing->arrow[b] = (struct rv_svg_box){0.0, 0.0, 0.0, 0.0};
	if (load->w <= 0.0 || fabs(way.x) + fabs(way.y) < 0.5)
		return;
	for (int i = 0; i < ARROW_PLACES; i++) {
		struct rv_svg_point at = arrow_place(drawing, b, i);
		int count = in_the_way(&drawing->field, arrow_box(at, way)) +
			    (is_wide && i < ARROW_PLACES - 1);

		if (least < 0 || count < least) {
			least = count;
			drawing->arrow_at[b] = at;
			drawing->arrow[b] = arrow_box(at, way);
		}
	}
}

/* A leg near or over its limit lies on a band. */
static double leg_half(const struct rv_drawing *drawing, int leg)
{
	for (int i = 0; i < drawing->cards.count; i++) {
		const struct rv_card *card = &drawing->cards.card[i];
		if (card->kind == RV_CARD_LEG && card->index == leg)
			return card->use == RV_CARD_BELOW ? 3.0 : 8.0;
	}
	return 3.0;
}

static void add_ends(struct rv_drawing *drawing)
{
	for (int l = 0; l < drawing->scene.reeving.legs; l++) {
		const struct rv_reeve_leg *leg = &drawing->scene.reeving.leg[l];
		const struct rv_scene_leg *at = &drawing->scene.leg[l];

		add_line(&drawing->field, at->a, at->b, leg_half(drawing, l));
		if (leg->from.kind != RV_STEP_BLOCK)
			add_round(&drawing->field, at->a,
				  leg->from.kind == RV_STEP_WINCH ? 14.0 : 7.0);
		if (leg->to.kind != RV_STEP_BLOCK)
			add_round(&drawing->field, at->b,
				  leg->to.kind == RV_STEP_WINCH ? 14.0 : 7.0);
	}
}

static void set_field(const struct rv_plan *plan, struct rv_drawing *drawing)
{
	const struct rv_scene *scene = &drawing->scene;
	struct rv_label_field *field = &drawing->field;

	field->room = scene->field;
	field->boxes = field->lines = 0;
	add_ends(drawing);
	for (int b = 0; b < plan->rig.blocks; b++) {
		if (!scene->block[b].is_used)
			continue;
		add_round(field, scene->block[b].at, scene->block[b].radius + 1.0);
		add_line(field, scene->block[b].at, scene->mark[plan->rig.block[b].point].at, 1.0);
	}
	for (int p = 0; p < plan->rig.points; p++)
		if (scene->mark[p].is_used)
			add_round(field, scene->mark[p].at, 8.0);
	for (int b = 0; b < plan->rig.loads; b++)
		if (scene->load[b].w > 0.0)
			add_edges(field, scene->load[b]);
	for (int b = 0; b < plan->rig.loads; b++) {
		set_arrow(drawing, b);
		if (drawing->arrow[b].w > 0.0)
			add_box(field, drawing->arrow[b]);
	}
}

/* ---- what labels point at ---- */

static void aim(struct rv_label *label, struct rv_svg_point at, double clear)
{
	label->target[label->targets] = at;
	label->clear[label->targets++] = clear;
}

static void aim_at_point(const struct rv_plan *plan, const struct rv_drawing *drawing, int p,
			 struct rv_label *label)
{
	const struct rv_scene *scene = &drawing->scene;

	aim(label, scene->mark[p].is_used ? scene->mark[p].at : scene->point[p], 9.0);
	for (int b = 0; b < plan->rig.blocks && label->targets < RV_LABEL_TARGETS; b++)
		if (plan->rig.block[b].point == p && scene->block[b].is_used)
			aim(label, scene->block[b].at, fmax(9.0, scene->block[b].radius));
	for (int w = 0; w < plan->rig.winches; w++)
		if (plan->rig.winch[w].point == p)
			label->clear[0] = 14.0;
}

static void aim_at_leg(const struct rv_drawing *drawing, int l, enum rv_card_use use,
		       struct rv_label *label)
{
	static const double part[RV_LABEL_TARGETS] = {0.5, 0.4, 0.6,  0.3, 0.7,
						      0.2, 0.8, 0.12, 0.88};
	const struct rv_scene_leg *leg = &drawing->scene.leg[l];

	for (int i = 0; i < RV_LABEL_TARGETS; i++)
		aim(label,
		    (struct rv_svg_point){leg->a.x + part[i] * (leg->b.x - leg->a.x),
					  leg->a.y + part[i] * (leg->b.y - leg->a.y)},
		    use == RV_CARD_BELOW ? 4.0 : 9.0);
}

static void aim_at_load(const struct rv_drawing *drawing, int b, struct rv_label *label)
{
	const struct rv_svg_box *load = &drawing->scene.load[b];

	if (drawing->arrow[b].w > 0.0)
		aim(label, drawing->arrow_at[b], arrow_deep);
	aim(label, (struct rv_svg_point){load->x + 0.5 * load->w, load->y + 0.5 * load->h},
	    0.5 * fmin(load->w, load->h));
}

static void aim_at_bight(const struct rv_drawing *drawing, int p, struct rv_label *label)
{
	const struct rv_reeve_pass *pass = &drawing->scene.reeving.pass[p];
	struct rv_svg_point a = drawing->scene.leg[pass->before].a,
			    b = drawing->scene.block[pass->block].at,
			    c = drawing->scene.leg[pass->before + 1].b;

	label->may_go = true;
	/* A label beside a target begins half its height away from it. */
	for (int i = 0; i < 5; i++) {
		double out = 0.25 + 0.1 * i, side = 0.5 * out;
		aim(label,
		    (struct rv_svg_point){b.x + side * (a.x - b.x) + side * (c.x - b.x),
					  b.y + side * (a.y - b.y) + side * (c.y - b.y)},
		    0.0);
	}
}

static void set_labels(const struct rv_plan *plan, struct rv_drawing *drawing)
{
	drawing->field.labels = drawing->cards.count;
	for (int i = 0; i < drawing->cards.count; i++) {
		const struct rv_card *card = &drawing->cards.card[i];
		struct rv_label *label = &drawing->field.label[i];

		*label = (struct rv_label){.w = rv_card_width(card), .h = rv_card_height(card)};
		if (card->kind == RV_CARD_POINT)
			aim_at_point(plan, drawing, card->index, label);
		else if (card->kind == RV_CARD_LEG)
			aim_at_leg(drawing, card->index, card->use, label);
		else if (card->kind == RV_CARD_LOAD)
			aim_at_load(drawing, card->index, label);
		else
			aim_at_bight(drawing, card->index, label);
	}
}

/* ---- cropping ---- */

static void cover(struct rv_svg_box box, double *low, double *high)
{
	*low = fmin(*low, box.y);
	*high = fmax(*high, box.y + box.h);
}

/* Everything that is drawn moves up by so much. */
static void lift(const struct rv_plan *plan, double by, struct rv_drawing *drawing)
{
	struct rv_scene *scene = &drawing->scene;

	for (int l = 0; l < scene->reeving.legs; l++) {
		scene->leg[l].a.y -= by;
		scene->leg[l].b.y -= by;
	}
	for (int b = 0; b < plan->rig.blocks; b++)
		scene->block[b].at.y -= by;
	for (int p = 0; p < plan->rig.points; p++) {
		scene->mark[p].at.y -= by;
		scene->point[p].y -= by;
	}
	for (int b = 0; b < plan->rig.loads; b++) {
		scene->load[b].y -= by;
		drawing->arrow[b].y -= by;
		drawing->arrow_at[b].y -= by;
	}
	for (int i = 0; i < drawing->field.labels; i++) {
		drawing->field.label[i].box.y -= by;
		drawing->field.label[i].leader.a.y -= by;
		drawing->field.label[i].leader.b.y -= by;
	}
}

/* Takes away what is empty above and below. */
static void crop(const struct rv_plan *plan, struct rv_drawing *drawing)
{
	const struct rv_label_field *field = &drawing->field;
	struct rv_svg_box *whole = &drawing->scene.field;
	double low = whole->y + whole->h, high = whole->y;

	for (int i = 0; i < field->boxes; i++)
		cover(field->box[i], &low, &high);
	for (int b = 0; b < plan->rig.loads; b++)
		if (drawing->scene.load[b].w > 0.0)
			cover(drawing->scene.load[b], &low, &high);
	for (int i = 0; i < field->labels; i++)
		if (field->label[i].is_placed)
			cover(field->label[i].box, &low, &high);
	if (high <= low)
		return;
	lift(plan, low - 6.0 - whole->y, drawing);
	whole->h = fmin(whole->h, high - low + 12.0);
	drawing->field.room = *whole;
}

/* ---- whole ---- */

static enum rv_err lay_out(const struct rv_plan *plan, enum rv_force_unit unit, double margin,
			   struct rv_drawing *drawing, struct rv_error *error)
{
	struct rv_svg_box top = {0.0, rv_drawing_foot_head(plan), RV_DRAWING_WIDTH, 0.0};

	top.x = RV_DRAWING_EDGE;
	top.w = RV_DRAWING_WIDTH - 2.0 * RV_DRAWING_EDGE;
	enum rv_err err = rv_scene_make(plan, top, margin, &drawing->scene, error);
	if (err == RV_OK)
		err = rv_card_write(plan, &drawing->scene, unit, &drawing->cards, error);
	if (err != RV_OK)
		return err;
	set_field(plan, drawing);
	set_labels(plan, drawing);
	drawing->worst = rv_label_place(&drawing->field);
	return RV_OK;
}

enum rv_err rv_drawing_new(const struct rv_plan *plan, enum rv_force_unit unit,
			   struct rv_drawing **drawing, struct rv_error *error)
{
	struct rv_drawing *made = calloc(1, sizeof *made);
	enum rv_err err = RV_OK;

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the drawing");
	double best = (double)INFINITY, margin = margins[0];
	for (size_t i = 0; i < sizeof margins / sizeof margins[0] && best >= RV_LABEL_FAIR; i++) {
		err = lay_out(plan, unit, margins[i], made, error);
		if (err != RV_OK)
			break;
		if (made->worst < best) {
			best = made->worst;
			margin = margins[i];
		}
	}
	if (err == RV_OK && best >= RV_LABEL_FAIR)
		err = lay_out(plan, unit, margin, made, error);
	if (err != RV_OK) {
		free(made);
		return err;
	}
	crop(plan, made);
	*drawing = made;
	return RV_OK;
}

void rv_drawing_free(struct rv_drawing *drawing)
{
	free(drawing);
}

enum rv_err rv_drawing_write(const struct rv_plan *plan, struct rv_drawing *drawing,
			     struct rv_text *svg)
{
	struct rv_text inside = {0};

	rv_drawing_foot_write_head(plan, drawing, &inside);
	rv_drawing_rig_write(plan, drawing, &inside);
	drawing->height = rv_drawing_foot_write(plan, drawing, &inside);
	rv_svg_document(svg, (struct rv_svg_box){0.0, 0.0, RV_DRAWING_WIDTH, drawing->height},
			plan->rig.name, rv_drawing_rig_patterns, &inside);
	bool failed = inside.failed || svg->failed;
	rv_text_free(&inside);
	return failed ? RV_ERR_NOMEM : RV_OK;
}

enum rv_err rv_drawing_svg(const struct rv_plan *plan, enum rv_force_unit unit, struct rv_text *svg,
			   struct rv_error *error)
{
	struct rv_drawing *drawing = NULL;
	enum rv_err err = rv_drawing_new(plan, unit, &drawing, error);

	if (err != RV_OK)
		return err;
	err = rv_drawing_write(plan, drawing, svg);
	rv_drawing_free(drawing);
	return err == RV_OK ? RV_OK : rv_err_set(error, err, "no memory for the drawing");
}
