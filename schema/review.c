/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/review.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/json.h"
#include "schema/pulls.h"

/* What is said of one channel over a run. */
struct summary {
	int64_t readings;
	double low, high, sum;
	int64_t high_us;
};

struct look {
	struct rv_store_run run;
	struct rv_store_channels channels;
	struct summary summary[RV_CHANNELS];
	struct rv_pulls pulls;
	struct rv_store_strike *strike; /* what was said of the pulls */
	size_t strikes;
};

static void note_reading(struct summary *summary, const struct rv_store_reading *reading)
{
	if (summary->readings++ == 0 || reading->value > summary->high) {
		summary->high = reading->value;
		summary->high_us = reading->t_us;
	}
	if (summary->readings == 1 || reading->value < summary->low)
		summary->low = reading->value;
	summary->sum += reading->value;
}

/* Goes through the run's readings once; with pulls, feeds them too. */
static enum rv_err go_through(struct rv_store *store, struct look *look, bool with_pulls,
			      struct rv_error *error)
{
	struct rv_store_cursor *cursor = NULL;
	struct rv_store_reading reading;
	enum rv_err err = rv_store_cursor_open(store, look->run.number, look->run.from_us,
					       look->run.end_us, &cursor, error);

	if (err != RV_OK)
		return err;
	memset(look->summary, 0, sizeof look->summary);
	while ((err = rv_store_cursor_next(cursor, &reading, error)) == RV_OK) {
		note_reading(&look->summary[reading.channel], &reading);
		if (with_pulls)
			rv_pulls_see(&look->pulls, &reading);
	}
	rv_store_cursor_close(cursor);
	return err == RV_ERR_CLOSED ? RV_OK : err;
}

static const char *text_or_null(const char *text)
{
	return text[0] ? text : NULL;
}

static double seconds(const struct look *look, int64_t t_us)
{
	return (double)(t_us - look->run.from_us) * 1e-6;
}

/* The highest tension of the run. */
static json_t *peak_json(const struct look *look)
{
	int highest = -1;

	for (int i = 0; i < look->channels.count; i++)
		if (look->channels.channel[i].declared.quantity == RV_TENSION &&
		    look->summary[i].readings &&
		    (highest < 0 || look->summary[i].high > look->summary[highest].high))
			highest = i;
	if (highest < 0)
		return json_null();
	const struct rv_channel *channel = &look->channels.channel[highest].declared;
	return json_pack("{s:s, s:o, s:s}", "channel", channel->name, "value",
			 rv_json_real(look->summary[highest].high), "unit", channel->unit);
}

static json_t *head_json(struct rv_store *store, const struct look *look)
{
	const struct rv_store_run *run = &look->run;
	char start[RV_UTC_SIZE];
	int64_t readings = 0;

	for (int i = 0; i < look->channels.count; i++)
		readings += look->summary[i].readings;
	rv_store_utc(store, run->from_us, start);
	return json_pack("{s:I, s:s, s:s, s:o, s:s, s:o, s:I, s:o, s:b}", "number",
			 (json_int_t)run->number, "name", run->name, "start_utc", start,
			 "duration_s", rv_json_real(seconds(look, run->end_us)), "how", run->how,
			 "rig", rv_json_text(text_or_null(run->rig)), "readings",
			 (json_int_t)readings, "peak", peak_json(look), "simulated",
			 run->simulated);
}

/* Gives value to the object or list, or counts the failure. */
static void put(json_t *object, const char *key, json_t *value, bool *failed)
{
	if (!value || json_object_set_new(object, key, value) != 0)
		*failed = true;
}

static void append(json_t *list, json_t *value, bool *failed)
{
	if (!value || json_array_append_new(list, value) != 0)
		*failed = true;
}

static enum rv_err no_memory(struct rv_error *error)
{
	return rv_err_set(error, RV_ERR_NOMEM, "no memory to tell of the run");
}

enum rv_err rv_store_runs_json(struct rv_store *store, json_t **runs, struct rv_error *error)
{
	struct rv_store_run *list = NULL;
	size_t count = 0;
	bool failed = false;
	enum rv_err err = rv_store_runs(store, &list, &count, error);

	if (err != RV_OK)
		return err;
	struct look *look = calloc(1, sizeof *look);
	json_t *array = json_array();
	for (size_t i = 0; look && err == RV_OK && i < count; i++) {
		look->run = list[i];
		err = rv_store_run_channels(store, list[i].number, &look->channels, error);
		if (err == RV_OK)
			err = go_through(store, look, false, error);
		if (err == RV_OK)
			append(array, head_json(store, look), &failed);
	}
	json_t *made = json_pack("{s:o}", "runs", array);
	if (err == RV_OK && (failed || !made || !look))
		err = no_memory(error);
	free(look);
	free(list);
	if (err == RV_OK)
		*runs = made;
	else
		json_decref(made);
	return err;
}

