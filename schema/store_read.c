/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Runs, their channels, and the clock, as they are read.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "schema/store_sql.h"

#define RUN_COLUMNS                                                                                \
	"SELECT r.id, r.name, r.how, ifnull(r.ended, ''), ifnull(r.rig_name, ''), r.notes, "       \
	"r.from_us, "                                                                              \
	"r.to_us, v.unit, v.simulated FROM run r JOIN station_version v ON v.id = r.station "

/* The newest row of all. */
static enum rv_err find_newest(struct rv_store *store, int64_t *newest_us, struct rv_error *error)
{
	return rv_store_sql_number(store, 0, newest_us, error,
				   "SELECT max(ifnull((SELECT max(t_us) FROM narrow), 0), "
				   "ifnull((SELECT max(t_us) FROM wide), 0))",
				   "");
}

static void take_run(sqlite3_stmt *row, struct rv_store_run *run)
{
	run->number = sqlite3_column_int64(row, 0);
	rv_store_sql_text(row, 1, run->name, sizeof run->name);
	rv_store_sql_text(row, 2, run->how, sizeof run->how);
	rv_store_sql_text(row, 3, run->ended, sizeof run->ended);
	rv_store_sql_text(row, 4, run->rig, sizeof run->rig);
	rv_store_sql_text(row, 5, run->notes, sizeof run->notes);
	run->from_us = sqlite3_column_int64(row, 6);
	run->to_us = sqlite3_column_type(row, 7) == SQLITE_NULL ? RV_STORE_FOREVER
								: sqlite3_column_int64(row, 7);
	rv_store_sql_text(row, 8, run->unit, sizeof run->unit);
	run->simulated = sqlite3_column_int(row, 9) != 0;
}

static void set_end(struct rv_store_run *run, int64_t newest_us)
{
	if (run->to_us != RV_STORE_FOREVER)
		run->end_us = run->to_us;
	else
		run->end_us = newest_us >= run->from_us ? newest_us + 1 : run->from_us;
}

enum rv_err rv_store_find_run(struct rv_store *store, const char *word, int64_t *number,
			      struct rv_error *error)
{
	int64_t wanted = 0, found = 0, last = 0;
	enum rv_err err;

	if (rv_text_to_int64(word, &wanted) == RV_OK)
		err = rv_store_sql_number(store, 0, &found, error,
					  "SELECT id FROM run WHERE id = ?", "i", wanted);
	else
		err = rv_store_sql_number(store, 0, &found, error,
					  "SELECT id FROM run WHERE name = ?", "t", word);
	if (err == RV_OK && !found)
		err = rv_store_sql_number(store, 0, &last, error, "SELECT max(id) FROM run", "");
	if (err != RV_OK)
		return err;
	if (!found && !last)
		return rv_err_refuse(error, "run_unknown", "%s holds no run yet", store->path);
	if (!found)
		return rv_err_refuse(
		    error, "run_unknown",
		    "%s holds no run '%.100s'; its last one is %lld: see reeve runs", store->path,
		    word, (long long)last);
	*number = found;
	return RV_OK;
}

enum rv_err rv_store_get_run(struct rv_store *store, int64_t number, struct rv_store_run *run,
			     struct rv_error *error)
{
	struct rv_store_run made = {0};
	sqlite3_stmt *row = NULL;
	int64_t newest_us = 0;
	enum rv_err err = find_newest(store, &newest_us, error);

	if (err == RV_OK)
		err = rv_store_sql_query(store, &row, error, RUN_COLUMNS "WHERE r.id = ?", "i",
					 number);
	if (err == RV_OK)
		err = rv_store_sql_step(store, row, error);
	if (err == RV_ERR_CLOSED)
		return rv_err_refuse(error, "run_unknown", "%s holds no run %lld", store->path,
				     (long long)number);
	if (err != RV_OK)
		return err;
	take_run(row, &made);
	sqlite3_reset(row);
	set_end(&made, newest_us);
	*run = made;
	return RV_OK;
}

enum rv_err rv_store_runs(struct rv_store *store, struct rv_store_run **runs, size_t *count,
			  struct rv_error *error)
{
	struct rv_store_list list = {0};
	sqlite3_stmt *row = NULL;
	int64_t newest_us = 0;
	enum rv_err err = find_newest(store, &newest_us, error);

	if (err == RV_OK)
		err = rv_store_sql_query(store, &row, error, RUN_COLUMNS "ORDER BY r.id", "");
	while (err == RV_OK && (err = rv_store_sql_step(store, row, error)) == RV_OK) {
		struct rv_store_run *run = rv_store_sql_grow(&list, sizeof *run);
		if (!run) {
			err = rv_err_set(error, RV_ERR_NOMEM, "no memory for the list of runs");
			break;
		}
		take_run(row, run);
		set_end(run, newest_us);
	}
	if (err != RV_ERR_CLOSED) {
		free(list.items);
		return err;
	}
	*runs = list.items;
	*count = list.count;
	return RV_OK;
}

