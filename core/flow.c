/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/flow.h"

#include <math.h>
#include <stdlib.h>

#include "core/cell.h"
#include "core/force.h"

void rv_flow_spread(const struct rv_layout *layout, const struct rv_chain *chain, int cell,
		    double load_n, double *tension_n)
{
	const struct rv_reeving *reeving = &layout->reeving;
	double start_n = rv_cell_start(layout, chain, cell, fmax(0.0, load_n));
	int piece = rv_cell_piece(layout, cell);

	for (int l = 0; l < reeving->legs; l++)
		tension_n[l] = reeving->leg[l].piece == piece
				   ? fmax(0.0, chain->slope[l] * start_n + chain->constant_n[l])
				   : (double)NAN;
}

struct question {
	const struct rv_layout *layout;
	int cell;
	double load_n;
};

static int output_count(const struct rv_layout *layout)
{
	return layout->set.components + layout->reeving.legs + layout->rig.cells;
}

static bool answer(void *context, const struct rv_friction *friction, double *outputs)
{
	const struct question *question = context;
	const struct rv_layout *layout = question->layout;
	struct rv_chain chain;
	double tension_n[RV_RIG_LEGS];

	rv_friction_chain(&layout->rig, &layout->reeving, &layout->pose, friction, &chain);
	rv_flow_spread(layout, &chain, question->cell, question->load_n, tension_n);
	for (int i = 0; i < layout->set.components; i++)
		*outputs++ = rv_force_on(&layout->set, &layout->pose, i, tension_n);
	for (int l = 0; l < layout->reeving.legs; l++)
		*outputs++ = tension_n[l];
	for (int c = 0; c < layout->rig.cells; c++)
		*outputs++ = rv_force_at_cell(&layout->set, &layout->pose, c, tension_n);
	return true;
}

/* True when every load grows in proportion to the given one. */
static bool is_proportional(const struct rv_layout *layout)
{
	for (int b = 0; b < layout->rig.blocks; b++)
		if (layout->rig.block[b].drag_n > 0.0)
			return false;
	for (int p = 0; p < layout->rig.points; p++)
		if (rv_pose_size(layout->set.outside_n[p]) > 0.0)
			return false;
	return true;
}

struct corner_list {
	int count;
	uint64_t *corner;
};

static enum rv_err remember(struct corner_list *list, uint64_t corner)
{
	for (int i = 0; i < list->count; i++)
		if (list->corner[i] == corner)
			return RV_OK;
	uint64_t *grown = realloc(list->corner, sizeof *grown * (size_t)(list->count + 1));
	if (!grown)
		return RV_ERR_NOMEM;
	list->corner = grown;
	list->corner[list->count++] = corner;
	return RV_OK;
}

static enum rv_err ask_at(const struct rv_vary *vary, struct question *question,
			  struct corner_list *list)
{
	int n = output_count(question->layout);
	double *ends = calloc(2 * (size_t)n + 1, sizeof *ends);
	uint64_t *at = calloc(2 * (size_t)n + 1, sizeof *at);
	struct rv_vary_question asked = {answer, question, n};
	struct rv_vary_extremes extremes = {ends, ends + n, at, at + n, 0};
	enum rv_err err = ends && at ? RV_OK : RV_ERR_NOMEM;

	if (err == RV_OK)
		err = rv_vary_extremes(vary, &asked, &extremes);
	for (int i = 0; i < 2 * n && err == RV_OK; i++)
		if (!isnan(ends[i]))
			err = remember(list, at[i]);
	free(ends);
	free(at);
	return err;
}

/* With drag or weights the corner of an extreme may change with the load: it is sought at loads
 * over the whole of what a line can carry. */
static enum rv_err find_corners(const struct rv_layout *layout, const struct rv_vary *vary,
				struct corner_list *list)
{
	int lowest = is_proportional(layout) ? 14 : 2; /* 1e7 N, 10 N: half decades */
	enum rv_err err = RV_OK;

	for (int c = 0; c < layout->rig.cells; c++) {
		if (rv_cell_piece(layout, c) < 0)
			continue;
		for (int half = lowest; half <= 14 && err == RV_OK; half++) {
			struct question question = {layout, c, pow(10.0, half / 2.0)};
			err = ask_at(vary, &question, list);
		}
	}
	return err;
}

enum rv_err rv_flow_make(const struct rv_layout *layout, int sense, struct rv_flow *flow,
			 struct rv_error *error)
{
	struct corner_list list = {0};
	struct rv_vary vary;
	enum rv_err err = rv_vary_set(layout, sense, &vary, error);

	if (err != RV_OK)
		return err;
	flow->friction = vary.nominal;
	rv_friction_chain(&layout->rig, &layout->reeving, &layout->pose, &vary.nominal,
			  &flow->nominal);
	err = find_corners(layout, &vary, &list);
	flow->corner = err == RV_OK ? calloc((size_t)list.count + 1, sizeof *flow->corner) : NULL;
	if (!flow->corner) {
		free(list.corner);
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the rig's prediction");
	}
	flow->corners = list.count;
	for (int i = 0; i < list.count; i++) {
		struct rv_friction friction;
		rv_vary_corner(&vary, list.corner[i], &friction);
		rv_friction_chain(&layout->rig, &layout->reeving, &layout->pose, &friction,
				  &flow->corner[i]);
	}
	free(list.corner);
	return RV_OK;
}

void rv_flow_free(struct rv_flow *flow)
{
	free(flow->corner);
	flow->corner = NULL;
	flow->corners = 0;
}
