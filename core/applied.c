/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/applied.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/csv.h"
#include "core/form.h"

#define UNKNOWN ((double)NAN)

enum column { LOAD, READING, SERIES, WAY, U_READING, U_LOAD, COLUMNS };

static const char *const columns[] = {"load_n",	   "reading",	"series",
				      "direction", "u_reading", "u_load_n"};

/* Beyond these no cell is, and sums of squares and powers stay far from the end of a double. */
static const double most[] = {[LOAD] = 1e9, [READING] = 1e19, [U_READING] = 1e19, [U_LOAD] = 1e9};
static const double least_u = 1e-30;

struct table {
	struct rv_csv *csv;
	int place[COLUMNS]; /* of the column in a row; -1 = none */
	size_t room;
	struct rv_applied applied;
};

static enum rv_err refuse(struct rv_error *error, const struct rv_csv_field *field,
			  enum rv_err code, const char *tag, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

static enum rv_err refuse(struct rv_error *error, const struct rv_csv_field *field,
			  enum rv_err code, const char *tag, const char *format, ...)
{
	va_list args;

	if (!error)
		return code;
	*error = (struct rv_error){.code = code, .line = field->line, .column = field->column};
	snprintf(error->tag, sizeof error->tag, "%s", tag);
	va_start(args, format);
	vsnprintf(error->text, sizeof error->text, format, args);
	va_end(args);
	return code;
}

static enum rv_err no_column(const struct rv_csv_field *field, struct rv_error *error)
{
	char hint[100];

	if (strncmp(field->text, "load_", 5) == 0)
		return refuse(error, field, RV_ERR_UNKNOWN, "column_unknown",
			      "column \"%.60s\": loads stand in a column load_n, in newtons; bring "
			      "them to newtons (1 kN = 1000 N, 1 kgf = 9.80665 N, 1 lbf = "
			      "4.4482216152605 N)",
			      field->text);
	rv_form_hint(field->text, columns, COLUMNS, hint, sizeof hint);
	return refuse(error, field, RV_ERR_UNKNOWN, "column_unknown",
		      "there is no column \"%.60s\"%s; columns are load_n, reading and, if wanted, "
		      "series, direction, u_reading, u_load_n",
		      field->text, hint);
}

static enum rv_err read_heading(struct table *table, const struct rv_csv_row *row,
				struct rv_error *error)
{
	for (int c = 0; c < COLUMNS; c++)
		table->place[c] = -1;
	for (size_t i = 0; i < row->count; i++) {
		int c = 0;
		while (c < COLUMNS && strcmp(row->field[i].text, columns[c]) != 0)
			c++;
		if (c == COLUMNS)
			return no_column(&row->field[i], error);
		if (table->place[c] >= 0)
			return refuse(error, &row->field[i], RV_ERR_SYNTAX, "column_twice",
				      "column %s stands there twice; take one of them out",
				      columns[c]);
		table->place[c] = (int)i;
	}
	for (int c = LOAD; c <= READING; c++)
		if (table->place[c] < 0)
			return refuse(error, &row->field[0], RV_ERR_MISSING, "column_missing",
				      "there is no column %s; the first line names the columns, at "
				      "least load_n,reading",
				      columns[c]);
	if (table->place[U_LOAD] >= 0 && table->place[U_READING] < 0)
		return refuse(error, &row->field[table->place[U_LOAD]], RV_ERR_MISSING,
			      "column_missing",
			      "u_load_n needs u_reading beside it: without it nobody knows how the "
			      "two weigh against each other");
	table->applied.has_series = table->place[SERIES] >= 0;
	table->applied.has_way = table->place[WAY] >= 0;
	table->applied.has_u_reading = table->place[U_READING] >= 0;
	table->applied.has_u_load = table->place[U_LOAD] >= 0;
	return RV_OK;
}

/* A number of a column that may be absent (NaN then), at least 0. */
static enum rv_err read_number(struct table *table, const struct rv_csv_row *row,
			       enum column column, double *value, struct rv_error *error)
{
	if (table->place[column] < 0) {
		*value = UNKNOWN;
		return RV_OK;
	}
	const struct rv_csv_field *field = &row->field[table->place[column]];
	if (field->len == 0)
		return refuse(error, field, RV_ERR_MISSING, "value_missing",
			      "%s is empty; fill it in, or take the row or the whole column out",
			      columns[column]);
	enum rv_err err = rv_csv_number(table->csv, field, value, error);
	if (err != RV_OK)
		return err;
	if (fabs(*value) > most[column])
		return refuse(error, field, RV_ERR_RANGE, "value_range",
			      "%s is %.40s: at most %g is taken; look for a slip of the pen",
			      columns[column], field->text, most[column]);
	if (column == LOAD && *value < 0.0)
		return refuse(error, field, RV_ERR_RANGE, "value_range",
			      "load_n is %s: a line only pulls; loads are 0 or more, readings may "
			      "have any sign",
			      field->text);
	if (column == U_READING && !(*value > least_u))
		return refuse(error, field, RV_ERR_RANGE, "value_range",
			      "u_reading is %s: a standard uncertainty above 0 is needed; without "
			      "the column the scatter of the points is taken",
			      field->text);
	if (column == U_LOAD && *value < 0.0)
		return refuse(error, field, RV_ERR_RANGE, "value_range",
			      "u_load_n is %s: a standard uncertainty of 0 or more is needed",
			      field->text);
	return RV_OK;
}

static enum rv_err read_series(struct table *table, const struct rv_csv_row *row, int *series,
			       struct rv_error *error)
{
	struct rv_applied *applied = &table->applied;

	*series = 0;
	if (table->place[SERIES] < 0) {
		applied->series = 1;
		return RV_OK;
	}
	const struct rv_csv_field *field = &row->field[table->place[SERIES]];
	while (*series < applied->series && strcmp(applied->name[*series], field->text) != 0)
		++*series;
	if (*series < applied->series)
		return RV_OK;
	if (applied->series == RV_APPLIED_SERIES)
		return refuse(
		    error, field, RV_ERR_RANGE, "too_many",
		    "there are more than %d series; a series is one setting-up of the cell",
		    RV_APPLIED_SERIES);
	if (rv_text_copy(applied->name[*series], RV_NAME_SIZE, field->text) != RV_OK)
		return refuse(error, field, RV_ERR_RANGE, "value_range",
			      "series is a word of 1 to %d letters, such as 1 or A",
			      RV_NAME_SIZE - 1);
	applied->series++;
	return RV_OK;
}

static enum rv_err read_way(const struct table *table, const struct rv_csv_row *row,
			    enum rv_applied_way *way, struct rv_error *error)
{
	*way = RV_APPLIED_UNSAID;
	if (table->place[WAY] < 0)
		return RV_OK;
	const struct rv_csv_field *field = &row->field[table->place[WAY]];
	if (strcmp(field->text, "up") == 0)
		*way = RV_APPLIED_UP;
	else if (strcmp(field->text, "down") == 0)
		*way = RV_APPLIED_DOWN;
	else
		return refuse(error, field, RV_ERR_UNKNOWN, "value_unknown",
			      "direction is \"%.40s\"; up or down is needed: how the load was come "
			      "to",
			      field->text);
	return RV_OK;
}

static enum rv_err add(struct table *table, const struct rv_csv_row *row, struct rv_error *error)
{
	struct rv_applied *applied = &table->applied;
	struct rv_applied_load load = {.line = row->line};
	enum rv_err err = read_number(table, row, LOAD, &load.load_n, error);

	if (err == RV_OK)
		err = read_number(table, row, READING, &load.reading, error);
	if (err == RV_OK)
		err = read_number(table, row, U_READING, &load.u_reading, error);
	if (err == RV_OK)
		err = read_number(table, row, U_LOAD, &load.u_load_n, error);
	if (err == RV_OK)
		err = read_series(table, row, &load.series, error);
	if (err == RV_OK)
		err = read_way(table, row, &load.way, error);
	if (err != RV_OK)
		return err;
	if (applied->count == RV_APPLIED_MOST)
		return refuse(error, &row->field[0], RV_ERR_RANGE, "too_many",
			      "there are more than %d rows; give the mean of each held load",
			      RV_APPLIED_MOST);
	if (applied->count == table->room) {
		size_t room = table->room ? 2 * table->room : 64;
		struct rv_applied_load *more = realloc(applied->load, room * sizeof *more);
		if (!more)
			return rv_err_set(error, RV_ERR_NOMEM, "no memory");
		applied->load = more;
		table->room = room;
	}
	applied->load[applied->count++] = load;
	return RV_OK;
}

static enum rv_err read_rows(struct table *table, const char *text, size_t len,
			     struct rv_error *error)
{
	struct rv_csv_row row;
	bool is_heading = true;
	enum rv_err err = RV_OK;

	if (len > 0)
		rv_csv_feed(table->csv, text, len);
	while (err == RV_OK) {
		err = rv_csv_next(table->csv, &row, error);
		if (err == RV_ERR_AGAIN) {
			rv_csv_feed(table->csv, "", 0);
			err = RV_OK;
		} else if (err == RV_OK && is_heading) {
			err = read_heading(table, &row, error);
			is_heading = false;
		} else if (err == RV_OK) {
			err = add(table, &row, error);
		}
	}
	if (err == RV_ERR_CLOSED && is_heading)
		return rv_err_at(error, RV_ERR_MISSING, 1, 1,
				 "the table is empty; its first line names the columns, at least "
				 "load_n,reading");
	return err == RV_ERR_CLOSED ? RV_OK : err;
}

enum rv_err rv_applied_read(const char *text, size_t len, struct rv_applied *applied,
			    struct rv_error *error)
{
	struct table *table = calloc(1, sizeof *table);
	enum rv_err err =
	    table ? rv_csv_new(&table->csv) : rv_err_set(error, RV_ERR_NOMEM, "no memory");

	if (err == RV_OK)
		err = read_rows(table, text, len, error);
	if (err == RV_OK)
		*applied = table->applied;
	else if (table)
		rv_applied_free(&table->applied);
	if (table)
		rv_csv_free(table->csv);
	free(table);
	return err;
}

void rv_applied_free(struct rv_applied *applied)
{
	free(applied->load);
	applied->load = NULL;
	applied->count = 0;
}
