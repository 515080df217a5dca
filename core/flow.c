/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/flow.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/cell.h"
#include "core/force.h"

void rv_flow_spread(const struct rv_layout *layout, const struct rv_flow_state *state, int cell,
		    double load_n, double *tension_n)
{
	const struct rv_reeving *reeving = &layout->reeving;
	const struct rv_chain *chain = &state->chain;
	double start_n = rv_cell_start(layout, &state->pose, chain, cell, fmax(0.0, load_n));
	int group = rv_cell_piece(layout, cell);

	for (int l = 0; l < reeving->legs; l++)
		tension_n[l] = layout->group[reeving->leg[l].piece] == group
				   ? fmax(0.0, chain->slope[l] * start_n + chain->constant_n[l])
				   : (double)NAN;
}

/* A cell and what it carries. */
struct reading {
	int cell;
	double load_n;
};

/* Half decades from 10 N to 1e7 N, over the whole of what a line can carry. */
enum { HALF_DECADES = 13, READINGS = RV_RIG_CELLS * HALF_DECADES };

/* Readings that are asked about together. */
struct question {
	struct rv_solver *solver;
	int readings;
	struct reading reading[READINGS];
};

static int output_count(const struct rv_layout *layout)
{
	return layout->set.components + layout->reeving.legs + layout->rig.cells;
}

static double *answer_one(const struct rv_layout *layout, const struct rv_flow_state *state,
			  const struct reading *reading, double *outputs)
{
	double tension_n[RV_RIG_LEGS];

	rv_flow_spread(layout, state, reading->cell, reading->load_n, tension_n);
	for (int i = 0; i < layout->set.components; i++)
		*outputs++ = rv_force_on(&layout->set, &state->pose, i, tension_n);
	for (int l = 0; l < layout->reeving.legs; l++)
		*outputs++ = tension_n[l];
	for (int c = 0; c < layout->rig.cells; c++)
		*outputs++ = rv_force_at_cell(&layout->set, &state->pose, c, tension_n);
	return outputs;
}

static bool answer(void *context, const struct rv_friction *friction, double *outputs)
{
	const struct question *question = context;
	struct rv_flow_state state;

	if (!rv_solver_chain(question->solver, friction, &state.chain, &state.pose))
		return false;
	for (int i = 0; i < question->readings; i++)
		outputs =
		    answer_one(question->solver->layout, &state, &question->reading[i], outputs);
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
	int n = output_count(question->solver->layout) * question->readings;
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
 * over the whole range; else at the largest alone.  Where places are solved for, that costs more
 * for a corner than all sums from it, so all readings are asked about at once; else the sums do,
 * and each reading has corners of its own to try. */
static enum rv_err find_corners(struct rv_solver *solver, const struct rv_vary *vary,
				struct corner_list *list)
{
	const struct rv_layout *layout = solver->layout;
	int first = rv_layout_is_proportional(layout) ? HALF_DECADES - 1 : 0;
	int most = solver->full ? READINGS : 1;
	struct question question = {.solver = solver};
	enum rv_err err = RV_OK;

	for (int c = 0; c < layout->rig.cells; c++) {
		if (rv_cell_piece(layout, c) < 0)
			continue;
		for (int half = first; half < HALF_DECADES && err == RV_OK; half++) {
			question.reading[question.readings++] =
			    (struct reading){c, pow(10.0, 1.0 + half / 2.0)};
			if (question.readings < most)
				continue;
			err = ask_at(vary, &question, list);
			question.readings = 0;
		}
	}
	return err == RV_OK && question.readings > 0 ? ask_at(vary, &question, list) : err;
}

/* The turns at the pose as it is.  With floating points the pose is settled anew for them. */
static enum rv_err settle(struct rv_solver *solver, int sense, struct rv_flow *flow,
			  struct rv_error *error)
{
	struct rv_balance balance;

	enum rv_err err = RV_OK;
	if (solver->full)
		err = rv_solver_settle(solver, sense < 0 ? -1 : 1, &balance, error);
	if (err == RV_OK)
		err = rv_vary_set(solver->layout, sense, &flow->vary, error);
	if (err == RV_OK && solver->full)
		memcpy(flow->vary.nominal.turn, solver->friction.turn,
		       sizeof flow->vary.nominal.turn);
	return err;
}

static enum rv_err refuse(const struct rv_flow *flow, const char *where, struct rv_error *error)
{
	return rv_err_refuse(error, "no_equilibrium",
			     "the tensions of this rig do not follow from one another %swhen the "
			     "line moves %s",
			     where, flow->sense < 0 ? "out" : "in");
}

/* What could not be solved has no numbers: it is refused, and never stands as zeros or as those of
 * another place.  Nor does a corner as the middle, for that made the ranges narrower than they are.
 */
static enum rv_err set_states(struct rv_solver *solver, struct rv_flow *flow,
			      struct rv_error *error)
{
	struct rv_friction friction;
	struct rv_flow_state nominal, *kept = flow->corner;

	if (!rv_solver_chain(solver, &flow->vary.nominal, &nominal.chain, &nominal.pose))
		return refuse(flow, "", error);
	for (int i = 0; i < flow->corners; i++) {
		rv_vary_corner(&flow->vary, flow->mask[i], &friction);
		if (!rv_solver_chain(solver, &friction, &flow->next[i].chain, &flow->next[i].pose))
			return refuse(flow, "at an end of a declared efficiency ", error);
	}
	flow->nominal = nominal;
	flow->corner = flow->next;
	flow->next = kept;
	return RV_OK;
}

enum rv_err rv_flow_make(struct rv_solver *solver, int sense, struct rv_flow *flow,
			 struct rv_error *error)
{
	struct corner_list list = {0};

	flow->sense = sense;
	enum rv_err err = settle(solver, sense, flow, error);
	if (err != RV_OK)
		return err;
	err = find_corners(solver, &flow->vary, &list);
	flow->corner = err == RV_OK ? calloc((size_t)list.count + 1, sizeof *flow->corner) : NULL;
	flow->next = err == RV_OK ? calloc((size_t)list.count + 1, sizeof *flow->next) : NULL;
	flow->mask = list.corner;
	if (!flow->corner || !flow->next)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the rig's prediction");
	flow->corners = list.count;
	return set_states(solver, flow, error);
}

enum rv_err rv_flow_renew(struct rv_solver *solver, struct rv_flow *flow, struct rv_error *error)
{
	int parameters = flow->vary.parameters;
	struct rv_vary before = flow->vary;
	enum rv_err err = settle(solver, flow->sense, flow, error);

	/* Another sheave that hardly turns is another set of corners: these stay as they were. */
	if (err == RV_OK && flow->vary.parameters != parameters) {
		signed char turn[RV_RIG_LEGS];
		memcpy(turn, flow->vary.nominal.turn, sizeof turn);
		flow->vary = before;
		memcpy(flow->vary.nominal.turn, turn, sizeof turn);
	}
	if (err == RV_OK)
		err = set_states(solver, flow, error);
	if (err != RV_OK)
		flow->vary = before;
	return err;
}

void rv_flow_free(struct rv_flow *flow)
{
	free(flow->corner);
	free(flow->next);
	free(flow->mask);
	flow->corner = flow->next = NULL;
	flow->mask = NULL;
	flow->corners = 0;
}