static void add_column(sqlite3_stmt *row, int column, struct rv_text *to)
{
	const char *text = (const char *)sqlite3_column_text(row, column);

	if (to && text)
		rv_text_add_bytes(to, text, strlen(text));
}

enum rv_err rv_store_run_texts(struct rv_store *store, int64_t number, struct rv_text *rig,
			       struct rv_text *station, struct rv_error *error)
{
	sqlite3_stmt *row = NULL;
	enum rv_err err =
	    rv_store_sql_query(store, &row, error,
			       "SELECT r.rig_text, v.text FROM run r JOIN station_version v "
			       "ON v.id = r.station WHERE r.id = ?",
			       "i", number);

	if (err == RV_OK)
		err = rv_store_sql_step(store, row, error);
	if (err == RV_ERR_CLOSED)
		return rv_err_refuse(error, "run_unknown", "%s holds no run %lld", store->path,
				     (long long)number);
	if (err != RV_OK)
		return err;
	add_column(row, 0, rig);
	add_column(row, 1, station);
	sqlite3_reset(row);
	return RV_OK;
}

static enum rv_quantity quantity_of(const char *word)
{
	for (int quantity = RV_TENSION; quantity < RV_OTHER; quantity++)
		if (strcmp(word, rv_station_quantity_name((enum rv_quantity)quantity)) == 0)
			return (enum rv_quantity)quantity;
	return RV_OTHER;
}

static enum rv_motion motion_of(const char *word)
{
	for (int motion = RV_MOTION_IN; motion <= RV_MOTION_UNSTEADY; motion++)
		if (strcmp(word, rv_station_motion_name((enum rv_motion)motion)) == 0)
			return (enum rv_motion)motion;
	return RV_MOTION_UNKNOWN;
}

static struct rv_stated stated_of(sqlite3_stmt *row, int column)
{
	return (struct rv_stated){.ratio = rv_store_sql_real(row, column),
				  .value = rv_store_sql_real(row, column + 1)};
}

static void take_calibration(sqlite3_stmt *row, int at, struct rv_channel *channel)
{
	struct rv_calibration *calibration = &channel->calibration;

	rv_store_sql_text(row, at, calibration->name, sizeof calibration->name);
	rv_store_sql_text(row, at + 1, calibration->due, sizeof calibration->due);
	rv_store_sql_text(row, at + 2, calibration->sha256, sizeof calibration->sha256);
	rv_store_sql_text(row, at + 3, calibration->file, sizeof calibration->file);
	calibration->conversion.degree = sqlite3_column_type(row, at + 6) == SQLITE_NULL ? 1 : 3;
	for (int i = 0; i <= calibration->conversion.degree; i++)
		calibration->conversion.a[i] = sqlite3_column_double(row, at + 4 + i);
	calibration->gain = stated_of(row, at + 8);
	calibration->zero = stated_of(row, at + 10);
	calibration->drift = stated_of(row, at + 12);
	calibration->delay_s = rv_store_sql_real(row, at + 14);
	calibration->inverse_error_n = rv_store_sql_real(row, at + 18);
	channel->capacity = rv_store_sql_real(row, at + 15);
	channel->tare_n = rv_store_sql_real(row, at + 16);
	channel->wraps_at = rv_store_sql_real(row, at + 17);
	/* An import keeps the step of its encoder as a1; with none it is the number as it came. */
	bool is_plain = calibration->conversion.degree == 1 &&
			rv_sample_is_same(calibration->conversion.a[1], 1.0);
	if (strcmp(calibration->name, "unit") == 0 ||
	    (strcmp(calibration->name, "imported") == 0 && is_plain))
		memcpy(channel->wire_unit, channel->unit, sizeof channel->wire_unit);
}

static void take_channel(sqlite3_stmt *row, struct rv_store_channel *channel)
{
	struct rv_channel *declared = &channel->declared;
	char word[16];

	rv_store_sql_text(row, 0, channel->device, sizeof channel->device);
	rv_store_sql_text(row, 1, declared->name, sizeof declared->name);
	rv_store_sql_text(row, 2, word, sizeof word);
	declared->quantity = quantity_of(word);
	rv_store_sql_text(row, 3, declared->unit, sizeof declared->unit);
	rv_store_sql_text(row, 4, declared->cell, sizeof declared->cell);
	rv_store_sql_text(row, 5, declared->winch, sizeof declared->winch);
	rv_store_sql_text(row, 6, declared->load, sizeof declared->load);
	rv_store_sql_text(row, 7, word, sizeof word);
	declared->motion = motion_of(word);
	declared->device = -1;
	take_calibration(row, 8, declared);
}

