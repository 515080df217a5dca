/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/hang.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define UNKNOWN ((double)NAN)

/* Adds the unit vector from one point to the point of a step of a path. */
static void add_direction(const struct rv_rig *rig, int from, const struct rv_step *step,
			  double sum[RV_DIM])
{
	int to = rv_rig_step_point(rig, step);
	double way[RV_DIM], size = 0.0;

	if (to < 0)
		return;
	for (int i = 0; i < RV_DIM; i++) {
		way[i] = rig->point[to].at_m[i] - rig->point[from].at_m[i];
		size += way[i] * way[i];
	}
	for (int i = 0; i < RV_DIM && size > 0.0; i++)
		sum[i] += way[i] / sqrt(size);
}

/* The way the lines pull the block when all are equally tight: a first guess of where its strop
 * points. */
static void pulled_way(const struct rv_rig *rig, int block, double sum[RV_DIM])
{
	int point = rig->block[block].point;

	sum[0] = sum[1] = sum[2] = 0.0;
	for (int r = 0; r < rig->ropes; r++) {
		const struct rv_rope *rope = &rig->rope[r];
		for (int i = 0; i < rope->steps; i++) {
			if (rope->path[i].kind != RV_STEP_BLOCK || rope->path[i].index != block)
				continue;
			if (i > 0)
				add_direction(rig, point, &rope->path[i - 1], sum);
			if (i + 1 < rope->steps)
				add_direction(rig, point, &rope->path[i + 1], sum);
		}
	}
	double size = sqrt(sum[0] * sum[0] + sum[1] * sum[1] + sum[2] * sum[2]);
	if (size < 1e-9) {
		sum[0] = sum[1] = sum[2] = 0.0;
		sum[rig->dimensions == 3 ? 2 : 1] = -1.0;
		size = 1.0;
	}
	for (int i = 0; i < RV_DIM; i++)
		sum[i] /= size;
}

static void add_pendant(struct rv_rig *rig, int block)
{
	struct rv_block *hung = &rig->block[block];
	struct rv_point *pin = &rig->point[rig->points];
	struct rv_rope *rope = &rig->rope[rig->ropes];
	double way[RV_DIM];

	pulled_way(rig, block, way);
	memset(pin, 0, sizeof *pin);
	snprintf(pin->name, sizeof pin->name, "%.59s pin", hung->name);
	pin->kind = RV_POINT_FLOATS;
	pin->load = -1;
	pin->within_m = UNKNOWN;
	pin->is_pin = true;
	pin->rating = (struct rv_rating){UNKNOWN, UNKNOWN, UNKNOWN, false};
	pin->line = hung->line;
	for (int i = 0; i < RV_DIM; i++)
		pin->at_m[i] = rig->point[hung->point].at_m[i] + hung->hangs_m * way[i];

	memset(rope, 0, sizeof *rope);
	snprintf(rope->name, sizeof rope->name, "%.55s pendant", hung->name);
	rope->steps = 2;
	rope->path[0] = (struct rv_step){RV_STEP_POINT, hung->point, -1};
	rope->path[1] = (struct rv_step){RV_STEP_POINT, rig->points, -1};
	rope->length_m = hung->hangs_m;
	rope->diameter_m = rope->stiffness_n = UNKNOWN;
	rope->rating = pin->rating;
	rope->is_pendant = true;
	rope->line = hung->line;
	hung->point = rig->points;
	rig->points++;
	rig->ropes++;
}

enum rv_err rv_hang_expand(struct rv_rig *rig, struct rv_error *error)
{
	for (int b = 0; b < rig->blocks; b++) {
		if (isnan(rig->block[b].hangs_m))
			continue;
		if (rig->points == RV_RIG_POINTS || rig->ropes == RV_RIG_LINES) {
			enum rv_err err = rv_err_at(
			    error, RV_ERR_RANGE, rig->block[b].line, 0,
			    "block %s hangs on a strop, and there is no room for it: at most %d "
			    "lines and hanging blocks, and %d points and hanging blocks",
			    rig->block[b].name, RV_RIG_LINES, RV_RIG_POINTS);
			if (error)
				snprintf(error->tag, sizeof error->tag, "too_many");
			return err;
		}
		add_pendant(rig, b);
	}
	return RV_OK;
}

int rv_hang_declared_ropes(const struct rv_rig *rig)
{
	int count = 0;

	while (count < rig->ropes && !rig->rope[count].is_pendant)
		count++;
	return count;
}
