/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/clear.h"
#include "core/force.h"
#include "core/limit.h"
#include "core/placing.h"
#include "core/plan_drum.h"
#include "core/plan_note.h"
#include "core/resist.h"
#include "core/suit.h"
#include "core/suit_factor.h"
#include "core/vary.h"

bool rv_plan_is_single(const struct rv_plan *plan)
{
	return plan->rig.winches == 1 && plan->rig.loads == 1;
}

/* ---- everything that has a range, as one row of numbers ---- */

static int output_count(const struct rv_layout *layout)
{
	return layout->set.components + layout->reeving.legs + layout->rig.cells +
	       layout->rig.winches + 1;
}

static double advantage_of(const struct rv_layout *layout, const struct rv_balance *balance)
{
	if (layout->rig.winches != 1 || layout->rig.loads != 1)
		return (double)NAN;
	return balance->resists_n[0] / balance->start_n[rv_reeve_winch_piece(&layout->reeving, 0)];
}

static void put_outputs(const struct rv_layout *layout, const struct rv_balance *balance,
			double *to)
{
	const double *tension_n = balance->tension_n;

	for (int i = 0; i < layout->set.components; i++)
		*to++ = rv_force_on(&layout->set, &layout->pose, i, tension_n);
	for (int l = 0; l < layout->reeving.legs; l++)
		*to++ = tension_n[l];
	for (int c = 0; c < layout->rig.cells; c++)
		*to++ = rv_force_at_cell(&layout->set, &layout->pose, c, tension_n);
	for (int w = 0; w < layout->rig.winches; w++)
		*to++ = balance->start_n[rv_reeve_winch_piece(&layout->reeving, w)];
	*to = advantage_of(layout, balance);
}

/* Where points float, another friction is another pose: the nominal one is put back after it. */
static bool answer(void *context, const struct rv_friction *friction, double *outputs)
{
	struct rv_solver *solver = context;
	struct rv_pose nominal = solver->layout->pose;
	struct rv_balance balance;

	if (rv_solver_balance(solver, friction, &balance, NULL) != RV_OK)
		return false;
	put_outputs(solver->layout, &balance, outputs);
	solver->layout->pose = nominal;
	return true;
}

/* The nominal figures were found on another way, and may differ in the last digit. */
static struct rv_span span_at(const double *low, const double *nominal, const double *high, int i)
{
	return (struct rv_span){fmin(low[i], nominal[i]), nominal[i], fmax(high[i], nominal[i])};
}

static void take_spans(const struct rv_layout *layout, const double *low, const double *nominal,
		       const double *high, struct rv_plan *plan)
{
	int at = 0;

	for (int i = 0; i < layout->set.components; i++, at++)
		plan->carried[i] = span_at(low, nominal, high, at);
	for (int l = 0; l < layout->reeving.legs; l++, at++)
		plan->tension[l] = span_at(low, nominal, high, at);
	for (int c = 0; c < layout->rig.cells; c++, at++)
		plan->cell[c] = span_at(low, nominal, high, at);
	for (int w = 0; w < layout->rig.winches; w++, at++)
		plan->winch[w].line_pull = span_at(low, nominal, high, at);
	struct rv_span advantage = span_at(low, nominal, high, at);
	plan->advantage.low_ratio = advantage.low_n;
	plan->advantage.expected_ratio = advantage.nominal_n;
	plan->advantage.high_ratio = advantage.high_n;
}

static enum rv_err set_spans(struct rv_solver *solver, const struct rv_vary *vary,
			     const struct rv_balance *balance, struct rv_plan *plan,
			     struct rv_error *error)
{
	const struct rv_layout *layout = solver->layout;
	int outputs = output_count(layout);
	size_t n = (size_t)outputs;
	double *numbers = calloc(3 * n, sizeof *numbers);
	struct rv_vary_question asked = {answer, solver, outputs};
	struct rv_vary_extremes extremes = {.low = numbers, .high = numbers + 2 * n};
	enum rv_err err = numbers ? rv_vary_extremes(vary, &asked, &extremes) : RV_ERR_NOMEM;

