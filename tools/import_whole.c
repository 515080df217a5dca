/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/import_whole.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "core/station_read.h"
#include "tools/take_file.h"

#define METADATA_MOST_MB 16

/* The run of which this table is the table; NULL = none. */
static json_t *find_run(json_t *metadata, const char *base)
{
	const char *url = json_string_value(json_object_get(metadata, "url"));
	json_t *notes = json_object_get(metadata, "notes");

	if (!url || strcmp(url, base) != 0)
		return NULL;
	for (size_t i = 0; i < json_array_size(notes); i++) {
		json_t *run = json_object_get(json_array_get(notes, i), "run");
		if (json_is_object(run))
			return run;
	}
	return NULL;
}

static enum rv_err take_mark(json_t *from, int64_t start_us, struct rv_store_mark *mark)
{
	const char *text = NULL, *by_whom = "";
	double t_s = 0.0;
	json_t *travel = NULL;

	if (json_unpack(from, "{s:F, s:s, s?o, s?s}", "t_s", &t_s, "text", &text, "travel_m",
			&travel, "by_whom", &by_whom) != 0 ||
	    !(fabs(t_s) < 1e10))
		return RV_ERR_SYNTAX;
	*mark = (struct rv_store_mark){
	    .t_us = start_us + llround(t_s * 1e6),
	    .travel_m = json_is_number(travel) ? json_number_value(travel) : (double)NAN};
	snprintf(mark->text, sizeof mark->text, "%s", text);
	snprintf(mark->by_whom, sizeof mark->by_whom, "%s", by_whom);
	return RV_OK;
}

static enum rv_err take_marks(struct rv_import_whole *whole)
{
	json_t *list = json_object_get(whole->run, "marks");
	size_t count = json_array_size(list);

	whole->marks = calloc(count + 1, sizeof *whole->marks);
	if (!whole->marks)
		return RV_ERR_NOMEM;
	for (size_t i = 0; i < count; i++)
		if (take_mark(json_array_get(list, i), whole->start_us, &whole->marks[i]) != RV_OK)
			return RV_ERR_SYNTAX;
	whole->mark_count = count;
	return RV_OK;
}

static enum rv_err take_run(struct rv_import_whole *whole)
{
	json_int_t start_us = 0, end_us = 0;
	json_t *rig = NULL;

	if (json_unpack(whole->run, "{s:I, s:I, s:s, s:s, s:o, s:{}}", "start_us", &start_us,
			"end_us", &end_us, "name", &whole->name, "notes", &whole->notes, "rig",
			&rig, "station") != 0 ||
	    end_us <= start_us)
		return RV_ERR_SYNTAX;
	whole->start_us = start_us;
	whole->end_us = end_us;
	whole->rig = json_string_value(rig);
	return take_marks(whole);
}

enum rv_err rv_import_whole_find(const char *table, struct rv_import_whole *whole,
				 char path[RV_PATH_SIZE], struct rv_error *error)
{
	const char *slash = strrchr(table, '/'), *base = slash ? slash + 1 : table;
	json_error_t why = {0};
	char *text = NULL;
	size_t len = 0;

	if (snprintf(path, RV_PATH_SIZE, "%.*smetadata.json", (int)(base - table), table) >=
		RV_PATH_SIZE ||
	    access(path, F_OK) != 0)
		return RV_OK;
	enum rv_err err = rv_take_file(path, METADATA_MOST_MB, &text, &len, error);
	if (err != RV_OK)
		return err;
	json_t *metadata = json_loadb(text, len, JSON_REJECT_DUPLICATES, &why);
	free(text);
	if (!metadata)
		return rv_err_at(error, RV_ERR_SYNTAX, why.line, why.column, "no JSON: %s",
				 why.text);
	whole->run = json_incref(find_run(metadata, base));
	json_decref(metadata);
	if (whole->run)
		err = take_run(whole);
	if (err == RV_ERR_NOMEM)
		return rv_err_set(error, err, "no memory for the marks");
	if (err != RV_OK)
		return rv_err_set(error, err,
				  "its note \"run\" is not as `reeve export` writes it; say what "
				  "the columns are with --station");
	return RV_OK;
}

/* What no key of a station file says of a calibration. */
static void take_calibrations(const struct rv_import_whole *whole, struct rv_station *station)
{
	json_t *all = json_object_get(whole->run, "calibrations");

	for (int i = 0; i < station->channels; i++) {
		struct rv_calibration *calibration = &station->channel[i].calibration;
		json_t *one = json_object_get(all, station->channel[i].name);
		const char *due = json_string_value(json_object_get(one, "due"));
		json_t *inverse = json_object_get(one, "inverse_error_n");

		if (due)
			snprintf(calibration->due, sizeof calibration->due, "%s", due);
		if (json_is_number(inverse))
			calibration->inverse_error_n = json_number_value(inverse);
	}
}

enum rv_err rv_import_whole_station(const struct rv_import_whole *whole, struct rv_station *station,
				    char **text, struct rv_error *error)
{
	const struct rv_station_outside outside = {.has_key = true, .for_import = true};
	struct rv_error why = {0};
	char *made = json_dumps(json_object_get(whole->run, "station"), JSON_INDENT(1));

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the station");
	enum rv_err err = rv_station_read(made, strlen(made), &outside, station, &why);
	if (err != RV_OK) {
		free(made);
		return rv_err_set(error, err, "the station of its note \"run\": %s", why.text);
	}
	take_calibrations(whole, station);
	*text = made;
	return RV_OK;
}

void rv_import_whole_free(struct rv_import_whole *whole)
{
	json_decref(whole->run);
	free(whole->marks);
	whole->run = NULL;
	whole->marks = NULL;
}
