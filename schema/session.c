/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/session.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/rig_read.h"

/* A lag found that differs more than this from what is declared is not believed, it is warned of.
 */
#define LAG_MOST_S 0.06

static enum rv_err read_rig(struct rv_store *store, struct rv_session *session,
			    struct rv_error *error)
{
	struct rv_text text = {0};
	struct rv_error why = {0};
	enum rv_err err = rv_store_run_texts(store, session->run.number, &text, NULL, error);

	if (err == RV_OK && text.len == 0)
		snprintf(session->lacks, sizeof session->lacks, "it was declared without a rig");
	if (err != RV_OK || text.len == 0)
		return err;
	session->rig = calloc(1, sizeof *session->rig);
	err = session->rig ? rv_rig_read(text.data, text.len, session->rig, &why) : RV_ERR_NOMEM;
	if (err == RV_OK)
		err = rv_predictor_new(session->rig, &session->predictor, &why);
	rv_text_free(&text);
	if (err == RV_ERR_NOMEM)
		return rv_err_set(error, err, "no memory for the rig");
	if (err != RV_OK)
		snprintf(session->lacks, sizeof session->lacks, "its rig cannot be solved: %.160s",
			 why.text);
	return RV_OK;
}

/* Two cells where there are two, else the one there is. */
static enum rv_err choose(const struct rv_pulls_ask *ask, struct rv_session *session,
			  struct rv_error *error)
{
	struct rv_pulls_ask one = *ask;
	enum rv_err err =
	    rv_pulls_choose(session->predictor, &session->channels, ask, &session->setup, error);

	if (err == RV_OK && session->setup.near < 0 && !ask->far && !ask->one_cell) {
		char why[sizeof session->setup.why];

		memcpy(why, session->setup.why, sizeof why);
		one.one_cell = true;
		err = rv_pulls_choose(session->predictor, &session->channels, &one, &session->setup,
				      error);
		if (err == RV_OK && session->setup.near < 0)
			memcpy(session->setup.why, why, sizeof why);
	}
	if (err == RV_OK && session->setup.why[0])
		snprintf(session->lacks, sizeof session->lacks, "%s", session->setup.why);
	return err;
}

struct marks {
	struct rv_store_mark *mark;
	size_t count, next;
	int exchanges;
	double line_m, travel_m; /* at the last mark that says a distance; NaN */
};

/* How far the load went, beside how much line came in. */
struct way {
	int channel; /* of travel; -1 = none */
	bool begun;
	int64_t pull_ns; /* the pull it belongs to */
	double line_m, load_m, last_line_m, last_load_m;
};

static void add_stretch(struct rv_session *session, double line_in_m, double load_m)
{
	if (session->stretches < RV_SESSION_STRETCHES && line_in_m > 0.0 && load_m > 0.0)
		session->stretch[session->stretches++] =
		    (struct rv_agreement_stretch){.line_in_m = line_in_m, .load_m = load_m};
}

/* A reading of travel while a pull is under way and past its beginning. */
static void see_travel(struct way *way, const struct rv_pulls *pulls, double load_m)
{
	const struct rv_pull *pull = &pulls->pull;
	double line_m = pulls->track.last_m;

	if (!pull->under_way || pull->guard_ns == 0 || isnan(line_m))
		return;
	if (!way->begun || way->pull_ns != pull->result.start_ns) {
		*way = (struct way){.channel = way->channel,
				    .begun = true,
				    .pull_ns = pull->result.start_ns,
				    .line_m = line_m,
				    .load_m = load_m};
	}
	way->last_line_m = line_m;
	way->last_load_m = load_m;
}

static void end_way(struct rv_session *session, struct way *way, const struct rv_pull_result *pull)
{
	if (way->begun && pull->why == RV_PULL_KEPT && pull->direction == RV_MOTION_IN)
		add_stretch(session, way->line_m - way->last_line_m,
			    fabs(way->last_load_m - way->load_m));
	way->begun = false;
}

/* Pulls that have ended become facts, with what the marks so far say of them. */
static void take_found(const struct rv_pulls *pulls, const struct marks *marks,
		       struct rv_session *session, struct way *way, size_t *taken)
{
	struct rv_facts *facts = &session->facts;

