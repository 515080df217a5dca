/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/scene.h"

#include <math.h>
#include <string.h>

#include "core/clear.h"
#include "core/scene_lane.h"
#include "core/scene_view.h"

/* Picture units. */
static const double mark_behind = 24.0, beside = 15.0, between = 7.0;
static const double load_edge = 10.0;

int rv_scene_plan_leg(const struct rv_plan *plan, const struct rv_reeve_leg *leg)
{
	for (int l = 0; l < plan->legs; l++)
		if (plan->leg[l].rope == leg->rope && plan->leg[l].leg == leg->leg)
			return l;
	return -1;
}

/* ---- legs, blocks, marks ---- */

static struct rv_svg_point unit(double x, double y)
{
	double size = hypot(x, y);

	return size > 1e-9 ? (struct rv_svg_point){x / size, y / size}
			   : (struct rv_svg_point){0, 0};
}

static struct rv_svg_point step_at(const struct rv_scene *scene, struct rv_step step, int point)
{
	return step.kind == RV_STEP_BLOCK ? scene->hung[step.index] : scene->point[point];
}

static void set_legs(struct rv_scene *scene)
{
	for (int l = 0; l < scene->reeving.legs; l++) {
		const struct rv_reeve_leg *leg = &scene->reeving.leg[l];

		scene->leg[l].a = step_at(scene, leg->from, leg->a);
		scene->leg[l].b = step_at(scene, leg->to, leg->b);
	}
	rv_scene_lane_set(scene);
	for (int l = 0; l < scene->reeving.legs; l++) {
		struct rv_scene_leg *leg = &scene->leg[l];
		struct rv_svg_point along = unit(leg->b.x - leg->a.x, leg->b.y - leg->a.y);
		struct rv_svg_point by = {-along.y * leg->shift, along.x * leg->shift};

		leg->a = (struct rv_svg_point){leg->a.x + by.x, leg->a.y + by.y};
		leg->b = (struct rv_svg_point){leg->b.x + by.x, leg->b.y + by.y};
	}
}

/* The end of a leg that is at that block (made fast to its becket or run over it), or NULL. */
static struct rv_svg_point *end_at_block(struct rv_scene *scene, int leg, int block, int end)
{
	const struct rv_reeve_leg *is = &scene->reeving.leg[leg];
	struct rv_step step = end == 0 ? is->from : is->to;

	if (step.kind != RV_STEP_BLOCK || step.index != block)
		return NULL;
	return end == 0 ? &scene->leg[leg].a : &scene->leg[leg].b;
}

struct bundle {
	int count;
	struct rv_svg_point middle, toward;
	double spread;
};

static struct bundle bundle_of(struct rv_scene *scene, int block)
{
	struct bundle bundle = {0};

	for (int e = 0; e < 2 * scene->reeving.legs; e++) {
		struct rv_svg_point *at = end_at_block(scene, e / 2, block, e % 2);
		if (!at)
			continue;
		const struct rv_scene_leg *leg = &scene->leg[e / 2];
		struct rv_svg_point far = e % 2 == 0 ? leg->b : leg->a;
		struct rv_svg_point to = unit(far.x - at->x, far.y - at->y);

		bundle.count++;
		bundle.middle.x += at->x;
		bundle.middle.y += at->y;
		bundle.toward.x += to.x;
		bundle.toward.y += to.y;
	}
	bundle.middle.x /= fmax(1, bundle.count);
	bundle.middle.y /= fmax(1, bundle.count);
	bundle.toward = unit(bundle.toward.x, bundle.toward.y);
	for (int e = 0; e < 2 * scene->reeving.legs; e++) {
		struct rv_svg_point *at = end_at_block(scene, e / 2, block, e % 2);
		if (at)
			bundle.spread = fmax(
			    bundle.spread, hypot(at->x - bundle.middle.x, at->y - bundle.middle.y));
	}
	return bundle;
}

