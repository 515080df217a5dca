/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Calibrated readings of a run in time order.  Rows are fetched a page at a time from each of the
 * two tables, each page a transaction of its own, and merged here; the conversion rows of the run
 * are held in memory.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "schema/store_sql.h"

enum { PAGE = 1024 };

struct span {
	int64_t stream, from_us, to_us;
	int slot, channel;
	struct rv_conversion conversion;
	double zero; /* taken off it */
};

struct row {
	int64_t t_us, stream;
	struct rv_raw raw[RV_STORE_WIDE];
};

struct page {
	int width;
	bool used, ended;
	int count, at;
	int64_t next_us; /* where the following page begins */
	struct row row[PAGE];
};

struct rv_store_cursor {
	struct rv_store *store;
	int64_t to_us;
	struct span *spans;
	size_t span_count;
	/* Spans that hold at the current row, and until when that stays so. */
	size_t *active;
	size_t active_count;
	int64_t active_from_us, active_to_us;
	struct page page[2];
	/* Readings of the current row. */
	struct rv_store_reading ready[RV_STORE_WIDE];
	int ready_count, ready_at;
};

static enum rv_err read_spans(struct rv_store_cursor *cursor, int64_t number,
			      struct rv_error *error)
{
	struct rv_store_list list = {0};
	sqlite3_stmt *row = NULL;
	enum rv_err err = rv_store_sql_query(
	    cursor->store, &row, error,
	    "WITH place AS (SELECT channel, row_number() OVER (ORDER BY min(id)) - 1 AS k "
	    "FROM conversion WHERE run = ?1 GROUP BY channel) "
	    "SELECT c.stream, c.from_us, c.to_us, c.slot, p.k, c.width, c.a0, c.a1, c.a2, c.a3, "
	    "c.zero "
	    "FROM conversion c JOIN place p ON p.channel = c.channel WHERE c.run = ?1 "
	    "ORDER BY p.k, c.from_us",
	    "i", number);

	while (err == RV_OK && (err = rv_store_sql_step(cursor->store, row, error)) == RV_OK) {
		struct span *span = rv_store_sql_grow(&list, sizeof *span);
		if (!span) {
			err = rv_err_set(error, RV_ERR_NOMEM, "no memory to read the run");
			break;
		}
		span->stream = sqlite3_column_int64(row, 0);
		span->from_us = sqlite3_column_int64(row, 1);
		span->to_us = sqlite3_column_int64(row, 2);
		span->slot = sqlite3_column_int(row, 3);
		span->channel = sqlite3_column_int(row, 4);
		cursor->page[sqlite3_column_int(row, 5) == RV_STORE_WIDE].used = true;
		span->conversion.degree = sqlite3_column_type(row, 8) == SQLITE_NULL ? 1 : 3;
		for (int i = 0; i <= span->conversion.degree; i++)
			span->conversion.a[i] = sqlite3_column_double(row, 6 + i);
		span->zero = sqlite3_column_double(row, 10);
	}
	cursor->spans = list.items;
	cursor->span_count = list.count;
	return err == RV_ERR_CLOSED ? RV_OK : err;
}

static struct rv_raw raw_of(sqlite3_stmt *row, int column)
{
	int type = sqlite3_column_type(row, column);

	if (type == SQLITE_INTEGER)
		return (struct rv_raw){.kind = RV_RAW_INT,
				       .count = sqlite3_column_int64(row, column)};
	if (type == SQLITE_FLOAT)
		return (struct rv_raw){.kind = RV_RAW_REAL,
				       .real = sqlite3_column_double(row, column)};
	return (struct rv_raw){.kind = RV_RAW_NONE};
}

static enum rv_err query_page(struct rv_store_cursor *cursor, struct page *page, sqlite3_stmt **row,
			      struct rv_error *error)
{
	if (page->width == RV_STORE_NARROW)
		return rv_store_sql_query(cursor->store, row, error,
					  "SELECT * FROM narrow WHERE t_us >= ? AND t_us < ? "
					  "ORDER BY t_us LIMIT 1024",
					  "ii", page->next_us, cursor->to_us);
	return rv_store_sql_query(
	    cursor->store, row, error,
	    "SELECT * FROM wide WHERE t_us >= ? AND t_us < ? ORDER BY t_us LIMIT 1024", "ii",
	    page->next_us, cursor->to_us);
}

static enum rv_err fetch(struct rv_store_cursor *cursor, struct page *page, struct rv_error *error)
{
	sqlite3_stmt *row = NULL;

	if (!page->used || page->ended || page->at < page->count)
		return RV_OK;
	page->at = page->count = 0;
	enum rv_err err = query_page(cursor, page, &row, error);
	while (err == RV_OK && (err = rv_store_sql_step(cursor->store, row, error)) == RV_OK) {
		struct row *to = &page->row[page->count++];
		to->t_us = sqlite3_column_int64(row, 0);
		to->stream = sqlite3_column_int64(row, 1);
		for (int i = 0; i < page->width; i++)
			to->raw[i] = raw_of(row, 2 + i);
	}
	if (err != RV_ERR_CLOSED)
		return err;
	page->ended = page->count < PAGE;
	if (page->count)
		page->next_us = page->row[page->count - 1].t_us + 1;
	return RV_OK;
}

