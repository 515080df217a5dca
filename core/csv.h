/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reads tables of comma separated values after RFC 4180: a strict parser that is fed bytes in any
 * pieces and gives row by row.  Memory: one row.
 *
 * Taken: UTF-8 with or without a byte order mark; lines that end in CR LF or LF, the last one
 * without too; fields in quotes with "" for a quote, ends of line inside them kept; the separator
 * comma, or semicolon where the first line holds one outside quotes (as spreadsheets write it where
 * the decimal sign is a comma).  Empty lines at the end are passed over.
 * Refused, with line and column: a row with more or fewer fields than the first (RFC 4180 section
 * 2.4), an empty line between rows, a quote inside an unquoted field or text after a closing one, a
 * quote that is never closed, a CR alone, a zero byte, UTF-16, a row above RV_CSV_ROW_BYTES or with
 * more than RV_CSV_FIELDS fields.  RFC 4180 from memory, not re-read; semicolon: common practice,
 * no source.
 *
 *	while (err == RV_OK) {
 *		err = rv_csv_next(csv, &row, error);
 *		if (err == RV_ERR_AGAIN)        read more, rv_csv_feed(csv, bytes, len) (len 0 = that was all)
 *		if (err == RV_ERR_CLOSED)       done
 *	}
 */
#ifndef RV_CORE_CSV_H
#define RV_CORE_CSV_H

#include <stddef.h>

#include "core/err.h"

enum { RV_CSV_ROW_BYTES = 65536, RV_CSV_FIELDS = 1024 };

struct rv_csv_field {
	const char *text; /* without its quotes, closed by a zero byte */
	size_t len;
	int line, column; /* of its first byte, or its quote; from 1, columns count bytes */
};

/* Lives until the next call of rv_csv_next. */
struct rv_csv_row {
	int line;
	size_t count;
	const struct rv_csv_field *field;
};

struct rv_csv;

/* RV_ERR_NOMEM only.  NULL may be freed. */
enum rv_err rv_csv_new(struct rv_csv **csv);
void rv_csv_free(struct rv_csv *csv);

/* The bytes that follow; borrowed until rv_csv_next says RV_ERR_AGAIN.  len 0: there are no more.
 * Nothing of an earlier piece may be left. */
void rv_csv_feed(struct rv_csv *csv, const char *bytes, size_t len);

/* The next row, the first line included.  RV_ERR_AGAIN: feed it (*error untouched).
 * RV_ERR_CLOSED: that was the last one (*error untouched).  RV_ERR_SYNTAX, RV_ERR_RANGE: line and
 * column say where; the table cannot be read on. */
enum rv_err rv_csv_next(struct rv_csv *csv, struct rv_csv_row *row, struct rv_error *error);

/* ',' or ';'.  Known once the first row is out. */
char rv_csv_separator(const struct rv_csv *csv);

/* The whole field as a number, by core/text's rules.  Between semicolons the first number that has a
 * decimal sign decides whether it is point or comma, for all that follow; between commas it is the
 * point (a decimal comma can stand only in quotes there and is refused).  No thousands signs.
 * RV_ERR_MISSING: the field is empty.  RV_ERR_SYNTAX, RV_ERR_RANGE.  The error has line, column and what
 * was found. */
enum rv_err rv_csv_number(struct rv_csv *csv, const struct rv_csv_field *field, double *value,
			  struct rv_error *error);

#endif
