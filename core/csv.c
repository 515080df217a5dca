/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/csv.h"

#include <stdlib.h>
#include <string.h>

#include "core/text.h"

enum { NUMBER_SIZE = 64 };

enum state {
	START,	 /* of a field */
	PLAIN,	 /* in a field without quotes */
	QUOTED,	 /* in a field with quotes */
	CLOSED,	 /* behind a quote inside quotes: the closing one, or the first of two */
	RETURNED /* behind a CR: a LF must follow */
};

struct rv_csv {
	const char *at, *end; /* of the piece that was fed */
	bool last;	      /* no more pieces will come */
	enum state state;
	char separator; /* 0 = the first line is not over */
	char decimal;	/* 0 = no number had a decimal sign yet */
	int mark;	/* bytes of the byte order mark seen so far; -1 = past it */
	int line, column;
	int empty_line;	 /* an empty line that nothing followed yet; 0 = none */
	bool row_out;	 /* the row in the buffer was handed out */
	bool quote_seen; /* the row under way has a field in quotes */
	bool was_quoted; /* the field before a CR */
	int row_line;
	size_t width; /* fields of the first row; 0 = not known */
	size_t used, count;
	struct {
		char parted_by; /* what stood behind the field */
		bool quoted;
	} first[RV_CSV_FIELDS]; /* of the first line, until its separator is known */
	char bytes[RV_CSV_ROW_BYTES + RV_CSV_FIELDS];
	struct rv_csv_field field[RV_CSV_FIELDS];
};

enum rv_err rv_csv_new(struct rv_csv **csv)
{
	struct rv_csv *made = calloc(1, sizeof *made);

	if (!made)
		return RV_ERR_NOMEM;
	made->line = made->column = made->row_line = 1;
	*csv = made;
	return RV_OK;
}

void rv_csv_free(struct rv_csv *csv)
{
	free(csv);
}

void rv_csv_feed(struct rv_csv *csv, const char *bytes, size_t len)
{
	csv->at = bytes;
	csv->end = bytes + len;
	csv->last = len == 0;
}

char rv_csv_separator(const struct rv_csv *csv)
{
	return csv->separator;
}

static enum rv_err refuse(const struct rv_csv *csv, const char *what, struct rv_error *error)
{
	return rv_err_at(error, RV_ERR_SYNTAX, csv->line, csv->column, "%s", what);
}

/* ---- fields ------------------------------------------------------------------------------ */

static enum rv_err open_field(struct rv_csv *csv, struct rv_error *error)
{
	if (csv->count == RV_CSV_FIELDS)
		return rv_err_at(error, RV_ERR_RANGE, csv->line, csv->column,
				 "more than %d fields in one row", RV_CSV_FIELDS);
	csv->field[csv->count] = (struct rv_csv_field){
	    .text = csv->bytes + csv->used, .line = csv->line, .column = csv->column};
	return RV_OK;
}

static void close_field(struct rv_csv *csv, char parted_by, bool quoted)
{
	struct rv_csv_field *field = &csv->field[csv->count];

	csv->first[csv->count].parted_by = parted_by;
	csv->first[csv->count++].quoted = quoted;
	field->len = (size_t)(csv->bytes + csv->used - field->text);
	csv->bytes[csv->used++] = '\0';
	csv->state = START;
}

static enum rv_err keep(struct rv_csv *csv, const char *from, size_t len, struct rv_error *error)
{
	/* Each field that is closed takes one byte more: those are counted apart. */
	if (csv->used - csv->count + len > RV_CSV_ROW_BYTES)
		return rv_err_at(
		    error, RV_ERR_RANGE, csv->row_line, 1,
		    "a row longer than %d bytes; is a quote missing at the end of a field?",
		    RV_CSV_ROW_BYTES);
	memcpy(csv->bytes + csv->used, from, len);
	csv->used += len;
	return RV_OK;
}

/* ---- rows -------------------------------------------------------------------------------- */

/* In the first line both may be: which it is shows at its end. */
static bool is_separator(const struct rv_csv *csv, char c)
{
	return csv->separator ? c == csv->separator : c == ',' || c == ';';
}

/* At the end of the first line: where a semicolon parts fields, commas are text and what they
 * parted is put together again. */
static enum rv_err settle_separator(struct rv_csv *csv, struct rv_error *error)
{
	size_t count = 0;

	csv->separator = ',';
	for (size_t i = 0; i + 1 < csv->count; i++)
		if (csv->first[i].parted_by == ';')
			csv->separator = ';';
	if (csv->separator == ',')
		return RV_OK;
	for (size_t i = 0; i < csv->count; i++) {
		bool joins = i > 0 && csv->first[i - 1].parted_by == ',';
		if (!joins) {
			csv->field[count++] = csv->field[i];
			continue;
		}
		if (csv->first[i - 1].quoted || csv->first[i].quoted)
			return rv_err_at(error, RV_ERR_SYNTAX, csv->field[i].line,
					 csv->field[i].column,
					 "a comma beside a quoted field, and fields are parted by "
					 "semicolons here");
		csv->bytes[csv->field[i].text - csv->bytes - 1] = ',';
		csv->field[count - 1].len += csv->field[i].len + 1;
	}
	csv->count = count;
	return RV_OK;
}

