/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A table of loads applied to a cell and what it read.
 *
 * Columns, in any order: load_n (newtons, 0 or more) and reading (as the instrument sends it); if
 * wanted series (a word for each time the cell was set up anew), direction (up or down: how the load
 * was come to), u_reading and u_load_n (standard uncertainties, > 0 and >= 0; u_load_n needs
 * u_reading).  Every cell of a column is filled.  Refused with line and column: unknown or doubled
 * columns, what is no number, loads below 0 or above 1e9 N, readings beyond +-1e19, more than
 * RV_APPLIED_MOST rows or RV_APPLIED_SERIES series.
 */
#ifndef RV_CORE_APPLIED_H
#define RV_CORE_APPLIED_H

#include <stddef.h>

#include "core/err.h"
#include "core/text.h"

enum { RV_APPLIED_MOST = 10000, RV_APPLIED_SERIES = 64 };

enum rv_applied_way { RV_APPLIED_UNSAID, RV_APPLIED_UP, RV_APPLIED_DOWN };

struct rv_applied_load {
	double load_n, reading;
	double u_reading, u_load_n; /* NaN = no such column */
	int series;		    /* from 0, in order of appearance; 0 without such a column */
	enum rv_applied_way way;
	int line;
};

struct rv_applied {
	struct rv_applied_load *load; /* in the table's order */
	size_t count;
	int series;
	bool has_series, has_way, has_u_reading, has_u_load;
	char name[RV_APPLIED_SERIES][RV_NAME_SIZE]; /* of the series */
};

/* Release with rv_applied_free.  Errors have a place and a tag. */
enum rv_err rv_applied_read(const char *text, size_t len, struct rv_applied *applied,
			    struct rv_error *error);
void rv_applied_free(struct rv_applied *applied);

#endif
