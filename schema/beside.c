/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/beside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/loss_fit.h"
#include "core/pull_rope.h"

/* Not stated: what the channel's own default is; and how well a person places a mark. */
#define U_TRAVEL_RATIO 0.03
#define U_MARK_M 0.05

/* What the far cell feels of a tackle, by where it sits. */
static enum rv_agreement_far far_kind(const struct rv_predictor *predictor, int far)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);
	int last = 0;

	if (far < 0)
		return RV_AGREEMENT_LOAD;
	const struct rv_cell *cell = &rig->cell[far];
	if (!cell->in_leg)
		return cell->holds.kind == RV_HELD_POINT && rig->point[cell->holds.index].load >= 0
			   ? RV_AGREEMENT_LOAD
			   : RV_AGREEMENT_OTHER;
	for (int i = 0; i < rv_predictor_legs(predictor); i++) {
		const struct rv_leg *leg = rv_predictor_leg(predictor, i);

		if (leg->rope == cell->rope && leg->leg > last)
			last = leg->leg;
	}
	return cell->leg == last ? RV_AGREEMENT_DEAD_END : RV_AGREEMENT_OTHER;
}

/* Does the near cell stand in the leg at the winch? */
static bool is_lead(const struct rv_predictor *predictor, int near)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);

	return near >= 0 && rig->cell[near].in_leg && rig->cell[near].leg == 1 &&
	       rig->cell[near].rope == rv_pull_rope_line(predictor);
}

static enum rv_err measure_travel(const struct rv_beside *beside,
				  struct rv_agreement_measured *measured)
{
	int count = 0;

	measured->travel_ratio = measured->u_travel_ratio = (double)NAN;
	for (int i = 0; i < beside->sessions; i++)
		count += beside->session[i].stretches;
	if (count == 0)
		return RV_OK;
	struct rv_agreement_stretch *all = calloc((size_t)count, sizeof *all);
	if (!all)
		return RV_ERR_NOMEM;
	int put = 0;
	for (int i = 0; i < beside->sessions; i++) {
		const struct rv_session *session = &beside->session[i];

		memcpy(all + put, session->stretch, (size_t)session->stretches * sizeof *all);
		put += session->stretches;
	}
	rv_agreement_travel(all, count, U_TRAVEL_RATIO,
			    beside->session[0].by_marks ? U_MARK_M : 0.0, measured);
	free(all);
	return RV_OK;
}

static enum rv_err judge(const struct rv_beside *beside, struct rv_estimate *estimate)
{
	const struct rv_predictor *predictor = beside->curve->predictor;
	struct rv_agreement_range range = rv_agreement_range(beside->setup->declared_low_ratio,
							     beside->setup->declared_high_ratio);
	struct rv_agreement_declared declared = {
	    .curve = beside->setup->curve,
	    .far = far_kind(predictor, beside->curve->far),
	    .travel_ratio = rv_predictor_velocity_ratio(predictor, 0),
	    .low_ratio = range.low_ratio,
	    .high_ratio = range.high_ratio,
	};
	struct rv_agreement_measured measured = {.log_ratio = (double)NAN, .u_log = (double)NAN};
	bool two_cells = beside->setup->design == RV_ESTIMATE_TWO_CELLS ||
			 beside->setup->design == RV_ESTIMATE_WEIGHT;
	enum rv_err err = measure_travel(beside, &measured);

	if (err != RV_OK)
		return err;
	if (two_cells && is_lead(predictor, beside->curve->near))
		rv_agreement_tensions(beside->setup, beside->pull, beside->pulls, &measured);
	rv_agreement_judge(&declared, &measured, estimate);
	return RV_OK;
}

enum rv_err rv_beside_fill(const struct rv_beside *beside, struct rv_estimate *estimate,
			   struct rv_error *error)
{
	const struct rv_mobilise_setup *rope = &beside->session[0].setup.pull.rope;
	struct rv_loss_fit_ask ask = {.setup = beside->setup,
				      .pull = beside->pull,
				      .pulls = beside->pulls,
				      .legs = {rope->legs_seen[0], rope->legs_seen[1]}};
	enum rv_err err = rv_loss_fit(&ask, estimate);

	if (err == RV_OK)
		err = judge(beside, estimate);
	return err == RV_OK ? err : rv_err_set(error, err, "no memory for the pulls");
}