/* A row is whole.  *out: it is one to hand out. */
static enum rv_err close_row(struct rv_csv *csv, bool *out, struct rv_error *error)
{
	bool is_empty = csv->count == 1 && csv->field[0].len == 0 && !csv->quote_seen;

	*out = false;
	if (!csv->separator) {
		enum rv_err err = settle_separator(csv, error);
		if (err != RV_OK)
			return err;
		csv->width = csv->count;
	}
	if (is_empty && csv->width > 1) {
		if (!csv->empty_line)
			csv->empty_line = csv->row_line;
		csv->count = csv->used = 0;
		csv->row_line = csv->line;
		return RV_OK;
	}
	if (csv->empty_line)
		return rv_err_at(error, RV_ERR_SYNTAX, csv->empty_line, 1,
				 "an empty line between rows; remove it");
	if (csv->count != csv->width)
		return rv_err_at(error, RV_ERR_SYNTAX, csv->row_line, 1,
				 "%zu fields, and the first line has %zu", csv->count, csv->width);
	*out = csv->row_out = true;
	return RV_OK;
}

/* ---- bytes ------------------------------------------------------------------------------- */

static bool is_plain(const struct rv_csv *csv, char c)
{
	return c != '\r' && c != '\n' && c != '"' && c != '\0' && !is_separator(csv, c);
}

static void step(struct rv_csv *csv)
{
	if (*csv->at == '\n') {
		csv->line++;
		csv->column = 1;
	} else {
		csv->column++;
	}
	csv->at++;
}

/* As much of a field as is here. */
static enum rv_err take_plain(struct rv_csv *csv, struct rv_error *error)
{
	const char *from = csv->at;

	while (csv->at < csv->end && is_plain(csv, *csv->at))
		csv->at++;
	csv->column += (int)(csv->at - from);
	return keep(csv, from, (size_t)(csv->at - from), error);
}

static enum rv_err take_quoted(struct rv_csv *csv, struct rv_error *error)
{
	const char *from = csv->at;

	while (csv->at < csv->end && *csv->at != '"' && *csv->at != '\0')
		step(csv);
	return keep(csv, from, (size_t)(csv->at - from), error);
}

/* What stands behind a field: a separator, or the end of the line. */
static enum rv_err leave_field(struct rv_csv *csv, bool *out, struct rv_error *error)
{
	bool quoted = csv->state == CLOSED;
	char c = *csv->at;

	if (c == '\r' && csv->state != RETURNED) {
		csv->was_quoted = quoted;
		csv->state = RETURNED;
		step(csv);
		return RV_OK;
	}
	if (csv->state == RETURNED) {
		if (c != '\n')
			return refuse(csv, "a CR without its LF; lines end in CR LF or LF", error);
		quoted = csv->was_quoted;
	}
	close_field(csv, c, quoted);
	step(csv);
	return c == '\n' ? close_row(csv, out, error) : RV_OK;
}

static enum rv_err take_byte(struct rv_csv *csv, bool *out, struct rv_error *error)
{
	char c = *csv->at;
	bool again = csv->state == CLOSED && c == '"'; /* the second of two: one is meant */

	if (c == '\0')
		return refuse(csv, "a zero byte: this is no text in UTF-8", error);
	if (csv->state == QUOTED) { /* at a quote: the rest was taken */
		csv->state = CLOSED;
		step(csv);
		return RV_OK;
	}
	if (again || (csv->state == START && c == '"')) {
		csv->state = QUOTED;
		csv->quote_seen = true;
		step(csv);
		return again ? keep(csv, "\"", 1, error) : RV_OK;
	}
	if (csv->state != RETURNED && c == '"')
		return refuse(csv, "a quote inside a field that does not begin with one", error);
	if (csv->state == CLOSED && is_plain(csv, c))
		return refuse(csv, "text behind a closing quote", error);
	return leave_field(csv, out, error);
}

static enum rv_err take(struct rv_csv *csv, bool *out, struct rv_error *error)
{
	enum rv_err err = RV_OK;

	if (csv->state == START)
		err = open_field(csv, error);
	if (err == RV_OK && csv->state == START && is_plain(csv, *csv->at))
		csv->state = PLAIN;
	if (err == RV_OK && csv->state == PLAIN)
		err = take_plain(csv, error);
	if (err == RV_OK && csv->state == QUOTED)
		err = take_quoted(csv, error);
	if (err != RV_OK || csv->at == csv->end)
		return err;
	return take_byte(csv, out, error);
}

