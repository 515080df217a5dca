/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/export.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "schema/export_run.h"

enum { HEADER_SIZE = RV_NAME_SIZE + 4, CHUNK = 65536 };

struct table {
	struct rv_store *store;
	struct rv_store_run run;
	struct rv_store_channels channels;
	char header[RV_CHANNELS][HEADER_SIZE];
	const struct rv_export_sink *sink;
	struct rv_text text;		     /* not yet handed to the sink */
	int64_t utc_offset_us, utc_until_us; /* of row times; until: 0 = not asked yet */
	/* wide: the line under way */
	int64_t line_us;
	bool has_line;
	double value[RV_CHANNELS];
};

static void say_header(const struct rv_channel *channel, char header[HEADER_SIZE])
{
	const char *end = "";

	if (strcmp(channel->unit, "N") == 0)
		end = "_n";
	else if (strcmp(channel->unit, "m") == 0)
		end = "_m";
	snprintf(header, HEADER_SIZE, "%s%s", channel->name, end);
}

static enum rv_err set_up(struct rv_store *store, int64_t number, struct table *table,
			  struct rv_error *error)
{
	enum rv_err err = rv_store_get_run(store, number, &table->run, error);

	if (err == RV_OK)
		err = rv_store_run_channels(store, number, &table->channels, error);
	if (err != RV_OK)
		return err;
	table->store = store;
	for (int i = 0; i < table->channels.count; i++) {
		say_header(&table->channels.channel[i].declared, table->header[i]);
		for (int j = 0; j < i; j++)
			if (strcmp(table->header[i], table->header[j]) == 0)
				return rv_err_refuse(error, "columns_alike",
						     "two channels would both be the column %s: "
						     "export it tidy",
						     table->header[i]);
	}
	return RV_OK;
}

/* A field, in quotes where it holds a comma, a quote or an end of line (RFC 4180, section 2). */
static void add_field(struct rv_text *text, const char *field)
{
	if (!strpbrk(field, ",\"\r\n")) {
		rv_text_add_bytes(text, field, strlen(field));
		return;
	}
	rv_text_add_bytes(text, "\"", 1);
	for (const char *c = field; *c; c++)
		rv_text_add_bytes(text, *c == '"' ? "\"\"" : c, *c == '"' ? 2 : 1);
	rv_text_add_bytes(text, "\"", 1);
}

/* The shortest of 15 and 17 digits that reads back the same. */
static void add_number(struct rv_text *text, double value)
{
	char digits[32];
	int len = snprintf(digits, sizeof digits, "%.15g", value);

	if (!rv_sample_is_same(strtod(digits, NULL), value))
		len = snprintf(digits, sizeof digits, "%.17g", value);
	rv_text_add_bytes(text, digits, (size_t)len);
}

static void add_time(struct table *table, int64_t t_us)
{
	int64_t since_us = t_us - table->run.from_us;
	char utc[RV_UTC_SIZE];

	if (t_us >= table->utc_until_us)
		table->utc_offset_us =
		    rv_store_utc_offset_us(table->store, t_us, &table->utc_until_us);
	rv_utc_text(t_us + table->utc_offset_us, utc);
	rv_text_add(&table->text, "%lld.%06lld,%s", (long long)(since_us / 1000000),
		    (long long)(since_us % 1000000), utc);
}

static enum rv_err hand_over(struct table *table, size_t least, struct rv_error *error)
{
	if (table->text.failed)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory to export the run");
	if (table->text.len <= least)
		return RV_OK;
	if (!table->sink->write(table->sink->to, table->text.data, table->text.len))
		return rv_err_set(error, RV_ERR_CLOSED, "the table could not be written");
	rv_text_clear(&table->text);
	return RV_OK;
}

static void end_line(struct table *table)
{
	if (!table->has_line)
		return;
	add_time(table, table->line_us);
	for (int i = 0; i < table->channels.count; i++) {
		rv_text_add_bytes(&table->text, ",", 1);
		if (!isnan(table->value[i]))
			add_number(&table->text, table->value[i]);
		table->value[i] = (double)NAN;
	}
	rv_text_add_bytes(&table->text, "\r\n", 2);
	table->has_line = false;
}