static void move_block(struct rv_scene *scene, int block, struct rv_svg_point by)
{
	scene->block[block].at.x += by.x;
	scene->block[block].at.y += by.y;
	for (int e = 0; e < 2 * scene->reeving.legs; e++) {
		struct rv_svg_point *at = end_at_block(scene, e / 2, block, e % 2);
		if (at)
			*at = (struct rv_svg_point){at->x + by.x, at->y + by.y};
	}
}

static double apart(struct rv_svg_point a, struct rv_svg_point b)
{
	return hypot(a.x - b.x, a.y - b.y);
}

/* Two blocks drawn on top of one another: each goes a little towards where its lines pull; if that
 * is the same way, one goes farther. */
static void part_blocks(struct rv_scene *scene, int a, int b)
{
	struct bundle first = bundle_of(scene, a), second = bundle_of(scene, b);
	double need = scene->block[a].radius + scene->block[b].radius + between;

	if (apart(scene->block[a].at, scene->block[b].at) >= need)
		return;
	if (first.toward.x * second.toward.x + first.toward.y * second.toward.y < 0.7) {
		move_block(scene, a,
			   (struct rv_svg_point){first.toward.x * beside, first.toward.y * beside});
		move_block(
		    scene, b,
		    (struct rv_svg_point){second.toward.x * beside, second.toward.y * beside});
	}
	double now = apart(scene->block[a].at, scene->block[b].at);
	if (now < need) {
		struct rv_svg_point way = unit(scene->block[b].at.x - scene->block[a].at.x,
					       scene->block[b].at.y - scene->block[a].at.y);
		if (now < 1.0)
			way = second.count ? second.toward : (struct rv_svg_point){1.0, 0.0};
		move_block(scene, b,
			   (struct rv_svg_point){way.x * (need - now), way.y * (need - now)});
	}
}

static bool is_made_fast(struct rv_step step)
{
	return step.kind == RV_STEP_POINT || step.kind == RV_STEP_WINCH;
}

/* A line made fast where a block is drawn begins beside the block. */
static void clear_of_block(struct rv_scene *scene, int end, const struct rv_scene_block *block)
{
	const struct rv_reeve_leg *is = &scene->reeving.leg[end / 2];
	struct rv_scene_leg *leg = &scene->leg[end / 2];
	struct rv_svg_point *at = end % 2 == 0 ? &leg->a : &leg->b;
	struct rv_svg_point far = end % 2 == 0 ? leg->b : leg->a;
	struct rv_svg_point way = unit(far.x - at->x, far.y - at->y);
	double need = block->radius + between;

	if (!is_made_fast(end % 2 == 0 ? is->from : is->to) || apart(*at, far) < 3.0 * need)
		return;
	for (int i = 0; i < 40 && apart(*at, block->at) < need; i++)
		*at = (struct rv_svg_point){at->x + 2.0 * way.x, at->y + 2.0 * way.y};
}

static void set_blocks(struct rv_scene *scene, int blocks)
{
	for (int b = 0; b < blocks; b++) {
		struct bundle bundle = bundle_of(scene, b);

		scene->block[b].is_used = bundle.count > 0;
		scene->block[b].at = bundle.count ? bundle.middle : scene->hung[b];
		scene->block[b].radius = fmax(9.0, bundle.spread + 4.0);
	}
	for (int b = 1; b < blocks; b++)
		for (int a = 0; a < b; a++)
			part_blocks(scene, a, b);
	for (int e = 0; e < 2 * scene->reeving.legs; e++)
		for (int b = 0; b < blocks; b++)
			if (scene->block[b].is_used)
				clear_of_block(scene, e, &scene->block[b]);
}

static double off_line(struct rv_svg_point at, struct rv_svg_point a, struct rv_svg_point b)
{
	double dx = b.x - a.x, dy = b.y - a.y, len = fmax(1e-9, dx * dx + dy * dy);
	double t = fmin(1.0, fmax(0.0, ((at.x - a.x) * dx + (at.y - a.y) * dy) / len));

	return hypot(at.x - a.x - t * dx, at.y - a.y - t * dy);
}

