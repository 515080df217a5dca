/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/predict.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/cell.h"
#include "core/direct.h"
#include "core/envelope.h"
#include "core/flow.h"
#include "core/ratio.h"

enum { FLOW_IN, FLOW_OUT, FLOW_EITHER, FLOWS };
/* Bounds of an efficiency that a measured ratio may stand for. */
#define EFFICIENCY_LOWEST 0.4
#define EFFICIENCY_HIGHEST 1.2

struct rv_predictor {
	struct rv_layout layout;
	struct rv_solver *solver; /* what floats is solved in place, and put back */
	struct rv_givens givens;  /* forces near which it is solved */
	double line_out_m;	  /* between winch and dead end as declared */
	int legs;		  /* of lines; those of pendants come after them */
	struct rv_leg leg[RV_RIG_LEGS];
	struct rv_flow flow[FLOWS];
	struct rv_envelope envelope[FLOWS];
	/* Blocks that change the ratio, as bits; the last column is the load's. */
	unsigned shared[RV_RIG_CELLS][RV_RIG_CELLS + 1];
};

static unsigned shared_blocks(const struct rv_predictor *predictor, int near, int far)
{
	return predictor->shared[near][far == RV_PREDICTOR_LOAD ? RV_RIG_CELLS : far];
}

static double shared_log_ratio(const struct rv_predictor *predictor, int near, int far,
			       double efficiency, int flow)
{
	struct rv_friction friction = predictor->flow[flow].vary.nominal;

	for (int b = 0; b < predictor->layout.rig.blocks; b++)
		if (shared_blocks(predictor, near, far) >> b & 1)
			friction.efficiency_ratio[b] = efficiency;
	return rv_ratio_log(predictor->solver, &friction, near, far);
}

/* ---- made and freed ---- */

static void name_legs(struct rv_predictor *predictor)
{
	const struct rv_layout *layout = &predictor->layout;

	for (int l = 0; l < layout->reeving.legs; l++) {
		rv_layout_leg(layout, l, &predictor->leg[l]);
		predictor->legs += !layout->rig.rope[predictor->leg[l].rope].is_pendant;
	}
}

/* A free load goes where its lines pull when they are tight. */
static void settle_free(struct rv_predictor *predictor)
{
	struct rv_layout *layout = &predictor->layout;

	for (int round = 0; round < 4; round++) {
		struct rv_friction friction;
		struct rv_chain chain;

		rv_friction_start(&layout->rig, &layout->reeving, &layout->pose, 1, &friction);
		rv_friction_chain(&layout->rig, &layout->reeving, &layout->pose, &friction, &chain);
		for (int b = 0; b < layout->rig.loads; b++)
			if (layout->rig.load[b].is_free)
				(void)rv_direct_follow(layout, b, chain.slope, false);
	}
}

/* Where nothing is said of the forces: some line pull; it matters only beside weights and drag. */
static struct rv_given some_pull(const struct rv_rig *rig)
{
	double pull_n = rig->winch[0].rated_n > 0.0 ? 0.5 * rig->winch[0].rated_n : 1e4;

	return (struct rv_given){RV_GIVEN_LINE_PULL, 0, {pull_n, pull_n, pull_n}};
}

static double line_out_m(const struct rv_predictor *predictor)
{
	const struct rv_layout *layout = &predictor->layout;
	int first = rv_reeve_winch_piece(&layout->reeving, 0);
	double sum_m = 0.0;

	for (int l = 0; l < layout->reeving.legs && first >= 0; l++)
		if (layout->reeving.leg[l].piece == first)
			sum_m += layout->pose.length_m[l];
	return sum_m;
}

/* Pose and speeds, near the forces the rig itself gives. */
static enum rv_err settle(struct rv_predictor *made, struct rv_error *error)
{
	const struct rv_rig *rig = &made->layout.rig;
	struct rv_givens none = {0};
	struct rv_balance balance;

	made->solver = calloc(1, sizeof *made->solver);
	if (!made->solver)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the rig's prediction");
	enum rv_err err = rv_solver_open(&made->layout, &none, made->solver, error);
	if (err == RV_OK && !made->solver->full)
		settle_free(made);
	if (err == RV_OK && made->solver->full) {
		err = rv_given_choose(rig, &none, &made->givens, error);
		if (err != RV_OK && rig->winches == 1) {
			made->givens = (struct rv_givens){1, {some_pull(rig)}};
			err = RV_OK;
		}
		rv_solver_give(made->solver, &made->givens);
		if (err == RV_OK)
			err = rv_solver_settle(made->solver, 1, &balance, error);
	}
	made->line_out_m = err == RV_OK ? line_out_m(made) : 0.0;
	return err;
}

static void share(struct rv_predictor *made)
{
	const struct rv_rig *rig = &made->layout.rig;
	const struct rv_friction *friction = &made->flow[FLOW_IN].vary.nominal;

	for (int a = 0; a < rig->cells; a++) {
		for (int b = 0; b < rig->cells; b++)
			made->shared[a][b] = rv_ratio_shared(made->solver, friction, a, b);
		if (rig->loads == 1)
			made->shared[a][RV_RIG_CELLS] =
			    rv_ratio_shared(made->solver, friction, a, RV_RATIO_LOAD);
	}
}