/* ---- one run ------------------------------------------------------------------------------ */

static json_t *channel_json(const struct look *look, int i)
{
	const struct rv_store_channel *channel = &look->channels.channel[i];
	const struct rv_channel *declared = &channel->declared;
	const struct summary *summary = &look->summary[i];
	bool any = summary->readings > 0;
	double nothing = (double)NAN;

	return json_pack("{s:s, s:s, s:o, s:s, s:s, s:I, s:o, s:o, s:o, s:o, s:s, s:o}", "name",
			 declared->name, "quantity", rv_station_quantity_name(declared->quantity),
			 "cell", rv_json_text(text_or_null(declared->cell)), "device",
			 channel->device, "unit", declared->unit, "readings",
			 (json_int_t)summary->readings, "low",
			 rv_json_real(any ? summary->low : nothing), "high",
			 rv_json_real(any ? summary->high : nothing), "high_s",
			 rv_json_real(any ? seconds(look, summary->high_us) : nothing), "mean",
			 rv_json_real(any ? summary->sum / (double)summary->readings : nothing),
			 "calibration", declared->calibration.name, "due",
			 rv_json_text(text_or_null(declared->calibration.due)));
}

static void add_channels(json_t *run, const struct look *look, bool *failed)
{
	json_t *list = json_array();

	for (int i = 0; i < look->channels.count; i++)
		append(list, channel_json(look, i), failed);
	put(run, "channels", list, failed);
}

static json_t *pull_json(const struct look *look, size_t i)
{
	const struct rv_pull_result *pull = &look->pulls.found[i];
	const struct rv_store_strike *strike = rv_store_strike_of(
	    look->strike, look->strikes, look->run.from_us + pull->start_ns / 1000);
	const char *why = strike ? strike->reason : rv_pull_why_name(pull->why);

	return json_pack(
	    "{s:I, s:s, s:f, s:f, s:o, s:o, s:b, s:b, s:o}", "index", (json_int_t)i + 1,
	    "direction", rv_station_motion_name(pull->direction), "start_s",
	    (double)pull->start_ns * 1e-9, "end_s", (double)pull->end_ns * 1e-9, "mean_tension_n",
	    rv_json_real(pull->mean_tension_n), "log_ratio", rv_json_real(pull->log_ratio), "kept",
	    pull->why == RV_PULL_KEPT && !strike, "struck", strike != NULL, "why",
	    rv_json_text(text_or_null(why)));
}

static const char *channel_name(const struct look *look, int channel)
{
	return channel < 0 ? NULL : look->channels.channel[channel].declared.name;
}

static void add_pulls(json_t *run, const struct look *look, bool *failed)
{
	const struct rv_pulls_setup *setup = &look->pulls.setup;
	json_t *list = json_array();

	for (size_t i = 0; i < look->pulls.count; i++)
		append(list, pull_json(look, i), failed);
	put(run, "pulls", list, failed);
	put(run, "pulls_by",
	    json_pack("{s:o, s:o, s:o, s:o}", "near", rv_json_text(channel_name(look, setup->near)),
		      "far", rv_json_text(channel_name(look, setup->far)), "motion_source",
		      rv_json_text(setup->source), "why_none",
		      rv_json_text(text_or_null(setup->why))),
	    failed);
}

static enum rv_err add_marks(struct rv_store *store, json_t *run, const struct look *look,
			     bool *failed, struct rv_error *error)
{
	struct rv_store_mark *marks = NULL;
	size_t count = 0;
	json_t *list = json_array();
	enum rv_err err =
	    rv_store_marks(store, look->run.from_us, look->run.to_us, &marks, &count, error);

	for (size_t i = 0; err == RV_OK && i < count; i++)
		append(list,
		       json_pack("{s:f, s:s, s:o}", "t_s", seconds(look, marks[i].t_us), "text",
				 marks[i].text, "travel_m", rv_json_real(marks[i].travel_m)),
		       failed);
	free(marks);
	put(run, "marks", list, failed);
	return err;
}