/* How much room there is for the mark of a point: from lines, ends, blocks and other points. */
static double room_at(const struct rv_scene *scene, int point, struct rv_svg_point at)
{
	double room = (double)INFINITY;

	for (int l = 0; l < scene->reeving.legs; l++)
		room = fmin(room, off_line(at, scene->leg[l].a, scene->leg[l].b));
	for (int b = 0; b < RV_RIG_BLOCKS; b++)
		if (scene->block[b].is_used)
			room = fmin(room, apart(at, scene->block[b].at) - scene->block[b].radius);
	for (int p = 0; p < point; p++)
		if (scene->mark[p].is_used)
			room = fmin(room, apart(at, scene->mark[p].at) - 8.0);
	return room;
}

/* Away from where the lines pull, or to one side where something is in the way there. */
static void put_behind(struct rv_scene *scene, int point, double behind)
{
	static const double turns_deg[] = {0.0, 40.0, -40.0, 80.0, -80.0, 120.0, -120.0, 160.0};
	struct rv_scene_mark *mark = &scene->mark[point];
	struct rv_svg_point middle = mark->at;
	double most = -(double)INFINITY;

	for (size_t i = 0; i < sizeof turns_deg / sizeof turns_deg[0] && most < 11.0; i++) {
		double turn = turns_deg[i] * M_PI / 180.0;
		struct rv_svg_point way = {mark->toward.x * cos(turn) - mark->toward.y * sin(turn),
					   mark->toward.x * sin(turn) + mark->toward.y * cos(turn)};
		struct rv_svg_point at = {middle.x - way.x * behind, middle.y - way.y * behind};
		double room = fmin(12.0, room_at(scene, point, at));

		if (room > most) {
			most = room;
			mark->at = at;
		}
	}
}

static void set_mark(const struct rv_plan *plan, int p, struct rv_scene *scene)
{
	struct rv_scene_mark *mark = &scene->mark[p];
	struct rv_svg_point middle = {0.0, 0.0}, toward = {0.0, 0.0};
	double radius = 0.0;

	for (int e = 0; e < 2 * scene->reeving.legs; e++) {
		const struct rv_reeve_leg *is = &scene->reeving.leg[e / 2];
		const struct rv_scene_leg *leg = &scene->leg[e / 2];
		struct rv_svg_point at = e % 2 == 0 ? leg->a : leg->b;
		struct rv_svg_point far = e % 2 == 0 ? leg->b : leg->a;
		struct rv_svg_point to = unit(far.x - at.x, far.y - at.y);

		if ((e % 2 == 0 ? is->a : is->b) != p)
			continue;
		toward.x += to.x;
		toward.y += to.y;
		struct rv_step step = e % 2 == 0 ? is->from : is->to;
		if (!is_made_fast(step))
			continue;
		mark->ends++;
		mark->winches += step.kind == RV_STEP_WINCH;
		middle.x += at.x;
		middle.y += at.y;
	}
	for (int b = 0; b < plan->rig.blocks; b++) {
		if (plan->rig.block[b].point != p || !scene->block[b].is_used)
			continue;
		mark->blocks++;
		middle.x += scene->block[b].at.x;
		middle.y += scene->block[b].at.y;
		radius = fmax(radius, scene->block[b].radius);
	}
	int things = mark->ends + mark->blocks;
	mark->is_used = things > 0;
	mark->toward = unit(toward.x, toward.y);
	if (fabs(mark->toward.x) + fabs(mark->toward.y) < 0.5)
		mark->toward = (struct rv_svg_point){0.0, -1.0};
	mark->at =
	    things ? (struct rv_svg_point){middle.x / things, middle.y / things} : scene->point[p];
	if (mark->blocks > 0 || mark->ends > 1)
		put_behind(scene, p, fmax(mark_behind, radius + 13.0));
}

