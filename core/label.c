/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/label.h"

#include <math.h>

/* Lengths in the picture's units; what a fault costs is told in the same. */
enum { TURNS = 24, SPACES = 12, ROUNDS = 3, PUSHES = 96 };
static const double spaces[SPACES] = {4, 10, 18, 28, 40, 54, 72, 94, 122, 158, 204, 262};
static const double gap = 3.0, no_leader_below = 9.0, leaders_apart = 7.0;
static const double cost_along = RV_LABEL_FAIR, cost_covers = 300.0, cost_crosses = 14.0,
		    cost_symbol = 110.0, cost_later = 4.0, go_above = 30.0;
/* What it costs to push a label away; more each time it happens to one, so that none is pushed for
 * ever. */
static const double push_first = 200.0, push_again = 120.0, push_may_go = 20.0;

/* Picture units neither overflow nor vanish when squared. */
static double length(double x, double y)
{
	return sqrt(x * x + y * y);
}

static double side(struct rv_svg_point a, struct rv_svg_point b, struct rv_svg_point c)
{
	return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

static bool lines_cross(struct rv_label_line p, struct rv_label_line q)
{
	return side(p.a, p.b, q.a) * side(p.a, p.b, q.b) < 0.0 &&
	       side(q.a, q.b, p.a) * side(q.a, q.b, p.b) < 0.0;
}

static bool holds(struct rv_svg_box box, struct rv_svg_point at)
{
	return at.x >= box.x && at.x <= box.x + box.w && at.y >= box.y && at.y <= box.y + box.h;
}

bool rv_label_crosses(struct rv_label_line line, struct rv_svg_box box)
{
	struct rv_svg_point corner[4] = {{box.x, box.y},
					 {box.x + box.w, box.y},
					 {box.x + box.w, box.y + box.h},
					 {box.x, box.y + box.h}};

	if (fmax(line.a.x, line.b.x) < box.x || fmin(line.a.x, line.b.x) > box.x + box.w ||
	    fmax(line.a.y, line.b.y) < box.y || fmin(line.a.y, line.b.y) > box.y + box.h)
		return false;
	if (holds(box, line.a) || holds(box, line.b))
		return true;
	for (int i = 0; i < 4; i++)
		if (lines_cross(line, (struct rv_label_line){corner[i], corner[(i + 1) % 4], 0.0}))
			return true;
	return false;
}

static struct rv_svg_box wider(struct rv_svg_box box, double by)
{
	return (struct rv_svg_box){box.x - by, box.y - by, box.w + 2.0 * by, box.h + 2.0 * by};
}

static double reach(const struct rv_label *label)
{
	return length(label->leader.a.x - label->leader.b.x, label->leader.a.y - label->leader.b.y);
}

/* From the edge of the box to the target, stopping short of it by the label's clear. */
static void set_leader(struct rv_label *label, int t)
{
	struct rv_svg_point target = label->target[t];
	struct rv_svg_point from = {
	    fmin(fmax(target.x, label->box.x), label->box.x + label->box.w),
	    fmin(fmax(target.y, label->box.y), label->box.y + label->box.h)};
	double far = length(target.x - from.x, target.y - from.y);
	double keep = far > 0.0 ? fmax(0.0, 1.0 - label->clear[t] / far) : 0.0;

	label->leader.a = from;
	label->leader.b = (struct rv_svg_point){from.x + keep * (target.x - from.x),
						from.y + keep * (target.y - from.y)};
	label->has_leader = reach(label) > no_leader_below;
}

static bool inside(struct rv_svg_box box, struct rv_svg_box room)
{
	return box.x >= room.x && box.y >= room.y && box.x + box.w <= room.x + room.w &&
	       box.y + box.h <= room.y + room.h;
}

static double off_line(struct rv_svg_point at, struct rv_label_line line)
{
	double dx = line.b.x - line.a.x, dy = line.b.y - line.a.y;
	double len = fmax(1e-9, dx * dx + dy * dy);
	double t = fmin(1.0, fmax(0.0, ((at.x - line.a.x) * dx + (at.y - line.a.y) * dy) / len));

	return length(at.x - line.a.x - t * dx, at.y - line.a.y - t * dy);
}

static bool are_apart(double a, double b, double c, double d)
{
	return fmin(a, b) - fmax(c, d) > leaders_apart || fmin(c, d) - fmax(a, b) > leaders_apart;
}

static bool leaders_meet(struct rv_label_line p, struct rv_label_line q)
{
	if (are_apart(p.a.x, p.b.x, q.a.x, q.b.x) || are_apart(p.a.y, p.b.y, q.a.y, q.b.y))
		return false;
	return lines_cross(p, q) || off_line(p.a, q) < leaders_apart ||
	       off_line(p.b, q) < leaders_apart || off_line(q.a, p) < leaders_apart ||
	       off_line(q.b, p) < leaders_apart;
}

/* In the way of what is drawn. */
static bool is_barred(const struct rv_label_field *field, const struct rv_label *label)
{
	struct rv_svg_box around = wider(label->box, gap);

	if (!inside(label->box, field->room))
		return true;
	for (int i = 0; i < field->boxes; i++)
		if (rv_svg_meet(around, field->box[i]))
			return true;
	return false;
}

/* In the way of one another. */
static bool is_against(const struct rv_label *label, const struct rv_label *other)
{
	struct rv_svg_box around = wider(label->box, gap);

	if (other == label || !other->is_placed)
		return false;
	return rv_svg_meet(around, other->box) ||
	       (label->has_leader && rv_label_crosses(label->leader, wider(other->box, gap))) ||
	       (other->has_leader && rv_label_crosses(other->leader, around)) ||
	       (label->has_leader && other->has_leader &&
		leaders_meet(label->leader, other->leader));
}

/* A leader that lies on a rope is taken for a part of it. */
static bool runs_along(struct rv_label_line leader, struct rv_label_line rope)
{
	struct rv_svg_point middle = {0.5 * (leader.a.x + leader.b.x),
				      0.5 * (leader.a.y + leader.b.y)};

	return off_line(middle, rope) < rope.half + 3.0 &&
	       off_line(leader.a, rope) < rope.half + 6.0;
}

static double cost(const struct rv_label_field *field, const struct rv_label *label, int target)
{
	double sum = reach(label) + cost_later * target;

	for (int i = 0; i < field->lines; i++) {
		if (rv_label_crosses(field->line[i], wider(label->box, gap + field->line[i].half)))
			sum += cost_covers;
		else if (label->has_leader && lines_cross(field->line[i], label->leader))
			sum += cost_crosses;
		if (label->has_leader && runs_along(label->leader, field->line[i]))
			sum += cost_along;
	}
	for (int i = 0; i < field->boxes && label->has_leader; i++)
		if (rv_label_crosses(label->leader, field->box[i]) &&
		    !holds(wider(field->box[i], label->clear[target]), label->target[target]))
			sum += cost_symbol;
	return sum;
}

struct best {
	struct rv_label label; /* is_placed: there is a place */
	double least;	       /* its cost, or what it must stay below */
	const double *push;    /* what each label costs to push away; NULL = none may be */
};

/* With the label's box centred so far from its target in that direction. */
static void try_at(const struct rv_label_field *field, struct rv_label *label, int target,
		   double turn, double space, struct best *best)
{
	struct rv_svg_point at = label->target[target];

	label->box = (struct rv_svg_box){
	    at.x + cos(turn) * (space + 0.5 * label->w) - 0.5 * label->w,
	    at.y + sin(turn) * (space + 0.5 * label->h) - 0.5 * label->h, label->w, label->h};
	set_leader(label, target);
	if (reach(label) + cost_later * target >= best->least || is_barred(field, label))
		return;
	double lies = cost(field, label, target), sum = lies;
	for (int i = 0; i < field->labels && sum < best->least; i++)
		if (is_against(label, &field->label[i]))
			sum += best->push ? best->push[i] : (double)INFINITY;
	if (sum >= best->least)
		return;
	best->least = sum;
	best->label = *label;
	best->label.is_placed = true;
	best->label.cost = lies;
}

static void try_around(const struct rv_label_field *field, struct rv_label *label, int target,
		       struct best *best)
{
	/* Farther out than the best costs so far is dearer still. */
	for (int s = 0; s < SPACES && spaces[s] < best->least; s++)
		for (int t = 0; t < TURNS; t++)
			try_at(field, label, target, 2.0 * M_PI * t / TURNS,
			       label->clear[target] + spaces[s], best);
}

static void place(const struct rv_label_field *field, struct rv_label *label, const double *push)
{
	struct best best = {*label, label->may_go ? go_above : (double)INFINITY, push};

	best.label.is_placed = false;
	label->is_placed = false;
	for (int i = 0; i < label->targets; i++)
		try_around(field, label, i, &best);
	*label = best.label;
}

/* Until all lie as well as they can with the others where they are. */
static void place_all(struct rv_label_field *field)
{
	bool is_better = true;

	for (int round = 0; round < ROUNDS && is_better; round++) {
		is_better = false;
		for (int i = 0; i < field->labels; i++) {
			struct rv_label before = field->label[i];

			place(field, &field->label[i], NULL);
			is_better = is_better || before.is_placed != field->label[i].is_placed ||
				    field->label[i].cost < before.cost - 1e-6;
		}
	}
}

/* The first that must be there and is not, or -1. */
static int find_missing(const struct rv_label_field *field)
{
	for (int i = 0; i < field->labels; i++)
		if (!field->label[i].is_placed && !field->label[i].may_go)
			return i;
	return -1;
}

/* Gives the label the place where it pushes away the least, and those another if there is one.
 * Returns whether there is a place at all. */
static bool push_in(struct rv_label_field *field, struct rv_label *label, double *push)
{
	bool is_away[RV_LABELS] = {false};

	place(field, label, push);
	if (!label->is_placed)
		return false;
	for (int i = 0; i < field->labels; i++)
		is_away[i] = is_against(label, &field->label[i]);
	for (int i = 0; i < field->labels; i++)
		if (is_away[i]) {
			field->label[i].is_placed = false;
			push[i] += push_again;
		}
	for (int i = 0; i < field->labels; i++)
		if (is_away[i])
			place(field, &field->label[i], NULL);
	return true;
}

double rv_label_place(struct rv_label_field *field)
{
	double push[RV_LABELS] = {0.0}, worst = 0.0;
	int missing;

	for (int i = 0; i < field->labels; i++) {
		field->label[i].is_placed = false;
		push[i] = field->label[i].may_go ? push_may_go : push_first;
	}
	place_all(field);
	for (int k = 0; k < PUSHES && (missing = find_missing(field)) >= 0; k++)
		if (!push_in(field, &field->label[missing], push))
			break;
	place_all(field);
	for (int i = 0; i < field->labels; i++)
		if (field->label[i].is_placed)
			worst = fmax(worst, field->label[i].cost);
	return find_missing(field) >= 0 ? (double)INFINITY : worst;
}
