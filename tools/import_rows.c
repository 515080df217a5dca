/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/import_rows.h"

#include <errno.h>
#include <math.h>
#include <string.h>

#include "core/utc.h"

/* From here on seconds cannot be counted from a start: they are those since 1970-01-01. */
#define EPOCH_SECONDS 1e9
#define LONGEST_S 1e11

static enum rv_err next_row(struct rv_import_rows *rows, struct rv_csv_row *row,
			    struct rv_error *error)
{
	enum rv_err err;

	while ((err = rv_csv_next(rows->csv, row, error)) == RV_ERR_AGAIN) {
		size_t len = fread(rows->bytes, 1, sizeof rows->bytes, rows->file);

		if (len == 0 && ferror(rows->file))
			return rv_err_set(error, RV_ERR_SYSTEM, "the table cannot be read: %s",
					  strerror(errno));
		rv_csv_feed(rows->csv, rows->bytes, len);
	}
	return err;
}

enum rv_err rv_import_rows_open(const char *path, const struct rv_station *station,
				const struct rv_import_map *maps, int count,
				struct rv_import_rows *rows, struct rv_error *error)
{
	struct rv_csv_row head;

	memset(rows, 0, sizeof *rows);
	rows->station = station;
	rows->file = fopen(path, "rb");
	if (!rows->file)
		return rv_err_set(error, RV_ERR_SYSTEM, "cannot be opened: %s", strerror(errno));
	enum rv_err err = rv_csv_new(&rows->csv);
	if (err == RV_OK)
		err = next_row(rows, &head, error);
	if (err == RV_ERR_CLOSED)
		return rv_err_set(error, RV_ERR_MISSING, "the table is empty");
	if (err == RV_OK)
		err = rv_import_columns_match(&head, station, maps, count, &rows->columns, error);
	return err;
}

void rv_import_rows_close(struct rv_import_rows *rows)
{
	if (rows->file)
		(void)fclose(rows->file);
	rv_csv_free(rows->csv);
	rows->file = NULL;
	rows->csv = NULL;
}

static enum rv_err read_utc(struct rv_import_rows *rows, const struct rv_csv_field *field,
			    int64_t *utc_us, struct rv_error *error)
{
	bool has_zone = true;
	enum rv_err err = rv_utc_read(field->text, utc_us, &has_zone);

	if (err != RV_OK)
		return rv_err_at(error, err, field->line, field->column,
				 "\"%.40s\" is no time: write it as 2026-03-31T10:21:00.125Z",
				 field->text);
	rows->zone_missing = rows->zone_missing || !has_zone;
	return RV_OK;
}

/* The first row says where time_s counts from. */
static enum rv_err begin_time(struct rv_import_rows *rows, const struct rv_csv_row *row,
			      double time_s, struct rv_error *error)
{
	int64_t utc_us = 0;

	rows->dated = rows->columns.time_utc >= 0 || time_s >= EPOCH_SECONDS;
	if (rows->columns.time_utc < 0)
		return RV_OK;
	enum rv_err err = read_utc(rows, &row->field[rows->columns.time_utc], &utc_us, error);
	if (err == RV_OK)
		rows->origin_us = utc_us - llround(time_s * 1e6);
	return err;
}

static enum rv_err read_time(struct rv_import_rows *rows, const struct rv_csv_row *row,
			     int64_t *t_us, struct rv_error *error)
{
	const struct rv_import_columns *columns = &rows->columns;
	double time_s = 0.0;

	if (columns->time_s < 0) {
		rows->dated = true;
		return read_utc(rows, &row->field[columns->time_utc], t_us, error);
	}
	const struct rv_csv_field *field = &row->field[columns->time_s];
	enum rv_err err = rv_csv_number(rows->csv, field, &time_s, error);
	if (err == RV_OK && !(fabs(time_s) < LONGEST_S))
		err = rv_err_at(error, RV_ERR_RANGE, field->line, field->column,
				"%.40s s is no time of a recording", field->text);
	if (err == RV_OK && rows->rows == 0)
		err = begin_time(rows, row, time_s, error);
	if (err == RV_OK)
		*t_us = rows->origin_us + llround(time_s * 1e6);
	return err;
}

