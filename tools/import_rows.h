/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A table of readings from disk, instant by instant, in constant memory.
 */
#ifndef RV_TOOLS_IMPORT_ROWS_H
#define RV_TOOLS_IMPORT_ROWS_H

#include <stdint.h>
#include <stdio.h>

#include "core/import_columns.h"

enum { RV_IMPORT_ROWS_BYTES = 1 << 16, RV_IMPORT_ROWS_NAMED = 8 };

struct rv_import_instant {
	int64_t t_us; /* UTC, or since time_s = 0 where the table knows no date */
	int line;
	double value[RV_CHANNELS]; /* as in the file; NaN = no reading */
};

struct rv_import_rows {
	FILE *file;
	struct rv_csv *csv;
	const struct rv_station *station;
	struct rv_import_columns columns;
	bool dated;	   /* times are UTC */
	bool zone_missing; /* a time had neither Z nor offset: taken as UTC */
	int64_t origin_us; /* of time_s */
	int64_t last_us;
	bool has_last, ended;
	struct rv_import_instant ahead; /* read, and not yet given */
	bool has_ahead;
	int64_t rows, dropped;		       /* read; of them not after the one before */
	int dropped_line[RV_IMPORT_ROWS_NAMED]; /* the first of those */
	int64_t values;
	char bytes[RV_IMPORT_ROWS_BYTES];
};

/* Opens the table and matches its first row.  Close also after a failure. */
enum rv_err rv_import_rows_open(const char *path, const struct rv_station *station,
				const struct rv_import_map *maps, int count,
				struct rv_import_rows *rows, struct rv_error *error);
void rv_import_rows_close(struct rv_import_rows *rows);

/* The next instant, later than the one before.  RV_ERR_CLOSED after the last.  A field that is no number,
 * a time that is none, a channel that is unknown: refused with line and column. */
enum rv_err rv_import_rows_next(struct rv_import_rows *rows, struct rv_import_instant *instant,
				struct rv_error *error);

#endif
