/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/estimation.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "schema/across.h"
#include "schema/beside.h"
#include "schema/valued.h"

void rv_estimation_ask_init(struct rv_estimation_ask *ask)
{
	*ask = (struct rv_estimation_ask){.pulls = {.line_speed_mps = (double)NAN},
					  .excess_low_ratio = (double)NAN,
					  .excess_high_ratio = (double)NAN};
}

static bool is_single(const struct rv_session *session)
{
	return session->setup.far < 0;
}

static const char *place_of(const struct rv_session *session, int cell)
{
	return cell < 0 ? "" : rv_predictor_rig(session->predictor)->cell[cell].name;
}

static const char *channel_of(const struct rv_session *session, int channel)
{
	return channel < 0 ? "" : session->channels.channel[channel].declared.name;
}

/* ---- what the runs lack ------------------------------------------------------------------- */

/* A run that lacks what an estimate takes refuses the whole. */
static void refuse_lacking(struct rv_estimation *made)
{
	for (int i = 0; i < made->runs && !made->estimate->refused; i++) {
		const struct rv_session *session = &made->session[i];
		const char *code = "rig_not_covered";
		const char *cure = "declare the rig as it lay: which cells it has and where";

		if (!session->lacks[0])
			continue;
		if (session->predictor && session->setup.near >= 0) {
			code = "no_motion";
			cure =
			    "record payout, turns or the winch's contactors; or mark hauling in, "
			    "paying out and stopped, and ask for --motion marks with --line-speed";
		}
		rv_estimate_refuse(made->estimate, code, cure, "run %lld: %s",
				   (long long)session->run.number, session->lacks);
	}
}

/* Several runs are one estimate only if the rig is the same and the cells stand at the same places.
 */
static void refuse_different(struct rv_estimation *made)
{
	const struct rv_session *first = &made->session[0];

	for (int i = 1; i < made->runs && !made->estimate->refused; i++) {
		const struct rv_session *other = &made->session[i];
		bool same = is_single(first)
				? is_single(other)
				: !is_single(other) &&
				      strcmp(place_of(first, first->setup.near_cell),
					     place_of(other, other->setup.near_cell)) == 0 &&
				      strcmp(place_of(first, first->setup.far_cell),
					     place_of(other, other->setup.far_cell)) == 0;
		if (!same || strcmp(first->rig->name, other->rig->name) != 0)
			rv_estimate_refuse(
			    made->estimate, "runs_differ",
			    "give runs of one rig with the cells at the same places; "
			    "compare different ones with reeve compare",
			    "run %lld and run %lld are not of one set-up",
			    (long long)first->run.number, (long long)other->run.number);
	}
}

/* ---- the design of the test --------------------------------------------------------------- */

/* The cells of a run, as they stand when not exchanged: by the channels of the first run. */
static void take_cells(struct rv_estimation *made, int i)
{
	const struct rv_session *session = &made->session[i], *first = &made->session[0];
	struct rv_estimate_run *run = &made->run[i];
	const char *channel = channel_of(session, session->setup.near);
	bool turned = !is_single(session) && i > 0 &&
		      strcmp(channel, channel_of(first, first->setup.far)) == 0 &&
		      strcmp(channel, channel_of(first, first->setup.near)) != 0;
	int near = turned ? session->setup.far : session->setup.near;
	int far = turned ? session->setup.near : session->setup.far;

	made->across = made->across || turned;
	run->number = (int)session->run.number;
	run->cell[RV_PULL_NEAR] = rv_session_cell(session, near);
	run->cell[RV_PULL_FAR] = rv_session_cell(session, far < 0 ? near : far);
	for (int k = 0; turned && k < session->facts.count; k++) {
		struct rv_estimate_pull *pull = &made->session[i].facts.pull[k];

		pull->exchanged = !pull->exchanged;
	}
}

static bool any_paid_out(const struct rv_estimation *made)
{
	for (int i = 0; i < made->pulls; i++)
		if (made->pull[i].direction == RV_MOTION_OUT && made->pull[i].why == RV_PULL_KEPT)
			return true;
	return false;
}

/* The hung load's weight, where the rig gives it as a range: rectangular limits. */
static bool take_weight(struct rv_estimation *made)
{
	const struct rv_load *load = &made->session[0].rig->load[0];

	if (!(load->resists_n.low > 0.0) || !(load->resists_n.high > load->resists_n.low))
		return false;
	made->setup.weight_n = (load->resists_n.low + load->resists_n.high) / 2.0;
	made->setup.u_weight_n = (load->resists_n.high - load->resists_n.low) / 2.0 / sqrt(3.0);
	return true;
}

/* One cell that stood at two places of the rig: those nearest to and farthest from the winch count.
 */