	for (; *taken < pulls->count; ++*taken) {
		int at = facts->count;

		end_way(session, way, &pulls->found[*taken]);
		rv_facts_add(facts, &pulls->found[*taken]);
		if (facts->count > at && marks->exchanges % 2 != 0)
			facts->pull[at].exchanged = true;
	}
}

/* A mark with a travelled distance: the stretch since the one before. */
static void see_distance(struct rv_session *session, struct marks *marks, double line_m,
			 double travel_m)
{
	if (isnan(travel_m) || isnan(line_m))
		return;
	if (!isnan(marks->travel_m))
		add_stretch(session, marks->line_m - line_m, fabs(travel_m - marks->travel_m));
	marks->travel_m = travel_m;
	marks->line_m = line_m;
}

static void see_marks(struct marks *marks, int64_t t_us, struct rv_pulls *pulls,
		      struct rv_session *session, struct way *way, size_t *taken)
{
	for (; marks->next < marks->count && marks->mark[marks->next].t_us <= t_us; marks->next++) {
		const struct rv_store_mark *mark = &marks->mark[marks->next];
		enum rv_mark_word word = rv_mark_word(mark->text);

		rv_pulls_mark(pulls, word, mark->t_us);
		take_found(pulls, marks, session, way, taken);
		if (way->channel < 0)
			see_distance(session, marks, pulls->track.last_m, mark->travel_m);
		if (word == RV_MARK_EXCHANGED)
			marks->exchanges++;
		if (word == RV_MARK_RIGGED_ANEW || word == RV_MARK_EXCHANGED)
			rv_facts_rigged_anew(&session->facts);
	}
}

static int travel_channel(const struct rv_session *session)
{
	for (int i = 0; i < session->channels.count; i++)
		if (session->channels.channel[i].declared.quantity == RV_TRAVEL)
			return i;
	return -1;
}

static enum rv_err pass(struct rv_store *store, const struct rv_pulls_ask *ask,
			struct rv_session *session, struct marks *marks, struct rv_error *error)
{
	struct rv_pulls *pulls = malloc(sizeof *pulls);
	struct rv_store_cursor *cursor = NULL;
	struct rv_store_reading reading;
	struct way way = {.channel = travel_channel(session)};
	size_t taken = 0;

	if (!pulls)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the pulls");
	marks->next = 0;
	marks->exchanges = 0;
	marks->travel_m = (double)NAN;
	session->stretches = 0;
	session->by_marks = way.channel < 0;
	rv_facts_init(&session->facts, session->facts.run);
	rv_pulls_init(pulls, &session->setup, session->run.from_us);
	enum rv_err err = rv_store_cursor_open(store, session->run.number, session->run.from_us,
					       session->run.end_us, &cursor, error);
	if (err == RV_OK)
		rv_recalibrate_cursor(ask->recalibration, ask->recalibrations, &session->channels,
				      cursor);
	while (err == RV_OK) {
		err = rv_store_cursor_next(cursor, &reading, error);
		if (err != RV_OK)
			break;
		see_marks(marks, reading.t_us, pulls, session, &way, &taken);
		rv_pulls_see(pulls, &reading);
		take_found(pulls, marks, session, &way, &taken);
		if (reading.channel == way.channel)
			see_travel(&way, pulls, reading.value);
	}
	rv_store_cursor_close(cursor);
	see_marks(marks, INT64_MAX, pulls, session, &way, &taken);
	rv_pulls_end(pulls);
	take_found(pulls, marks, session, &way, &taken);
	rv_facts_end(&session->facts);
	session->moves = marks->exchanges > 0;
	if (pulls->failed && err == RV_ERR_CLOSED)
		err = rv_err_set(error, RV_ERR_NOMEM, "no memory for the pulls");
	rv_pulls_free(pulls);
	free(pulls);
	return err == RV_ERR_CLOSED ? RV_OK : err;
}

/* Where the cells stood exchanged, each channel read the other one's place. */
static void turn_exchanged(struct rv_facts *facts)
{
	for (int i = 0; i < facts->count; i++) {
		struct rv_estimate_pull *pull = &facts->pull[i];
		double near_n = pull->near_n;

		if (!pull->exchanged)
			continue;
		pull->near_n = pull->far_n;
		pull->far_n = near_n;
		pull->log_ratio = -pull->log_ratio;
		pull->surge_log = -pull->surge_log;
	}
}