/* In the order in which the run got them, which is the station's. */
enum rv_err rv_store_run_channels(struct rv_store *store, int64_t number,
				  struct rv_store_channels *channels, struct rv_error *error)
{
	struct rv_store_channels *made = calloc(1, sizeof *made);
	sqlite3_stmt *row = NULL;

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the channels");
	enum rv_err err = rv_store_sql_query(
	    store, &row, error,
	    "SELECT d.name, h.name, h.quantity, h.unit, h.cell, h.winch, h.load, h.motion, "
	    "k.name, k.due, k.sha256, k.file, k.a0, k.a1, k.a2, k.a3, k.gain_u_ratio, "
	    "k.gain_u_value, "
	    "k.zero_u_ratio, k.zero_u_value, k.drift_u_ratio, k.drift_u_value, k.delay_s, "
	    "k.capacity, "
	    "k.tare_n, k.wraps_at, k.inverse_error_n "
	    "FROM (SELECT min(id) AS id FROM conversion WHERE run = ? GROUP BY channel) f "
	    "JOIN conversion c ON c.id = f.id JOIN channel h ON h.id = c.channel "
	    "JOIN calibration k ON k.id = c.calibration JOIN stream s ON s.id = c.stream "
	    "JOIN device d ON d.id = s.device ORDER BY c.id LIMIT 64",
	    "i", number);
	while (err == RV_OK && (err = rv_store_sql_step(store, row, error)) == RV_OK)
		take_channel(row, &made->channel[made->count++]);
	if (err == RV_ERR_CLOSED)
		*channels = *made;
	free(made);
	return err == RV_ERR_CLOSED ? RV_OK : err;
}

/* ---- UTC --------------------------------------------------------------------------------- */

/* An anchor holds from its row time on to that of the first anchor with another offset between row
 * time and the machine's clock (the next start); the first one holds backwards too.  Within that
 * stretch UTC is told by the newest trusted anchor of the boot, or the newest at all. */
static void find_offset(struct rv_store *store, int64_t t_us)
{
	sqlite3_stmt *row = NULL;

	store->utc.from_us = INT64_MIN;
	store->utc.to_us = INT64_MAX;
	store->utc.offset_us = 0;
	if (rv_store_sql_query(
		store, &row, NULL,
		"WITH here AS (SELECT * FROM clock_anchor ORDER BY t_us > ?1, abs(t_us - ?1), id "
		"DESC "
		"LIMIT 1), best AS (SELECT b.* FROM clock_anchor b, here h WHERE b.boot = h.boot "
		"ORDER BY b.trusted DESC, b.id DESC LIMIT 1) "
		"SELECT (b.utc_us - b.mono_ns / 1000) - (h.t_us - h.mono_ns / 1000), "
		"CASE WHEN h.t_us <= ?1 THEN h.t_us END, "
		"(SELECT min(n.t_us) FROM clock_anchor n WHERE n.t_us > max(h.t_us, ?1)) "
		"FROM here h, best b",
		"i", t_us) != RV_OK ||
	    rv_store_sql_step(store, row, NULL) != RV_OK)
		return;
	store->utc.offset_us = sqlite3_column_int64(row, 0);
	if (sqlite3_column_type(row, 1) != SQLITE_NULL)
		store->utc.from_us = sqlite3_column_int64(row, 1);
	if (sqlite3_column_type(row, 2) != SQLITE_NULL)
		store->utc.to_us = sqlite3_column_int64(row, 2);
	sqlite3_reset(row);
}

int64_t rv_store_utc_offset_us(struct rv_store *store, int64_t t_us, int64_t *until_us)
{
	int64_t version = 0;

	/* Changes when another connection has written. */
	if (rv_store_sql_number(store, -1, &version, NULL, "PRAGMA data_version", "") != RV_OK)
		version = -1;
	if (version < 0 || version != store->utc.version || t_us < store->utc.from_us ||
	    t_us >= store->utc.to_us)
		find_offset(store, t_us);
	store->utc.version = version;
	*until_us = store->utc.to_us;
	return store->utc.offset_us;
}

int64_t rv_store_utc_us(struct rv_store *store, int64_t t_us)
{
	int64_t until_us;

	return t_us + rv_store_utc_offset_us(store, t_us, &until_us);
}

void rv_store_utc(struct rv_store *store, int64_t t_us, char text[RV_UTC_SIZE])
{
	rv_utc_text(rv_store_utc_us(store, t_us), text);
}