enum rv_err rv_predictor_new(const struct rv_rig *rig, struct rv_predictor **predictor,
			     struct rv_error *error)
{
	static const int sense[FLOWS] = {[FLOW_IN] = 1, [FLOW_OUT] = -1, [FLOW_EITHER] = 0};
	struct rv_predictor *made = calloc(1, sizeof *made);

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the rig's prediction");
	enum rv_err err = rv_layout_make(rig, &made->layout, error);
	if (err == RV_OK)
		err = settle(made, error);
	if (err == RV_OK)
		name_legs(made);
	for (int f = 0; f < FLOWS && err == RV_OK; f++)
		err = rv_flow_make(made->solver, sense[f], &made->flow[f], error);
	for (int f = 0; f < FLOWS && err == RV_OK; f++)
		if (rv_envelope_make(&made->layout, &made->flow[f], &made->envelope[f]) != RV_OK)
			err = rv_err_set(error, RV_ERR_NOMEM, "no memory for the rig's prediction");
	if (err != RV_OK) {
		rv_predictor_free(made);
		return err;
	}
	share(made);
	*predictor = made;
	return RV_OK;
}

void rv_predictor_free(struct rv_predictor *predictor)
{
	if (!predictor)
		return;
	for (int f = 0; f < FLOWS; f++) {
		rv_envelope_free(&predictor->envelope[f]);
		rv_flow_free(&predictor->flow[f]);
	}
	if (predictor->solver)
		rv_solver_close(predictor->solver);
	free(predictor->solver);
	free(predictor);
}

const struct rv_rig *rv_predictor_rig(const struct rv_predictor *predictor)
{
	return &predictor->layout.rig;
}

int rv_predictor_components(const struct rv_predictor *predictor)
{
	return predictor->layout.set.components;
}

const struct rv_component *rv_predictor_component(const struct rv_predictor *predictor, int index)
{
	return &predictor->layout.set.component[index];
}

int rv_predictor_legs(const struct rv_predictor *predictor)
{
	return predictor->legs;
}

const struct rv_leg *rv_predictor_leg(const struct rv_predictor *predictor, int index)
{
	return &predictor->leg[index];
}

double rv_predictor_velocity_ratio(const struct rv_predictor *predictor, int winch)
{
	return rv_pose_winch_ratio(&predictor->layout.reeving, &predictor->layout.pose, winch);
}

/* ---- along the way ---- */

enum { ROUNDS = 40 };
/* Line in is met to this. */
#define NEAR_M 1e-6

/* Moves the loads until the winch's line has come in by so much. */
static enum rv_err go_to(struct rv_predictor *predictor, double line_in_m, struct rv_error *error)
{
	struct rv_solver *solver = predictor->solver;
	struct rv_balance balance;

	for (int round = 0; round < ROUNDS; round++) {
		double speed =
		    rv_pose_winch_ratio(&predictor->layout.reeving, &predictor->layout.pose, 0);
		double left_m = line_in_m - (predictor->line_out_m - line_out_m(predictor));
		double stride_m = rv_solver_stride_m(solver);

		if (fabs(left_m) < NEAR_M)
			return RV_OK;
		if (!(fabs(speed) > 1e-6))
			break;
		double step_m = fmax(-stride_m, fmin(stride_m, left_m / speed));
		enum rv_err err = rv_solver_advance(solver, step_m, error);
		if (err == RV_OK && solver->full)
			err = rv_solver_settle(solver, 1, &balance, error);
		if (err == RV_OK && !solver->full)
			settle_free(predictor);
		if (err != RV_OK)
			return err;
	}
	return rv_err_set(error, RV_ERR_RANGE,
			  "the load cannot go where %.2f m of line would be in", line_in_m);
}

enum rv_err rv_predictor_at_payout(struct rv_predictor *predictor, double line_in_m, int cell,
				   double load_n, struct rv_error *error)
{
	struct rv_pose before = predictor->layout.pose;
	struct rv_givens beside = predictor->givens;

	if (predictor->layout.rig.winches != 1 || predictor->layout.rig.loads != 1)
		return rv_err_set(error, RV_ERR_REFUSED,
				  "where the loads are cannot be told from one line");
	if (predictor->solver->full && cell >= 0 && load_n > 0.0 && isfinite(load_n)) {
		predictor->givens =
		    (struct rv_givens){1, {{RV_GIVEN_CELL, cell, {load_n, load_n, load_n}}}};
		rv_solver_give(predictor->solver, &predictor->givens);
	}
	enum rv_err err = go_to(predictor, line_in_m, error);
	for (int f = 0; f < FLOWS && err == RV_OK; f++)
		err = rv_flow_renew(predictor->solver, &predictor->flow[f], error);
	if (err != RV_OK) {
		predictor->layout.pose = before;
		predictor->givens = beside;
		rv_solver_give(predictor->solver, &predictor->givens);
		for (int f = 0; f < FLOWS; f++)
			(void)rv_flow_renew(predictor->solver, &predictor->flow[f], NULL);
	}
	for (int f = 0; f < FLOWS; f++)
		rv_envelope_renew(&predictor->layout, &predictor->flow[f], &predictor->envelope[f]);
	if (err != RV_OK)
		return err;
	for (int l = 0; l < predictor->layout.reeving.legs; l++)
		predictor->leg[l].length_m = predictor->layout.pose.length_m[l];
	return RV_OK;
}

