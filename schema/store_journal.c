/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What happened: marks, alarms, and where readings are missing.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "schema/store_sql.h"

static enum rv_err no_memory(struct rv_error *error)
{
	return rv_err_set(error, RV_ERR_NOMEM, "no memory to read the record");
}

static enum rv_err hand_out(struct rv_store_list *list, enum rv_err err, void **items,
			    size_t *count)
{
	if (err != RV_ERR_CLOSED) {
		free(list->items);
		return err;
	}
	*items = list->items;
	*count = list->count;
	return RV_OK;
}

enum rv_err rv_store_marks(struct rv_store *store, int64_t from_us, int64_t to_us,
			   struct rv_store_mark **marks, size_t *count, struct rv_error *error)
{
	struct rv_store_list list = {0};
	sqlite3_stmt *row = NULL;
	void *items = NULL;
	enum rv_err err = rv_store_sql_query(store, &row, error,
					     "SELECT t_us, text, travel_m, by_whom FROM mark "
					     "WHERE t_us >= ? AND t_us < ? ORDER BY t_us, id",
					     "ii", from_us, to_us);

	while (err == RV_OK && (err = rv_store_sql_step(store, row, error)) == RV_OK) {
		struct rv_store_mark *mark = rv_store_sql_grow(&list, sizeof *mark);
		if (!mark) {
			err = no_memory(error);
			break;
		}
		mark->t_us = sqlite3_column_int64(row, 0);
		rv_store_sql_text(row, 1, mark->text, sizeof mark->text);
		mark->travel_m = rv_store_sql_real(row, 2);
		rv_store_sql_text(row, 3, mark->by_whom, sizeof mark->by_whom);
	}
	err = hand_out(&list, err, &items, count);
	if (err == RV_OK)
		*marks = items;
	return err;
}

enum rv_err rv_store_alarms(struct rv_store *store, int64_t from_us, int64_t to_us,
			    struct rv_store_alarm **alarms, size_t *count, struct rv_error *error)
{
	struct rv_store_list list = {0};
	sqlite3_stmt *row = NULL;
	void *items = NULL;
	enum rv_err err =
	    rv_store_sql_query(store, &row, error,
			       "SELECT t_us, alarm, level, state, value, unit, text, by_whom FROM "
			       "alarm_event WHERE t_us >= ? AND t_us < ? ORDER BY t_us, id",
			       "ii", from_us, to_us);

	while (err == RV_OK && (err = rv_store_sql_step(store, row, error)) == RV_OK) {
		struct rv_store_alarm *alarm = rv_store_sql_grow(&list, sizeof *alarm);
		if (!alarm) {
			err = no_memory(error);
			break;
		}
		alarm->t_us = sqlite3_column_int64(row, 0);
		rv_store_sql_text(row, 1, alarm->name, sizeof alarm->name);
		rv_store_sql_text(row, 2, alarm->level, sizeof alarm->level);
		rv_store_sql_text(row, 3, alarm->state, sizeof alarm->state);
		alarm->value = rv_store_sql_real(row, 4);
		rv_store_sql_text(row, 5, alarm->unit, sizeof alarm->unit);
		rv_store_sql_text(row, 6, alarm->text, sizeof alarm->text);
		rv_store_sql_text(row, 7, alarm->by_whom, sizeof alarm->by_whom);
	}
	err = hand_out(&list, err, &items, count);
	if (err == RV_OK)
		*alarms = items;
	return err;
}

/* lost:    counted by the event itself.
 * closed:  from the first "closed" of a device after it was open, to its next "opened".
 * restart: from the last reading before a "start" to the first one after it.
 * bad, uncertain: a channel's quality span. */
#define GAPS                                                                                       \
	"WITH edge AS (SELECT id, device, t_us, what, cause, text, "                               \
	" lag(what, 1, 'opened') OVER each AS before, "                                            \
	" min(CASE WHEN what = 'opened' THEN t_us END) OVER (PARTITION BY device ORDER BY t_us, "  \
	"id "                                                                                      \
	"  ROWS BETWEEN 1 FOLLOWING AND UNBOUNDED FOLLOWING) AS again_us "                         \
	" FROM device_event WHERE what IN ('opened', 'closed') AND device IS NOT NULL "            \
	" WINDOW each AS (PARTITION BY device ORDER BY t_us, id)), "                               \
	"gap(from_us, to_us, what, device, channel, cause, count, text) AS ("                      \
	"SELECT t_us, until_us + 1, what, device, NULL, cause, count, text FROM device_event "     \
	" WHERE count > 0 "                                                                        \
	"UNION ALL SELECT t_us, ifnull(again_us, 9223372036854775807), 'closed', device, NULL, "   \
	"cause, "                                                                                  \
	" 0, text FROM edge WHERE what = 'closed' AND before = 'opened' "                          \
	"UNION ALL SELECT max(ifnull((SELECT max(t_us) FROM narrow WHERE t_us < e.t_us), 0), "     \
	"  ifnull((SELECT max(t_us) FROM wide WHERE t_us < e.t_us), 0)), "                         \
	" min(ifnull((SELECT min(t_us) FROM narrow WHERE t_us >= e.t_us), 9223372036854775807), "  \
	"  ifnull((SELECT min(t_us) FROM wide WHERE t_us >= e.t_us), 9223372036854775807)), "      \
	" 'restart', NULL, NULL, '', 0, '' FROM device_event e WHERE what = 'start' "              \
	"UNION ALL SELECT from_us, to_us, quality, NULL, channel, cause, 0, '' FROM "              \
	"quality_span) "

enum rv_err rv_store_gaps(struct rv_store *store, int64_t from_us, int64_t to_us,
			  struct rv_store_gap **gaps, size_t *count, struct rv_error *error)
{
	struct rv_store_list list = {0};
	sqlite3_stmt *row = NULL;
	void *items = NULL;
	enum rv_err err = rv_store_sql_query(
	    store, &row, error,
	    GAPS "SELECT g.from_us, g.to_us, g.what, d.name, h.name, g.cause, g.count, g.text FROM "
		 "gap g "
		 "LEFT JOIN device d ON d.id = g.device LEFT JOIN channel h ON h.id = g.channel "
		 "WHERE g.from_us > 0 AND g.to_us > ?1 AND g.from_us < ?2 AND g.to_us > g.from_us "
		 "ORDER BY g.from_us, g.to_us",
	    "ii", from_us, to_us);

	while (err == RV_OK && (err = rv_store_sql_step(store, row, error)) == RV_OK) {
		struct rv_store_gap *gap = rv_store_sql_grow(&list, sizeof *gap);
		if (!gap) {
			err = no_memory(error);
			break;
		}
		gap->from_us = sqlite3_column_int64(row, 0);
		gap->to_us = sqlite3_column_int64(row, 1);
		rv_store_sql_text(row, 2, gap->what, sizeof gap->what);
		rv_store_sql_text(row, 3, gap->device, sizeof gap->device);
		rv_store_sql_text(row, 4, gap->channel, sizeof gap->channel);
		rv_store_sql_text(row, 5, gap->cause, sizeof gap->cause);
		gap->count = sqlite3_column_int64(row, 6);
		rv_store_sql_text(row, 7, gap->text, sizeof gap->text);
	}
	err = hand_out(&list, err, &items, count);
	if (err == RV_OK)
		*gaps = items;
	return err;
}