static bool find_places(const struct rv_estimation *made, int *near, int *far)
{
	const struct rv_session *first = &made->session[0];

	*near = *far = first->setup.near_cell;
	for (int i = 1; i < made->runs; i++) {
		const struct rv_session *session = &made->session[i];
		int cell =
		    rv_rig_find_cell(first->rig, place_of(session, session->setup.near_cell));

		if (cell < 0 || cell == *near || cell == *far)
			continue;
		if (rv_predictor_cell_distance(first->predictor, cell) <
		    rv_predictor_cell_distance(first->predictor, *near))
			*near = cell;
		else
			*far = cell;
	}
	return *near != *far;
}

static void choose_one(struct rv_estimation *made, int *near, int *far)
{
	const struct rv_session *first = &made->session[0];
	bool hung = first->rig->loads == 1 && first->rig->load[0].character == RV_LOAD_HUNG;

	if (find_places(made, near, far)) {
		made->setup.design = RV_ESTIMATE_ONE_MOVED;
		made->across = true;
		return;
	}
	*far = RV_PREDICTOR_LOAD;
	made->setup.design = RV_ESTIMATE_ONE_FIXED;
	if (hung)
		made->setup.design = !any_paid_out(made) && take_weight(made)
					 ? RV_ESTIMATE_WEIGHT
					 : RV_ESTIMATE_ONE_HUNG;
}

/* One cell, by its pulls: at the far place the sign turns, against a weight the weight comes in. */
static void turn_one(struct rv_estimation *made, int far)
{
	const struct rv_session *first = &made->session[0];

	for (int i = 0; i < made->pulls; i++) {
		struct rv_estimate_pull *pull = &made->pull[i];
		const struct rv_session *session = &made->session[pull->run];
		bool is_far = far >= 0 && strcmp(place_of(session, session->setup.near_cell),
						 place_of(first, far)) == 0;

		pull->far_n = (double)NAN;
		if (made->setup.design == RV_ESTIMATE_WEIGHT) {
			pull->far_n = made->setup.weight_n;
			pull->log_ratio += log(made->setup.weight_n);
		}
		if (!is_far)
			continue;
		pull->exchanged = true;
		pull->far_n = pull->near_n;
		pull->near_n = (double)NAN;
		pull->log_ratio = -pull->log_ratio;
		pull->surge_log = -pull->surge_log;
	}
}

static void take_curve(struct rv_estimation *made, int near, int far)
{
	struct rv_error error = {0};
	enum rv_err err =
	    rv_curve_make(made->session[0].predictor, near, far, &made->curve, &error);

	if (err != RV_OK) {
		rv_estimate_refuse(made->estimate, error.tag[0] ? error.tag : "rig_not_covered",
				   "move a cell so that turning sheaves lie between the two", "%s",
				   error.text);
		return;
	}
	const struct rv_rig *rig = rv_predictor_rig(made->session[0].predictor);
	for (int i = 0; i < made->curve.sheaves; i++)
		made->sheave[i] = (struct rv_estimate_sheave){
		    .block = rig->block[made->curve.sheave[i].block].name,
		    .sheave = made->curve.sheave[i].sheave + 1};
	made->setup.curve = rv_curve_function(&made->curve);
	/* Where the load is not to be had from the near place, its friction is not looked for. */
	if (made->setup.design == RV_ESTIMATE_ONE_MOVED &&
	    rv_curve_make(made->session[0].predictor, near, RV_PREDICTOR_LOAD, &made->load, NULL) ==
		RV_OK)
		made->setup.load = rv_curve_function(&made->load);
	made->setup.declared_low_ratio = made->curve.declared_low_ratio;
	made->setup.declared_high_ratio = made->curve.declared_high_ratio;
}

static void take_setup(struct rv_estimation *made, const struct rv_estimation_ask *ask)
{
	const struct rv_session *first = &made->session[0];
	int near = first->setup.near_cell, far = first->setup.far_cell;
	struct rv_estimate_setup *setup = &made->setup;

	setup->character = first->rig->loads == 1 ? first->rig->load[0].character : RV_LOAD_UNSAID;
	setup->motion = first->setup.by;
	setup->stiffness_known = true;
	setup->speed_known = true;
	for (int i = 0; i < made->runs; i++) {
		const struct rv_pulls_setup *run = &made->session[i].setup;

		setup->stiffness_known = setup->stiffness_known && run->stiffness_known;
		setup->speed_known =
		    setup->speed_known && (run->track.knows_metres || !isnan(run->line_speed_mps));
	}
	if (!isnan(ask->excess_low_ratio)) {
		setup->excess_low_ratio = ask->excess_low_ratio;
		setup->excess_high_ratio = ask->excess_high_ratio;
	}
	if (is_single(first)) {
		choose_one(made, &near, &far);
		turn_one(made, far);
	}
	snprintf(made->near, sizeof made->near, "%s", place_of(first, near));
	if (far >= 0)
		snprintf(made->far, sizeof made->far, "%s", place_of(first, far));
	take_curve(made, near, far);
}

/* ---- putting it together ------------------------------------------------------------------ */

static enum rv_err gather(struct rv_estimation *made, struct rv_error *error)
{
	int count = 0;