/* ---- evaluated at every reading ---- */

static int flow_of(enum rv_motion motion)
{
	return motion == RV_MOTION_IN ? FLOW_IN : motion == RV_MOTION_OUT ? FLOW_OUT : FLOW_EITHER;
}

enum rv_err rv_predictor_loads(const struct rv_predictor *predictor, int cell, double load_n,
			       enum rv_motion motion, struct rv_loads *loads)
{
	const struct rv_layout *layout = &predictor->layout;
	int which = flow_of(motion);

	if (cell < 0 || cell >= layout->rig.cells || rv_cell_piece(layout, cell) < 0 ||
	    !isfinite(load_n))
		return RV_ERR_REFUSED;
	rv_envelope_loads(&predictor->envelope[which], layout, &predictor->flow[which], cell,
			  load_n, loads);
	return RV_OK;
}

int rv_predictor_cell_distance(const struct rv_predictor *predictor, int cell)
{
	const struct rv_component_set *set = &predictor->layout.set;
	const struct rv_component_part *part = &set->part[set->cell_part[cell]];
	const struct rv_reeving *reeving = &predictor->layout.reeving;
	int nearest = -1;

	for (int t = part->first; t < part->first + part->terms; t++) {
		int leg = set->term[t].leg;

		if (leg < 0 || reeving->piece[reeving->leg[leg].piece].winch < 0)
			continue;
		int sheaves = leg - reeving->piece[reeving->leg[leg].piece].first_leg;
		if (nearest < 0 || sheaves < nearest)
			nearest = sheaves;
	}
	return nearest;
}

double rv_predictor_sheaves_between(const struct rv_predictor *predictor, int near, int far)
{
	const double step = 1e-5;
	const struct rv_friction *friction = &predictor->flow[FLOW_IN].vary.nominal;
	unsigned shared = shared_blocks(predictor, near, far);
	double sum = 0.0;
	int count = 0;

	for (int b = 0; b < predictor->layout.rig.blocks; b++)
		if (shared >> b & 1) {
			sum += log(friction->efficiency_ratio[b]);
			count++;
		}
	if (count == 0)
		return 0.0;
	double x = sum / count;
	double slope = (shared_log_ratio(predictor, near, far, exp(x + step), FLOW_IN) -
			shared_log_ratio(predictor, near, far, exp(x - step), FLOW_IN)) /
		       (2.0 * step);
	/* No balance at that efficiency: the cells tell nothing of it. */
	return isfinite(slope) ? slope : 0.0;
}

double rv_predictor_log_ratio(const struct rv_predictor *predictor, int near, int far,
			      double efficiency, enum rv_motion motion)
{
	if (flow_of(motion) == FLOW_EITHER)
		return (double)NAN;
	return shared_log_ratio(predictor, near, far, efficiency, flow_of(motion));
}

enum rv_err rv_predictor_efficiency(const struct rv_predictor *predictor, int near, int far,
				    double log_ratio, enum rv_motion motion, double *efficiency)
{
	int flow = flow_of(motion);
	double low = EFFICIENCY_LOWEST, high = EFFICIENCY_HIGHEST;

	if (flow == FLOW_EITHER || shared_blocks(predictor, near, far) == 0)
		return RV_ERR_REFUSED;
	double at_low = shared_log_ratio(predictor, near, far, low, flow) - log_ratio;
	double at_high = shared_log_ratio(predictor, near, far, high, flow) - log_ratio;
	if (!(at_low * at_high <= 0.0))
		return RV_ERR_RANGE;
	while (high - low > 1e-15) {
		double middle = 0.5 * (low + high);
		double at = shared_log_ratio(predictor, near, far, middle, flow) - log_ratio;

		if (middle <= low || middle >= high)
			break;
		if (at * at_low > 0.0)
			low = middle;
		else
			high = middle;
	}
	*efficiency = 0.5 * (low + high);
	return RV_OK;
}

int rv_predictor_sheaves_shared(const struct rv_predictor *predictor, int near, int far,
				struct rv_predictor_sheave sheaves[RV_RIG_LEGS])
{
	const struct rv_layout *layout = &predictor->layout;
	unsigned shared = shared_blocks(predictor, near, far);
	int piece = rv_cell_piece(layout, near), count = 0;

	for (int p = 0; p < layout->reeving.passes; p++) {
		const struct rv_reeve_pass *pass = &layout->reeving.pass[p];
		if (shared >> pass->block & 1 && layout->group[pass->piece] == piece)
			sheaves[count++] = (struct rv_predictor_sheave){pass->block, pass->sheave};
	}
	return count;
}