static enum rv_err find_pulls(struct rv_store *store, const struct rv_pulls_ask *ask,
			      struct rv_session *session, struct rv_error *error)
{
	struct marks marks = {.count = 0};
	enum rv_err err = rv_store_marks(store, session->run.from_us, session->run.end_us,
					 &marks.mark, &marks.count, error);

	if (err == RV_OK)
		err = pass(store, ask, session, &marks, error);
	session->lag_s = rv_facts_lag_s(&session->facts);
	if (err == RV_OK && fabs(session->lag_s) <= LAG_MOST_S) {
		double *delay_s = &session->setup.pull.side[RV_PULL_FAR].delay_s;

		*delay_s = (isnan(*delay_s) ? 0.0 : *delay_s) + session->lag_s;
		session->lag_taken = true;
		err = pass(store, ask, session, &marks, error);
	}
	free(marks.mark);
	if (session->setup.far >= 0)
		turn_exchanged(&session->facts);
	return err;
}

/* A pull that a person struck stays, with the reason. */
static enum rv_err take_strikes(struct rv_store *store, struct rv_session *session,
				struct rv_error *error)
{
	enum rv_err err = rv_store_strikes(store, session->run.number, &session->strike,
					   &session->strikes, error);

	for (int i = 0; err == RV_OK && i < session->facts.count; i++) {
		struct rv_estimate_pull *pull = &session->facts.pull[i];
		const struct rv_store_strike *strike =
		    rv_store_strike_of(session->strike, session->strikes,
				       session->run.from_us + llround(pull->start_s * 1e6));

		pull->struck = strike ? strike->reason : NULL;
	}
	return err;
}

enum rv_err rv_session_read(struct rv_store *store, int64_t number, int position,
			    const struct rv_pulls_ask *ask, struct rv_session *session,
			    struct rv_error *error)
{
	memset(session, 0, sizeof *session);
	session->lag_s = (double)NAN;
	rv_facts_init(&session->facts, position);
	enum rv_err err = rv_store_get_run(store, number, &session->run, error);
	if (err == RV_OK)
		err = rv_store_run_channels(store, number, &session->channels, error);
	if (err == RV_OK)
		err = rv_recalibrate(store, &session->run, ask->recalibration, ask->recalibrations,
				     &session->channels, error);
	if (err == RV_OK)
		rv_store_utc(store, session->run.end_us, session->ended);
	if (err == RV_OK)
		err = read_rig(store, session, error);
	if (err == RV_OK && session->predictor)
		err = choose(ask, session, error);
	if (err == RV_OK && session->predictor && !session->lacks[0])
		err = find_pulls(store, ask, session, error);
	if (err == RV_OK)
		err = take_strikes(store, session, error);
	return err;
}

void rv_session_close(struct rv_session *session)
{
	rv_predictor_free(session->predictor);
	free(session->rig);
	free(session->strike);
	session->predictor = NULL;
	session->strike = NULL;
	session->rig = NULL;
}

/* A stated uncertainty in newtons; relative ones are of the reading: of no use for a zero. */
static double absolute_n(const struct rv_stated *stated)
{
	return stated->value > 0.0 ? stated->value : (double)NAN;
}

struct rv_estimate_cell rv_session_cell(const struct rv_session *session, int channel)
{
	const struct rv_channel *declared = &session->channels.channel[channel].declared;
	const struct rv_calibration *calibration = &declared->calibration;
	double gain = calibration->gain.ratio;

	if (!(gain > 0.0) && calibration->gain.value > 0.0 && declared->capacity > 0.0)
		gain = calibration->gain.value / declared->capacity;
	return (struct rv_estimate_cell){
	    .name = declared->cell,
	    .u_gain_ratio = gain > 0.0 ? gain : (double)NAN,
	    .u_zero_n = absolute_n(&calibration->zero),
	    .u_drift_n = absolute_n(&calibration->drift),
	    .u_inverse_n = calibration->inverse_error_n / sqrt(3.0),
	    .capacity_n = declared->capacity,
	    .delay_s = calibration->delay_s,
	    .calibration = calibration->name,
	};
}