static void add_wide(struct table *table, const struct rv_store_reading *reading)
{
	if (table->has_line && reading->t_us != table->line_us)
		end_line(table);
	table->has_line = true;
	table->line_us = reading->t_us;
	table->value[reading->channel] = reading->value;
}

static void add_tidy(struct table *table, const struct rv_store_reading *reading)
{
	const struct rv_channel *channel = &table->channels.channel[reading->channel].declared;

	add_time(table, reading->t_us);
	rv_text_add_bytes(&table->text, ",", 1);
	add_field(&table->text, channel->name);
	rv_text_add_bytes(&table->text, ",", 1);
	add_number(&table->text, reading->value);
	rv_text_add_bytes(&table->text, ",", 1);
	add_field(&table->text, channel->unit);
	rv_text_add_bytes(&table->text, "\r\n", 2);
}

static void add_head(struct table *table, enum rv_export_shape shape)
{
	rv_text_add(&table->text, "time_s,time_utc");
	if (shape == RV_EXPORT_TIDY)
		rv_text_add(&table->text, ",channel,value,unit");
	for (int i = 0; shape == RV_EXPORT_WIDE && i < table->channels.count; i++) {
		rv_text_add_bytes(&table->text, ",", 1);
		add_field(&table->text, table->header[i]);
		table->value[i] = (double)NAN;
	}
	rv_text_add_bytes(&table->text, "\r\n", 2);
}

static enum rv_err write_lines(struct table *table, enum rv_export_shape shape,
			       struct rv_error *error)
{
	struct rv_store_cursor *cursor = NULL;
	struct rv_store_reading reading;
	enum rv_err err = rv_store_cursor_open(table->store, table->run.number, table->run.from_us,
					       table->run.end_us, &cursor, error);

	if (err != RV_OK)
		return err;
	add_head(table, shape);
	while (err == RV_OK && (err = rv_store_cursor_next(cursor, &reading, error)) == RV_OK) {
		if (shape == RV_EXPORT_WIDE)
			add_wide(table, &reading);
		else
			add_tidy(table, &reading);
		err = hand_over(table, CHUNK, error);
		if (err == RV_ERR_CLOSED)
			break;
	}
	rv_store_cursor_close(cursor);
	return err;
}

enum rv_err rv_export_csv(struct rv_store *store, int64_t number, enum rv_export_shape shape,
			  const struct rv_export_sink *sink, struct rv_error *error)
{
	struct table *table = calloc(1, sizeof *table);
	struct rv_error why = {0};

	if (!table)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory to export the run");
	table->sink = sink;
	enum rv_err err = set_up(store, number, table, &why);
	if (err == RV_OK)
		err = write_lines(table, shape, &why);
	/* The cursor's end and the sink's refusal share a code; only the latter has words. */
	if (err == RV_ERR_CLOSED && why.code == RV_OK) {
		end_line(table);
		err = hand_over(table, 0, &why);
	}
	if (err != RV_OK && error)
		*error = why;
	rv_text_free(&table->text);
	free(table);
	return err;
}

/* ---- metadata ----------------------------------------------------------------------------- */

static const char *describe(const struct rv_channel *channel)
{
	switch (channel->quantity) {
	case RV_TENSION:
		return "tension, calibrated, no tare taken off";
	case RV_PAYOUT:
		return "line out from where it was set; grows while paying out";
	case RV_TURNS:
		return "turns of the drum";
	case RV_TRAVEL:
		return "travel of the load";
	case RV_SWITCH:
		return "1 = closed";
	case RV_OTHER:
		break;
	}
	return "as declared by the station";
}

static json_t *column(const char *name, const char *title, const char *type, const char *about)
{
	return json_pack("{s:s, s:s, s:s, s:s}", "name", name, "titles", title, "datatype", type,
			 "dc:description", about);
}

static json_t *time_columns(void)
{
	json_t *columns = json_array();
	json_t *seconds =
	    column("time_s", "time_s", "decimal", "seconds from the start of the run");

	json_object_set_new(seconds, "schema:unitText", json_string("s"));
	json_object_set_new(seconds, "required", json_true());
	json_array_append_new(columns, seconds);
	json_array_append_new(columns, column("time_utc", "time_utc", "dateTimeStamp",
					      "UTC by the newest anchor of the station's clock"));
	return columns;
}