static enum rv_err add_alarms(struct rv_store *store, json_t *run, const struct look *look,
			      bool *failed, struct rv_error *error)
{
	struct rv_store_alarm *alarms = NULL;
	size_t count = 0;
	json_t *list = json_array();
	enum rv_err err =
	    rv_store_alarms(store, look->run.from_us, look->run.to_us, &alarms, &count, error);

	for (size_t i = 0; err == RV_OK && i < count; i++) {
		const struct rv_store_alarm *alarm = &alarms[i];
		append(list,
		       json_pack("{s:f, s:s, s:s, s:s, s:o, s:o, s:o, s:o}", "t_s",
				 seconds(look, alarm->t_us), "name", alarm->name, "level",
				 alarm->level, "state", alarm->state, "value",
				 rv_json_real(alarm->value), "unit",
				 rv_json_text(text_or_null(alarm->unit)), "text",
				 rv_json_text(text_or_null(alarm->text)), "by_whom",
				 rv_json_text(text_or_null(alarm->by_whom))),
		       failed);
	}
	free(alarms);
	put(run, "alarms", list, failed);
	return err;
}

/* Cut to the run; to_s null: it lasts. */
static json_t *gap_json(const struct look *look, const struct rv_store_gap *gap)
{
	int64_t from_us = gap->from_us > look->run.from_us ? gap->from_us : look->run.from_us;
	int64_t to_us = gap->to_us < look->run.to_us ? gap->to_us : look->run.to_us;
	bool lasts = to_us == RV_STORE_FOREVER;

	return json_pack("{s:f, s:o, s:s, s:o, s:o, s:o, s:I, s:o}", "from_s",
			 seconds(look, from_us), "to_s",
			 rv_json_real(lasts ? (double)NAN : seconds(look, to_us)), "what",
			 gap->what, "device", rv_json_text(text_or_null(gap->device)), "channel",
			 rv_json_text(text_or_null(gap->channel)), "cause",
			 rv_json_text(text_or_null(gap->cause)), "count", (json_int_t)gap->count,
			 "text", rv_json_text(text_or_null(gap->text)));
}

static enum rv_err add_gaps(struct rv_store *store, json_t *run, const struct look *look,
			    bool *failed, struct rv_error *error)
{
	struct rv_store_gap *gaps = NULL;
	size_t count = 0;
	json_t *list = json_array();
	enum rv_err err =
	    rv_store_gaps(store, look->run.from_us, look->run.to_us, &gaps, &count, error);

	for (size_t i = 0; err == RV_OK && i < count; i++)
		append(list, gap_json(look, &gaps[i]), failed);
	free(gaps);
	put(run, "gaps", list, failed);
	return err;
}

static void add_end(struct rv_store *store, json_t *run, const struct look *look, bool *failed)
{
	char end[RV_UTC_SIZE];
	bool is_open = look->run.to_us == RV_STORE_FOREVER;

	if (!is_open)
		rv_store_utc(store, look->run.to_us, end);
	put(run, "end_utc", is_open ? json_null() : json_string(end), failed);
	put(run, "ended", rv_json_text(text_or_null(look->run.ended)), failed);
	put(run, "notes", json_string(look->run.notes), failed);
	put(run, "unit", json_string(look->run.unit), failed);
}

static enum rv_err look_at(struct rv_store *store, int64_t number, struct look *look,
			   struct rv_error *error)
{
	struct rv_pulls_setup setup;
	enum rv_err err = rv_store_get_run(store, number, &look->run, error);

	if (err == RV_OK)
		err = rv_store_run_channels(store, number, &look->channels, error);
	if (err == RV_OK)
		err = rv_pulls_set_up(store, number, &look->channels, &setup, error);
	if (err != RV_OK)
		return err;
	rv_pulls_init(&look->pulls, &setup, look->run.from_us);
	err = go_through(store, look, true, error);
	rv_pulls_end(&look->pulls);
	if (err == RV_OK)
		err = rv_store_strikes(store, number, &look->strike, &look->strikes, error);
	return err;
}

enum rv_err rv_review_run_json(struct rv_store *store, int64_t number, json_t **run,
			       struct rv_error *error)
{
	struct look *look = calloc(1, sizeof *look);
	json_t *made = NULL;
	bool failed = false;

	if (!look)
		return no_memory(error);
	enum rv_err err = look_at(store, number, look, error);
	if (err == RV_OK) {
		made = head_json(store, look);
		add_end(store, made, look, &failed);
		add_channels(made, look, &failed);
		add_pulls(made, look, &failed);
		err = add_marks(store, made, look, &failed, error);
	}
	if (err == RV_OK)
		err = add_alarms(store, made, look, &failed, error);
	if (err == RV_OK)
		err = add_gaps(store, made, look, &failed, error);
	if (err == RV_OK && (failed || look->pulls.failed))
		err = no_memory(error);
	rv_pulls_free(&look->pulls);
	free(look->strike);
	free(look);
	if (err == RV_OK)
		*run = made;
	else
		json_decref(made);
	return err;
}