/* Around everything that moves with the load. */
static void set_load(const struct rv_plan *plan, int b, struct rv_scene *scene)
{
	double x0 = (double)INFINITY, y0 = x0, x1 = -x0, y1 = -x0;

	for (int p = 0; p < plan->rig.points; p++) {
		const struct rv_scene_mark *mark = &scene->mark[p];
		if (plan->rig.point[p].load != b)
			continue;
		x0 = fmin(x0, mark->at.x);
		x1 = fmax(x1, mark->at.x);
		y0 = fmin(y0, mark->at.y);
		y1 = fmax(y1, mark->at.y);
	}
	scene->load[b] =
	    x0 <= x1 ? (struct rv_svg_box){x0 - load_edge, y0 - load_edge,
					   x1 - x0 + 2.0 * load_edge, y1 - y0 + 2.0 * load_edge}
		     : (struct rv_svg_box){0.0, 0.0, 0.0, 0.0};
	double sense = plan->rig.haul_out ? -1.0 : 1.0;
	struct rv_svg_point way = rv_scene_view_way(scene, plan->goes[b]);
	scene->goes[b] = hypot(way.x, way.y) > 0.1 ? unit(sense * way.x, sense * way.y)
						   : (struct rv_svg_point){0.0, 0.0};
}

static void unit_to(const double from_m[RV_DIM], const double to_m[RV_DIM], double way[RV_DIM])
{
	double size = 0.0;

	for (int i = 0; i < RV_DIM; i++) {
		way[i] = to_m[i] - from_m[i];
		size += way[i] * way[i];
	}
	for (int i = 0; i < RV_DIM; i++)
		way[i] /= fmax(sqrt(size), 1e-12);
}

static const double *step_at_m(const struct rv_plan *plan, struct rv_step step, int point)
{
	return step.kind == RV_STEP_BLOCK ? plan->block_at_m[step.index] : plan->at_m[point];
}

static void set_bights(const struct rv_plan *plan, struct rv_scene *scene)
{
	for (int p = 0; p < scene->reeving.passes; p++) {
		const struct rv_reeve_pass *pass = &scene->reeving.pass[p];
		const struct rv_reeve_leg *in = &scene->reeving.leg[pass->before], *out = in + 1;
		double one[RV_DIM], two[RV_DIM], cosine = 0.0;

		unit_to(plan->block_at_m[pass->block], step_at_m(plan, in->from, in->a), one);
		unit_to(plan->block_at_m[pass->block], step_at_m(plan, out->to, out->b), two);
		for (int i = 0; i < RV_DIM; i++)
			cosine += one[i] * two[i];
		scene->has_bight[p] = cosine < cos(RV_CLEAR_BIGHT_DEG * M_PI / 180.0);
	}
}

enum rv_err rv_scene_make(const struct rv_plan *plan, struct rv_svg_box top, double margin,
			  struct rv_scene *scene, struct rv_error *error)
{
	memset(scene, 0, sizeof *scene);
	enum rv_err err = rv_reeve_cut(&plan->rig, &scene->reeving, error);
	if (err != RV_OK)
		return err;
	rv_scene_view_set(plan, top, margin, scene);
	for (int p = 0; p < plan->rig.points; p++)
		scene->point[p] = rv_scene_view_at(scene, plan->at_m[p]);
	for (int b = 0; b < plan->rig.blocks; b++)
		scene->hung[b] = rv_scene_view_at(scene, plan->block_at_m[b]);
	set_bights(plan, scene);
	set_legs(scene);
	set_blocks(scene, plan->rig.blocks);
	for (int p = 0; p < plan->rig.points; p++)
		set_mark(plan, p, scene);
	for (int b = 0; b < plan->rig.loads; b++)
		set_load(plan, b, scene);
	return RV_OK;
}