/* Which spans hold at t_us: looked up anew only when one begins or ends. */
static void find_active(struct rv_store_cursor *cursor, int64_t t_us)
{
	if (t_us >= cursor->active_from_us && t_us < cursor->active_to_us)
		return;
	cursor->active_count = 0;
	cursor->active_from_us = t_us;
	cursor->active_to_us = INT64_MAX;
	for (size_t i = 0; i < cursor->span_count; i++) {
		const struct span *span = &cursor->spans[i];
		if (span->to_us <= t_us)
			continue;
		int64_t change_us = span->from_us > t_us ? span->from_us : span->to_us;
		if (change_us < cursor->active_to_us)
			cursor->active_to_us = change_us;
		if (span->from_us <= t_us)
			cursor->active[cursor->active_count++] = i;
	}
}

static void convert(struct rv_store_cursor *cursor, const struct row *row)
{
	cursor->ready_at = cursor->ready_count = 0;
	find_active(cursor, row->t_us);
	for (size_t k = 0; k < cursor->active_count && cursor->ready_count < RV_STORE_WIDE; k++) {
		const struct span *span = &cursor->spans[cursor->active[k]];
		if (span->stream != row->stream || row->raw[span->slot - 1].kind == RV_RAW_NONE)
			continue;
		cursor->ready[cursor->ready_count++] = (struct rv_store_reading){
		    .t_us = row->t_us,
		    .channel = span->channel,
		    .value = rv_station_convert(&span->conversion,
						rv_sample_number(row->raw[span->slot - 1]))};
	}
}

enum rv_err rv_store_cursor_open(struct rv_store *store, int64_t number, int64_t from_us,
				 int64_t to_us, struct rv_store_cursor **cursor,
				 struct rv_error *error)
{
	struct rv_store_run run;
	enum rv_err err = rv_store_get_run(store, number, &run, error);

	if (err != RV_OK)
		return err;
	struct rv_store_cursor *made = calloc(1, sizeof *made);
	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory to read the run");
	made->store = store;
	made->to_us = to_us < run.to_us ? to_us : run.to_us;
	made->page[0].width = RV_STORE_NARROW;
	made->page[1].width = RV_STORE_WIDE;
	for (int i = 0; i < 2; i++)
		made->page[i].next_us = from_us > run.from_us ? from_us : run.from_us;
	err = read_spans(made, number, error);
	if (err == RV_OK && made->span_count) {
		made->active = calloc(made->span_count, sizeof *made->active);
		if (!made->active)
			err = rv_err_set(error, RV_ERR_NOMEM, "no memory to read the run");
	}
	if (err != RV_OK)
		rv_store_cursor_close(made);
	else
		*cursor = made;
	return err;
}

enum rv_err rv_store_cursor_next(struct rv_store_cursor *cursor, struct rv_store_reading *reading,
				 struct rv_error *error)
{
	while (cursor->ready_at == cursor->ready_count) {
		struct page *first = NULL;
		for (int i = 0; i < 2; i++) {
			struct page *page = &cursor->page[i];
			enum rv_err err = fetch(cursor, page, error);
			if (err != RV_OK)
				return err;
			if (page->at < page->count &&
			    (!first || page->row[page->at].t_us < first->row[first->at].t_us))
				first = page;
		}
		if (!first)
			return RV_ERR_CLOSED;
		convert(cursor, &first->row[first->at++]);
	}
	*reading = cursor->ready[cursor->ready_at++];
	return RV_OK;
}

void rv_store_cursor_close(struct rv_store_cursor *cursor)
{
	if (!cursor)
		return;
	free(cursor->spans);
	free(cursor->active);
	free(cursor);
}

/* The raw number that a conversion turns into nought: by Newton's way, from the straight line. */
static double raw_at_nought(const struct rv_conversion *conversion)
{
	const double *a = conversion->a;
	double raw = -a[0] / a[1];

	for (int i = 0; conversion->degree > 1 && i < 30; i++) {
		double slope = a[1] + raw * (2.0 * a[2] + raw * 3.0 * a[3]);
		double step = rv_station_convert(conversion, raw) / slope;

		if (!isfinite(step))
			return (double)NAN;
		raw -= step;
	}
	return raw;
}

void rv_store_cursor_convert_by(struct rv_store_cursor *cursor, int channel,
				const struct rv_conversion *conversion)
{
	for (size_t i = 0; i < cursor->span_count; i++) {
		struct span *span = &cursor->spans[i];
		double raw =
		    fabs(span->zero) > 0.0 ? raw_at_nought(&span->conversion) : (double)NAN;

		if (span->channel != channel)
			continue;
		span->conversion = *conversion;
		if (fabs(span->zero) > 0.0)
			span->conversion.a[0] -= rv_station_convert(conversion, raw);
	}
}
