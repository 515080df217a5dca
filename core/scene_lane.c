/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/scene_lane.h"

#include <math.h>

/* Picture units and degrees. */
static const double lane_width = 16.0, crowded_below = 11.0, shared_above = 16.0,
		    parallel_deg = 9.0;

struct line {
	double x, y, dx, dy, len; /* start, unit vector, length */
};

static struct line line_of(const struct rv_scene_leg *leg)
{
	double dx = leg->b.x - leg->a.x, dy = leg->b.y - leg->a.y, len = hypot(dx, dy);

	if (len < 1e-6)
		return (struct line){leg->a.x, leg->a.y, 1.0, 0.0, 0.0};
	return (struct line){leg->a.x, leg->a.y, dx / len, dy / len, len};
}

static double along(const struct line *line, double x, double y)
{
	return (x - line->x) * line->dx + (y - line->y) * line->dy;
}

static double across(const struct line *line, double x, double y)
{
	return (y - line->y) * line->dx - (x - line->x) * line->dy;
}

/* From where to where along the line the leg runs. */
static void stretch(const struct line *line, const struct rv_scene_leg *leg, double *low,
		    double *high)
{
	double a = along(line, leg->a.x, leg->a.y), b = along(line, leg->b.x, leg->b.y);

	*low = fmin(a, b);
	*high = fmax(a, b);
}

/* How far across the line the leg is at a place along it. */
static double across_at(const struct line *line, const struct rv_scene_leg *leg, double at)
{
	double a = along(line, leg->a.x, leg->a.y), b = along(line, leg->b.x, leg->b.y);
	double from = across(line, leg->a.x, leg->a.y), to = across(line, leg->b.x, leg->b.y);

	return fabs(b - a) < 1e-6 ? from : from + (to - from) * (at - a) / (b - a);
}

static bool are_crowded(const struct rv_scene_leg *one, const struct rv_scene_leg *two)
{
	struct line a = line_of(one), b = line_of(two);
	double low, high, near = 0.0;

	if (fabs(a.dx * b.dy - a.dy * b.dx) > sin(parallel_deg * M_PI / 180.0))
		return false;
	stretch(&a, two, &low, &high);
	low = fmax(low, 0.0);
	high = fmin(high, a.len);
	for (int i = 0; i <= 10; i++)
		if (fabs(across_at(&a, two, low + 0.1 * i * (high - low))) < crowded_below)
			near += (high - low) / 11.0;
	return near > shared_above;
}

static int root_of(const int *root, int leg)
{
	while (root[leg] != leg)
		leg = root[leg];
	return leg;
}

struct member {
	int leg;
	double low, high, across;
};

static bool goes_first(const struct member *a, const struct member *b)
{
	/* Nearer than this they lie on one another: the order along the line tells. */
	if (fabs(a->across - b->across) > 2.0)
		return a->across < b->across;
	return a->leg < b->leg;
}

static void sort(struct member *member, int count)
{
	for (int i = 1; i < count; i++)
		for (int k = i; k > 0 && goes_first(&member[k], &member[k - 1]); k--) {
			struct member swap = member[k];
			member[k] = member[k - 1];
			member[k - 1] = swap;
		}
}

/* Along the longest leg of the bundle. */
static struct line axis_of(const struct rv_scene *scene, const int *root, int bundle)
{
	struct line axis = {0};

	for (int l = 0; l < scene->reeving.legs; l++) {
		struct line line = line_of(&scene->leg[l]);
		if (root_of(root, l) == bundle && line.len > axis.len)
			axis = line;
	}
	return axis;
}

static int collect(const struct rv_scene *scene, const int *root, int bundle, struct member *member)
{
	struct line axis = axis_of(scene, root, bundle);
	int count = 0;

	for (int l = 0; l < scene->reeving.legs; l++) {
		if (root_of(root, l) != bundle)
			continue;
		struct member *made = &member[count++];
		made->leg = l;
		stretch(&axis, &scene->leg[l], &made->low, &made->high);
		made->across = across_at(&axis, &scene->leg[l], 0.5 * (made->low + made->high));
	}
	return count;
}

/* Shift is across the leg's own direction: turned round for those that run against the axis. */
static void set_lane(struct rv_scene_leg *leg, const struct line *axis, int lane, int lanes)
{
	struct line line = line_of(leg);
	double sense = line.dx * axis->dx + line.dy * axis->dy < 0.0 ? -1.0 : 1.0;

	leg->lane = lane;
	leg->lanes = lanes;
	leg->shift = sense * lane_width * (lane - 0.5 * (lanes - 1));
}

static void set_bundle(struct rv_scene *scene, const int *root, int bundle)
{
	struct member member[RV_RIG_LEGS];
	int lane[RV_RIG_LEGS], lanes = 1;
	int count = collect(scene, root, bundle, member);

	if (count < 2)
		return;
	sort(member, count);
	for (int i = 0; i < count; i++) {
		lane[i] = 0;
		for (int k = 0; k < i; k++)
			if (member[k].low + 1.0 < member[i].high &&
			    member[i].low + 1.0 < member[k].high && lane[k] >= lane[i])
				lane[i] = lane[k] + 1;
		lanes = lane[i] + 1 > lanes ? lane[i] + 1 : lanes;
	}
	struct line axis = axis_of(scene, root, bundle);
	for (int i = 0; i < count; i++)
		set_lane(&scene->leg[member[i].leg], &axis, lane[i], lanes);
}

void rv_scene_lane_set(struct rv_scene *scene)
{
	int root[RV_RIG_LEGS];
	int legs = scene->reeving.legs;

	for (int l = 0; l < legs; l++) {
		root[l] = l;
		scene->leg[l].lane = 0;
		scene->leg[l].lanes = 1;
		scene->leg[l].shift = 0.0;
	}
	for (int l = 1; l < legs; l++)
		for (int k = 0; k < l; k++)
			if (are_crowded(&scene->leg[k], &scene->leg[l]))
				root[root_of(root, l)] = root_of(root, k);
	for (int l = 0; l < legs; l++)
		if (root[l] == l)
			set_bundle(scene, root, l);
}