	if (err == RV_OK) {
		put_outputs(layout, balance, numbers + n);
		take_spans(layout, extremes.low, numbers + n, extremes.high, plan);
		if (extremes.unanswered > 0)
			rv_plan_note_add(plan, "slack_possible",
					 "At some of the declared efficiencies a line would hang "
					 "slack; the ranges leave these out.");
	}
	free(numbers);
	return err == RV_OK ? err : rv_err_set(error, err, "no memory for the plan");
}

/* ---- what follows from the nominal balance ---- */

static bool is_weaker(const double *use_ratio, int component, int than)
{
	return than < 0 || use_ratio[component] > use_ratio[than] * (1.0 + RV_PLAN_SAME_RATIO);
}

static void set_components(const struct rv_layout *layout, struct rv_plan *plan)
{
	plan->components = layout->set.components;
	plan->weakest = plan->weakest_worst = -1;
	for (int i = 0; i < plan->components; i++) {
		plan->component[i] = layout->set.component[i];
		double limit_n = plan->component[i].limit_n;
		plan->use_ratio[i] = plan->carried[i].nominal_n / limit_n;
		plan->use_worst_ratio[i] = plan->carried[i].high_n / limit_n;
		if (isnan(limit_n))
			continue;
		if (is_weaker(plan->use_ratio, i, plan->weakest))
			plan->weakest = i;
		if (is_weaker(plan->use_worst_ratio, i, plan->weakest_worst))
			plan->weakest_worst = i;
	}
}

static void set_sheaves(const struct rv_layout *layout, const struct rv_balance *balance, int sense,
			struct rv_plan *plan)
{
	plan->sheaves = layout->reeving.passes;
	for (int p = 0; p < plan->sheaves; p++) {
		const struct rv_reeve_pass *pass = &layout->reeving.pass[p];
		double near_n = balance->tension_n[pass->before];
		double far_n = balance->tension_n[pass->before + 1];
		double pin_n[RV_DIM];

		for (int i = 0; i < RV_DIM; i++)
			pin_n[i] = far_n * layout->pose.direction[pass->before + 1][i] -
				   near_n * layout->pose.direction[pass->before][i];
		plan->sheave[p] = (struct rv_plan_sheave){
		    .block = pass->block,
		    .sheave = pass->sheave + 1,
		    .rope = layout->reeving.piece[pass->piece].rope,
		    .wrap_deg = layout->pose.wrap_rad[p] * 180.0 / M_PI,
		    .pin_n = rv_pose_size(pin_n),
		    .rope_speed_ratio = sense * layout->pose.rope_speed_ratio[p],
		    .loss_ratio = fabs(near_n - far_n) / fmax(near_n, far_n),
		};
	}
}

/* Rope that lies on sheaves and, for what is needed, must stay on the drum counts as well, where
 * its size is known. */
static void set_lines(const struct rv_layout *layout, struct rv_plan *plan)
{
	const struct rv_rig *rig = &layout->rig;

	for (int l = 0; l < plan->legs; l++)
		plan->line_out_m[layout->reeving.leg[l].rope] += layout->pose.length_m[l];
	for (int p = 0; p < layout->reeving.passes; p++) {
		const struct rv_reeve_pass *pass = &layout->reeving.pass[p];
		double diameter_m = rig->block[pass->block].diameter_m;

		if (!isnan(diameter_m))
			plan->line_out_m[layout->reeving.piece[pass->piece].rope] +=
			    0.5 * diameter_m * layout->pose.wrap_rad[p];
	}
	for (int r = 0; r < rig->ropes; r++)
		plan->line_needed_m[r] = plan->line_out_m[r];
	for (int w = 0; w < rig->winches; w++) {
		int piece = rv_reeve_winch_piece(&layout->reeving, w);
		double wraps_m = rig->winch[w].wraps_left * M_PI * rig->winch[w].drum_diameter_m;

		if (!isnan(wraps_m))
			plan->line_needed_m[layout->reeving.piece[piece].rope] += wraps_m;
	}
}