	for (int i = 0; i < made->runs; i++)
		count += made->session[i].facts.count;
	if (count > RV_ESTIMATE_PULLS)
		return rv_err_set(error, RV_ERR_RANGE,
				  "%d pulls are more than the %d of one estimate: give fewer runs",
				  count, RV_ESTIMATE_PULLS);
	made->pull = calloc((size_t)count + 1, sizeof *made->pull);
	if (!made->pull)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for %d pulls", count);
	for (int i = 0; i < made->runs; i++) {
		const struct rv_facts *facts = &made->session[i].facts;

		memcpy(made->pull + made->pulls, facts->pull,
		       (size_t)facts->count * sizeof *made->pull);
		made->pulls += facts->count;
	}
	return RV_OK;
}

static enum rv_err read_all(const struct rv_estimation_run *runs,
			    const struct rv_estimation_ask *ask, struct rv_estimation *made,
			    struct rv_error *error)
{
	enum rv_err err = RV_OK;

	for (int i = 0; err == RV_OK && i < made->runs; i++)
		err = rv_session_read(runs[i].store, runs[i].number, i, &ask->pulls,
				      &made->session[i], error);
	return err;
}

static enum rv_err make(const struct rv_estimation_run *runs, const struct rv_estimation_ask *ask,
			struct rv_estimation *made, struct rv_error *error)
{
	enum rv_err err = read_all(runs, ask, made, error);

	if (err != RV_OK)
		return err;
	for (int i = 0; i < made->runs; i++)
		made->run[i].number = (int)made->session[i].run.number;
	refuse_lacking(made);
	if (!made->estimate->refused)
		refuse_different(made);
	if (made->estimate->refused)
		return RV_OK;
	for (int i = 0; i < made->runs; i++)
		take_cells(made, i);
	err = gather(made, error);
	if (err != RV_OK)
		return err;
	take_setup(made, ask);
	if (made->estimate->refused)
		return RV_OK;
	err = made->across
		  ? rv_across_make(made->session, &made->setup, made->pull, made->pulls,
				   made->estimate)
		  : rv_estimate_make(&made->setup, made->pull, made->pulls, made->estimate);
	if (err != RV_OK)
		return rv_err_set(error, err, "no memory for %d pulls", made->pulls);
	const struct rv_beside beside = {.session = made->session,
					 .sessions = made->runs,
					 .curve = &made->curve,
					 .setup = &made->setup,
					 .pull = made->pull,
					 .pulls = made->pulls};
	return rv_beside_fill(&beside, made->estimate, error);
}

enum rv_err rv_estimation_make(const struct rv_estimation_run *runs, int count,
			       const struct rv_estimation_ask *ask,
			       struct rv_estimation **estimation, struct rv_error *error)
{
	struct rv_estimation *made = calloc(1, sizeof *made);
	enum rv_err err = RV_ERR_NOMEM;

	if (count < 1 || count > RV_ESTIMATE_RUNS) {
		free(made);
		return rv_err_set(error, RV_ERR_RANGE, "an estimate takes 1 to %d runs, not %d",
				  RV_ESTIMATE_RUNS, count);
	}
	if (made) {
		made->runs = count;
		made->session = calloc((size_t)count, sizeof *made->session);
		made->run = calloc((size_t)count, sizeof *made->run);
		made->estimate = calloc(1, sizeof *made->estimate);
	}
	if (made && made->session && made->run && made->estimate) {
		rv_estimate_init(made->estimate);
		rv_estimate_setup_init(&made->setup);
		made->setup.run = made->run;
		made->setup.runs = count;
		err = make(runs, ask, made, error);
		if (err == RV_OK)
			rv_valued_say(made->session, made->runs, &ask->pulls, made->estimate);
	} else {
		(void)rv_err_set(error, err, "no memory for %d runs", count);
	}
	if (err == RV_OK)
		*estimation = made;
	else
		rv_estimation_free(made);
	return err;
}

void rv_estimation_free(struct rv_estimation *estimation)
{
	if (!estimation)
		return;
	for (int i = 0; estimation->session && i < estimation->runs; i++)
		rv_session_close(&estimation->session[i]);
	free(estimation->session);
	free(estimation->run);
	free(estimation->pull);
	free(estimation->estimate);
	free(estimation);
}

struct rv_estimate_told rv_estimation_told(const struct rv_estimation *estimation)
{
	const struct rv_session *first = &estimation->session[0];

	return (struct rv_estimate_told){
	    .rig = first->rig ? first->rig->name : NULL,
	    .near = estimation->near,
	    .far = estimation->far,
	    .sheave = estimation->sheave,
	    .sheaves = estimation->curve.sheaves,
	    .pull = estimation->pull,
	    .pulls = estimation->pulls,
	};
}

json_t *rv_estimation_json(const struct rv_estimation *estimation)
{
	struct rv_estimate_told told = rv_estimation_told(estimation);

	return rv_estimate_json(&estimation->setup, estimation->estimate, &told);
}