/* The byte order mark of UTF-8 is passed over, those of UTF-16 tell why nothing can be read. */
static enum rv_err take_mark(struct rv_csv *csv, struct rv_error *error)
{
	static const char mark[] = "\xef\xbb\xbf";
	unsigned char c = (unsigned char)*csv->at;

	if (csv->mark == 0 && (c == 0xfe || c == 0xff))
		return refuse(csv, "UTF-16 text; save the table as UTF-8", error);
	if (*csv->at != mark[csv->mark]) {
		if (csv->mark > 0)
			return refuse(csv, "a cut byte order mark: this is no text in UTF-8",
				      error);
		csv->mark = -1;
		return RV_OK;
	}
	csv->at++;
	csv->mark = csv->mark == 2 ? -1 : csv->mark + 1;
	return RV_OK;
}

/* No more bytes: a last line without its end is whole. */
static enum rv_err finish(struct rv_csv *csv, bool *out, struct rv_error *error)
{
	if (csv->state == QUOTED)
		return rv_err_at(error, RV_ERR_SYNTAX, csv->field[csv->count].line,
				 csv->field[csv->count].column, "a quote that is never closed");
	if (csv->state == RETURNED)
		return refuse(csv, "a CR without its LF; lines end in CR LF or LF", error);
	if (csv->state == START && csv->count == 0)
		return RV_ERR_CLOSED;
	if (csv->state == START) {
		enum rv_err err = open_field(csv, error);
		if (err != RV_OK)
			return err;
	}
	close_field(csv, '\n', csv->state == CLOSED);
	enum rv_err err = close_row(csv, out, error);
	return err == RV_OK && !*out ? RV_ERR_CLOSED : err;
}

enum rv_err rv_csv_next(struct rv_csv *csv, struct rv_csv_row *row, struct rv_error *error)
{
	enum rv_err err = RV_OK;
	bool out = false;

	if (csv->row_out) {
		csv->row_out = csv->quote_seen = false;
		csv->count = csv->used = 0;
		csv->row_line = csv->line;
	}
	while (err == RV_OK && csv->mark >= 0 && csv->at < csv->end)
		err = take_mark(csv, error);
	while (err == RV_OK && !out && csv->at < csv->end)
		err = take(csv, &out, error);
	if (err == RV_OK && !out)
		err = csv->last ? finish(csv, &out, error) : RV_ERR_AGAIN;
	if (err != RV_OK)
		return err;
	*row = (struct rv_csv_row){.line = csv->row_line, .count = csv->count, .field = csv->field};
	return RV_OK;
}

/* ---- numbers ----------------------------------------------------------------------------- */

static enum rv_err no_number(const struct rv_csv_field *field, enum rv_err code, const char *what,
			     struct rv_error *error)
{
	return rv_err_at(error, code, field->line, field->column, "\"%.60s\" %s", field->text,
			 what);
}

/* Between semicolons: brings the decimal sign to a point. */
static enum rv_err to_point(struct rv_csv *csv, const struct rv_csv_field *field,
			    char text[NUMBER_SIZE], struct rv_error *error)
{
	char sign = field->text[strcspn(field->text, ".,")];

	if (!csv->decimal)
		csv->decimal = sign;
	if (sign && sign != csv->decimal)
		return no_number(field, RV_ERR_SYNTAX,
				 "has another decimal sign than the numbers before it", error);
	if (field->len >= NUMBER_SIZE)
		return no_number(field, RV_ERR_RANGE, "is too long for a number", error);
	memcpy(text, field->text, field->len + 1);
	char *comma = sign == ',' ? strchr(text, ',') : NULL;
	if (comma)
		*comma = '.';
	if (comma && strpbrk(comma + 1, ".,"))
		return no_number(field, RV_ERR_SYNTAX,
				 "has two decimal signs; write it without thousands signs", error);
	return RV_OK;
}

enum rv_err rv_csv_number(struct rv_csv *csv, const struct rv_csv_field *field, double *value,
			  struct rv_error *error)
{
	char text[NUMBER_SIZE];
	const char *number = field->text;

	if (field->len == 0)
		return no_number(field, RV_ERR_MISSING, "where a number is needed", error);
	if (csv->separator == ';') {
		enum rv_err err = to_point(csv, field, text, error);
		if (err != RV_OK)
			return err;
		number = text;
	}
	enum rv_err err = rv_text_to_double(number, value);
	if (err == RV_ERR_RANGE)
		return no_number(field, err, "is beyond what a number can hold", error);
	if (err == RV_OK)
		return RV_OK;
	return no_number(field, err,
			 csv->separator == ';'
			     ? "is no number; one is written such as 12.5 or 12,5"
			     : "is no number; one is written such as 12.5 or 1.25e3",
			 error);
}