/* The line pulls for other forces of the same things; the pose stays. */
static bool pulls_for(struct rv_solver *solver, const struct rv_givens *givens, double *pull_n)
{
	const struct rv_givens *own = solver->givens;
	struct rv_pose nominal = solver->layout->pose;
	struct rv_friction friction = solver->friction;
	struct rv_balance balance;

	rv_solver_give(solver, givens);
	bool is_solved = rv_solver_balance(solver, &friction, &balance, NULL) == RV_OK;
	rv_solver_give(solver, own);
	solver->layout->pose = nominal;
	for (int w = 0; w < solver->layout->rig.winches; w++)
		pull_n[w] = is_solved
				? balance.start_n[rv_reeve_winch_piece(&solver->layout->reeving, w)]
				: (double)NAN;
	return is_solved;
}

/* Line pulls at the ends of the range of what a load resists. */
static void set_range_ends(struct rv_solver *solver, struct rv_plan *plan)
{
	struct rv_givens low = plan->givens, high = plan->givens;
	double at_low_n[RV_RIG_WINCHES], at_high_n[RV_RIG_WINCHES];
	bool is_range = false;

	for (int i = 0; i < plan->givens.count; i++) {
		struct rv_given *given = &plan->givens.given[i];

		if (given->kind != RV_GIVEN_RESISTS || !(given->force_n.low < given->force_n.high))
			continue;
		is_range = true;
		low.given[i].force_n.middle = given->force_n.low;
		high.given[i].force_n.middle = given->force_n.high;
		plan->load[given->index].low_n = given->force_n.low;
		plan->load[given->index].high_n = given->force_n.high;
	}
	if (!is_range)
		return;
	(void)pulls_for(solver, &low, at_low_n);
	(void)pulls_for(solver, &high, at_high_n);
	for (int w = 0; w < plan->rig.winches; w++) {
		plan->winch[w].at_low_n = at_low_n[w];
		plan->winch[w].at_high_n = at_high_n[w];
	}
}

static void set_places(const struct rv_layout *layout, struct rv_plan *plan)
{
	const struct rv_pose *pose = &layout->pose;

	memcpy(plan->at_m, pose->at_m, sizeof plan->at_m);
	for (int b = 0; b < plan->rig.blocks; b++)
		memcpy(plan->block_at_m[b], pose->at_m[layout->rig.block[b].point],
		       sizeof plan->block_at_m[b]);
	memcpy(plan->goes, pose->travels, sizeof plan->goes);
}

static void set_forces(const struct rv_layout *layout, const struct rv_balance *balance,
		       struct rv_plan *plan)
{
	for (int w = 0; w < plan->rig.winches; w++) {
		plan->winch[w].velocity_ratio =
		    rv_pose_winch_ratio(&layout->reeving, &layout->pose, w);
		plan->winch[w].at_low_n = plan->winch[w].at_high_n = (double)NAN;
	}
	for (int b = 0; b < plan->rig.loads; b++)
		plan->load[b] = (struct rv_plan_load){balance->resists_n[b], balance->side_n[b],
						      (double)NAN, (double)NAN};
	/* Those of pendants come last, and are no legs of a line. */
	while (plan->legs < layout->reeving.legs &&
	       !layout->rig.rope[layout->reeving.leg[plan->legs].rope].is_pendant)
		plan->legs++;
	for (int l = 0; l < plan->legs; l++)
		rv_layout_leg(layout, l, &plan->leg[l]);
}

static void set_single(struct rv_solver *solver, const struct rv_balance *balance,
		       struct rv_plan *plan)
{
	struct rv_layout *layout = solver->layout;
	struct rv_friction lossless = solver->friction;
	struct rv_pose nominal = layout->pose;
	struct rv_balance without;

	plan->velocity_ratio = plan->line_pull_limit_n = (double)NAN;
	plan->advantage.theoretical_ratio = (double)NAN;
	if (!rv_plan_is_single(plan))
		return;
	plan->velocity_ratio = plan->winch[0].velocity_ratio;
	plan->line_pull_limit_n = rv_limit_line_pull(solver, balance);
	lossless.lossless = true;
	if (rv_solver_balance(solver, &lossless, &without, NULL) == RV_OK)
		plan->advantage.theoretical_ratio = advantage_of(layout, &without);
	layout->pose = nominal;
}