/* An empty field is no reading. */
static enum rv_err read_field(struct rv_import_rows *rows, const struct rv_csv_field *field,
			      double *value, struct rv_error *error)
{
	if (field->len == 0) {
		*value = (double)NAN;
		return RV_OK;
	}
	rows->values++;
	return rv_csv_number(rows->csv, field, value, error);
}

static enum rv_err read_tidy(struct rv_import_rows *rows, const struct rv_csv_row *row,
			     struct rv_import_instant *instant, struct rv_error *error)
{
	const struct rv_csv_field *name = &row->field[rows->columns.channel];
	int channel = rv_station_find_channel(rows->station, name->text);
	char hint[RV_IMPORT_HINT];

	if (channel < 0)
		return rv_err_at(error, RV_ERR_UNKNOWN, name->line, name->column,
				 "the station has no channel \"%.60s\"%s", name->text,
				 rv_import_columns_hint(rows->station, name->text, hint));
	if (rows->columns.unit >= 0) {
		const struct rv_csv_field *unit = &row->field[rows->columns.unit];

		if (strcmp(unit->text, rows->station->channel[channel].unit) != 0)
			return rv_err_at(error, RV_ERR_UNKNOWN, unit->line, unit->column,
					 "channel %s is in %s, not in \"%.20s\"", name->text,
					 rows->station->channel[channel].unit, unit->text);
	}
	return read_field(rows, &row->field[rows->columns.value], &instant->value[channel], error);
}

static enum rv_err read_wide(struct rv_import_rows *rows, const struct rv_csv_row *row,
			     struct rv_import_instant *instant, struct rv_error *error)
{
	enum rv_err err = RV_OK;

	for (int i = 0; err == RV_OK && i < rows->station->channels; i++)
		if (rows->columns.column_of[i] >= 0)
			err = read_field(rows, &row->field[rows->columns.column_of[i]],
					 &instant->value[i], error);
	return err;
}

/* A row, whatever its time. */
static enum rv_err read_row(struct rv_import_rows *rows, struct rv_import_instant *instant,
			    struct rv_error *error)
{
	struct rv_csv_row row;
	enum rv_err err = next_row(rows, &row, error);

	if (err != RV_OK)
		return err;
	for (int i = 0; i < rows->station->channels; i++)
		instant->value[i] = (double)NAN;
	instant->line = row.line;
	err = read_time(rows, &row, &instant->t_us, error);
	if (err == RV_OK)
		err = rows->columns.channel >= 0 ? read_tidy(rows, &row, instant, error)
						 : read_wide(rows, &row, instant, error);
	rows->rows++;
	return err;
}

static void drop(struct rv_import_rows *rows, int line)
{
	if (rows->dropped < RV_IMPORT_ROWS_NAMED)
		rows->dropped_line[rows->dropped] = line;
	rows->dropped++;
}

/* Tidy: what follows at the same instant belongs to it. */
static enum rv_err gather(struct rv_import_rows *rows, struct rv_import_instant *instant,
			  struct rv_error *error)
{
	enum rv_err err;

	while ((err = read_row(rows, &rows->ahead, error)) == RV_OK) {
		if (rows->ahead.t_us != instant->t_us) {
			rows->has_ahead = true;
			return RV_OK;
		}
		for (int i = 0; i < rows->station->channels; i++)
			if (!isnan(rows->ahead.value[i]))
				instant->value[i] = rows->ahead.value[i];
	}
	rows->ended = err == RV_ERR_CLOSED;
	return rows->ended ? RV_OK : err;
}

enum rv_err rv_import_rows_next(struct rv_import_rows *rows, struct rv_import_instant *instant,
				struct rv_error *error)
{
	for (;;) {
		enum rv_err err = RV_OK;

		if (rows->has_ahead)
			*instant = rows->ahead;
		else
			err = rows->ended ? RV_ERR_CLOSED : read_row(rows, instant, error);
		if (err != RV_OK)
			return err;
		rows->has_ahead = false;
		bool late = rows->has_last && instant->t_us <= rows->last_us;
		if (late)
			drop(rows, instant->line);
		else if (rows->columns.channel >= 0)
			err = gather(rows, instant, error);
		if (err != RV_OK)
			return err;
		if (late)
			continue;
		rows->last_us = instant->t_us;
		rows->has_last = true;
		return RV_OK;
	}
}