/* The header as the name of a column: what is no letter, digit or underscore is percent-encoded. */
static void say_name(const char *header, char *name, size_t size)
{
	size_t at = 0;

	for (const char *c = header; *c && at + 4 < size; c++) {
		bool plain = (*c >= 'a' && *c <= 'z') || (*c >= 'A' && *c <= 'Z') ||
			     (*c >= '0' && *c <= '9') || (*c == '_' && c != header);
		if (plain)
			name[at++] = *c;
		else
			at += (size_t)snprintf(name + at, size - at, "%%%02X",
					       (unsigned)(unsigned char)*c);
	}
	name[at] = '\0';
}

static json_t *channel_column(const struct rv_store_channel *channel, const char *header)
{
	const struct rv_channel *declared = &channel->declared;
	char name[3 * HEADER_SIZE + 1], about[4 * RV_NAME_SIZE];

	say_name(header, name, sizeof name);
	snprintf(about, sizeof about, "%s%s%s; calibration %s", describe(declared),
		 declared->cell[0] ? "; cell " : "", declared->cell, declared->calibration.name);
	json_t *made = column(name, header, "double", about);
	json_object_set_new(made, "schema:unitText", json_string(declared->unit));
	return made;
}

static json_t *schema_json(const struct table *table, enum rv_export_shape shape)
{
	json_t *columns = time_columns();

	if (shape == RV_EXPORT_TIDY) {
		json_array_append_new(columns, column("channel", "channel", "string", "its name"));
		json_array_append_new(
		    columns, column("value", "value", "double", "calibrated, in the unit"));
		json_array_append_new(columns, column("unit", "unit", "string", "of the value"));
	}
	for (int i = 0; shape == RV_EXPORT_WIDE && i < table->channels.count; i++)
		json_array_append_new(
		    columns, channel_column(&table->channels.channel[i], table->header[i]));
	return json_pack("{s:o}", "columns", columns);
}

static json_t *metadata_json(const struct table *table, enum rv_export_shape shape, const char *url)
{
	const struct rv_store_run *run = &table->run;
	char start[RV_UTC_SIZE], end[RV_UTC_SIZE];

	rv_store_utc(table->store, run->from_us, start);
	rv_store_utc(table->store, run->end_us, end);
	return json_pack(
	    "{s:[s, {s:s}], s:s, s:s, s:s, s:I, s:s, s:s, s:s*, s:{s:s, s:b, s:s, s:s}, s:o}",
	    "@context", "http://www.w3.org/ns/csvw", "@language", "en", "url", url, "dc:title",
	    run->name, "dc:description",
	    run->simulated ? "SIMULATED: the instruments were played, nothing was measured"
			   : "a run of a winch-line load logger",
	    "dc:identifier", (json_int_t)run->number, "schema:startDate", start, "schema:endDate",
	    end, "dc:subject", run->rig[0] ? run->rig : NULL, "dialect", "delimiter", ",", "header",
	    1, "encoding", "utf-8", "quoteChar", "\"", "tableSchema", schema_json(table, shape));
}

/* What the table itself does not hold, as an annotation ("notes" are free in that vocabulary). */
static enum rv_err add_note(const struct table *table, json_t *metadata, struct rv_error *error)
{
	json_t *run = NULL;
	enum rv_err err =
	    rv_export_run_json(table->store, &table->run, &table->channels, &run, error);

	if (err == RV_OK)
		json_object_set_new(metadata, "notes", json_pack("[{s:o}]", "run", run));
	return err;
}

enum rv_err rv_export_metadata(struct rv_store *store, int64_t number, enum rv_export_shape shape,
			       const char *url, json_t **metadata, struct rv_error *error)
{
	struct table *table = calloc(1, sizeof *table);
	json_t *made = NULL;

	if (!table)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory to export the run");
	enum rv_err err = set_up(store, number, table, error);
	if (err == RV_OK) {
		made = metadata_json(table, shape, url);
		if (!made)
			err = rv_err_set(error, RV_ERR_NOMEM, "no memory to export the run");
	}
	if (err == RV_OK)
		err = add_note(table, made, error);
	if (err != RV_OK)
		json_decref(made);
	free(table);
	if (err == RV_OK)
		*metadata = made;
	return err;
}