/* Only for a vehicle hauled in whose resistance is itself a rule of thumb. */
static void set_additive(const struct rv_layout *layout, struct rv_plan *plan)
{
	plan->additive.line_pull_n = (double)NAN;
	if (!rv_plan_is_single(plan) || plan->rig.haul_out || isnan(plan->rig.load[0].mass_kg))
		return;
	for (int p = 0; p < layout->reeving.passes; p++)
		plan->additive.sheaves +=
		    isnan(layout->rig.block[layout->reeving.pass[p].block].bar_friction);
	plan->additive.line_pull_n = rv_resist_additive_n(
	    plan->load[0].resists_n, plan->additive.sheaves, plan->advantage.theoretical_ratio);
}

static void set_travel(struct rv_solver *solver, double travel_m, struct rv_plan *plan)
{
	plan->has_travel = !isnan(travel_m) && rv_plan_is_single(plan);
	if (!plan->has_travel && !isnan(travel_m))
		rv_plan_note_add(plan, "travel_unknown",
				 "How it goes while travelling is only told of rigs with exactly "
				 "one winch and one load.");
	if (!plan->has_travel)
		return;
	rv_travel_go(solver, travel_m, &plan->travel);
	rv_plan_note_travel(solver->layout, plan);
}

static enum rv_err fill(struct rv_solver *solver, double travel_m, struct rv_plan *plan,
			struct rv_error *error)
{
	struct rv_layout *layout = solver->layout;
	int sense = layout->rig.haul_out ? -1 : 1;
	struct rv_balance balance;
	struct rv_vary vary;
	enum rv_err err = rv_solver_settle(solver, sense, &balance, error);

	if (err == RV_OK)
		err = rv_vary_set(layout, sense, &vary, error);
	if (err != RV_OK)
		return err;
	set_places(layout, plan);
	memcpy(vary.nominal.turn, solver->friction.turn, sizeof vary.nominal.turn);
	set_forces(layout, &balance, plan);
	err = set_spans(solver, &vary, &balance, plan, error);
	if (err != RV_OK)
		return err;
	set_components(layout, plan);
	set_sheaves(layout, &balance, sense, plan);
	set_lines(layout, plan);
	set_range_ends(solver, plan);
	set_single(solver, &balance, plan);
	rv_placing_set(solver, plan);
	set_additive(layout, plan);
	rv_plan_drum_set(plan);
	rv_plan_note_all(layout, plan);
	rv_plan_note_slack(layout, balance.slack, plan);
	rv_suit_gear(layout, plan);
	rv_suit_factors(plan);
	rv_clear_set(layout, plan); /* before the travel moves the pose */
	set_travel(solver, travel_m, plan);
	rv_clear_choose(plan);
	rv_plan_drum_note(plan);
	rv_suit_lengths(plan);
	return RV_OK;
}

static enum rv_err make(struct rv_layout *layout, const struct rv_plan_request *request,
			struct rv_plan *plan, struct rv_error *error)
{
	struct rv_solver solver;
	enum rv_err err = rv_layout_make(&plan->rig, layout, error);

	if (err == RV_OK)
		err = rv_solver_open(layout, &plan->givens, &solver, error);
	if (err != RV_OK)
		return err;
	err = rv_given_choose(&plan->rig, &request->givens, &plan->givens, error);
	if (err == RV_OK) {
		rv_solver_give(&solver, &plan->givens);
		err = fill(&solver, request->travel_m, plan, error);
	}
	rv_solver_close(&solver);
	return err;
}

enum rv_err rv_plan_new(const struct rv_rig *rig, const struct rv_plan_request *request,
			struct rv_plan **plan, struct rv_error *error)
{
	struct rv_layout *layout = calloc(1, sizeof *layout);
	struct rv_plan *made = calloc(1, sizeof *made);
	enum rv_err err = layout && made ? RV_OK
					 : rv_err_set(error, RV_ERR_NOMEM, "no memory for the plan");

	if (err == RV_OK) {
		made->rig = *rig;
		err = make(layout, request, made, error);
	}
	free(layout);
	if (err != RV_OK) {
		free(made);
		return err;
	}
	*plan = made;
	return RV_OK;
}

void rv_plan_free(struct rv_plan *plan)
{
	free(plan);
}
