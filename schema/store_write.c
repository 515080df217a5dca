/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the writer adds, batch by batch.
 */
#include <string.h>

#include "schema/store_sql.h"

enum rv_err rv_store_begin(struct rv_store *store, struct rv_error *error)
{
	store->readings_before = store->readings;
	store->wanted_us = store->put_us = INT64_MIN;
	return rv_store_sql_run(store, error, "BEGIN IMMEDIATE", "");
}

enum rv_err rv_store_commit(struct rv_store *store, struct rv_error *error)
{
	return rv_store_sql_run(store, error, "COMMIT", "");
}

void rv_store_rollback(struct rv_store *store)
{
	/* SQLite has rolled back by itself after most failures. */
	if (!sqlite3_get_autocommit(store->db))
		(void)rv_store_sql_run(store, NULL, "ROLLBACK", "");
	store->readings = store->readings_before;
}

static bool is_reading(const struct rv_value *value)
{
	return value->raw.kind != RV_RAW_NONE && value->quality != RV_BAD;
}

static int bind_value(sqlite3_stmt *statement, int place, const struct rv_value *value)
{
	if (!is_reading(value))
		return sqlite3_bind_null(statement, place);
	if (value->raw.kind == RV_RAW_INT)
		return sqlite3_bind_int64(statement, place, value->raw.count);
	return sqlite3_bind_double(statement, place, value->raw.real);
}

/* Whether the other table has a row at that instant: one axis for both. */
static enum rv_err other_has(struct rv_store *store, int width, int64_t t_us, bool *has,
			     struct rv_error *error)
{
	int64_t there = 0;
	enum rv_err err = RV_OK;

	if (!store->both_widths)
		*has = false;
	else if (width == RV_STORE_NARROW)
		err = rv_store_sql_number(store, 0, &there, error,
					  "SELECT 1 FROM wide WHERE t_us = ?", "i", t_us);
	else
		err = rv_store_sql_number(store, 0, &there, error,
					  "SELECT 1 FROM narrow WHERE t_us = ?", "i", t_us);
	*has = there != 0;
	return err;
}

static enum rv_err insert_row(struct rv_store *store, const struct rv_message *message,
			      int64_t t_us, bool *inserted, struct rv_error *error)
{
	int width = store->stream[message->device][message->part].width;
	int64_t stream = store->stream[message->device][message->part].id;
	sqlite3_stmt *row = NULL;
	bool taken = false;
	enum rv_err err = other_has(store, width, t_us, &taken, error);

	*inserted = false;
	if (err != RV_OK || taken)
		return err;
	if (width == RV_STORE_NARROW)
		err = rv_store_sql_query(store, &row, error,
					 "INSERT OR IGNORE INTO narrow VALUES(?,?,?,?,?,?)", "ii",
					 t_us, stream);
	else
		err = rv_store_sql_query(
		    store, &row, error,
		    "INSERT OR IGNORE INTO wide VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)", "ii",
		    t_us, stream);
	if (err != RV_OK)
		return err;
	for (int i = 0; i < width; i++) {
		int bound = i < message->count ? bind_value(row, 3 + i, &message->values[i])
					       : sqlite3_bind_null(row, 3 + i);
		if (bound != SQLITE_OK)
			return rv_store_sql_fail(store, "fill in a reading", error);
	}
	err = rv_store_sql_step(store, row, error);
	if (err != RV_ERR_CLOSED)
		return err;
	*inserted = sqlite3_changes(store->db) == 1;
	return RV_OK;
}

enum rv_err rv_store_add_message(struct rv_store *store, const struct rv_message *message,
				 int64_t t_us, int64_t *readings, struct rv_error *error)
{
	bool inserted = false;
	int added = 0;

	if (message->device >= RV_DEVICES || message->part >= RV_STORE_PARTS ||
	    !store->stream[message->device][message->part].id ||
	    message->count > store->stream[message->device][message->part].width)
		return rv_err_refuse(error, "constraint",
				     "a message of device %d, part %d: nobody "
				     "declared it",
				     message->device, message->part);
	int64_t wanted_us = t_us;
	if (t_us >= store->wanted_us && t_us <= store->put_us)
		t_us = store->put_us + 1;
	while (!inserted) {
		enum rv_err err = insert_row(store, message, t_us++, &inserted, error);
		if (err != RV_OK)
			return err;
	}
	store->wanted_us = wanted_us;
	store->put_us = store->last_us = t_us - 1;
	for (int i = 0; i < message->count; i++)
		added += is_reading(&message->values[i]);
	store->readings += added;
	*readings += added;
	return RV_OK;
}

enum rv_err rv_store_add_event(struct rv_store *store, const struct rv_store_event *event,
			       struct rv_error *error)
{
	int64_t device = event->device >= 0 ? store->device[event->device] : 0;

	return rv_store_sql_run(
	    store, error,
	    "INSERT INTO device_event(t_us, until_us, device, what, cause, count, "
	    "text) VALUES(?, ?, nullif(?, 0), ?, nullif(?, ''), nullif(?, 0), "
	    "nullif(?, ''))",
	    "iiittit", event->t_us, event->until_us > event->t_us ? event->until_us : event->t_us,
	    device, event->what, event->cause, event->count, event->text);
}

enum rv_err rv_store_set_quality(struct rv_store *store, int channel, int64_t t_us,
				 enum rv_quality quality, enum rv_cause cause,
				 struct rv_error *error)
{
	enum rv_err err = rv_store_sql_run(store, error,
					   "UPDATE quality_span SET to_us = max(from_us, ?) "
					   "WHERE channel = ? AND to_us = 9223372036854775807",
					   "ii", t_us, store->channel[channel]);

	if (err != RV_OK || quality == RV_GOOD)
		return err;
	return rv_store_sql_run(store, error,
				"INSERT INTO quality_span(channel, from_us, quality, cause) "
				"VALUES(?, ?, ?, ?)",
				"iitt", store->channel[channel], t_us,
				rv_sample_quality_name(quality), rv_sample_cause_name(cause));
}

enum rv_err rv_store_add_alarm(struct rv_store *store, const struct rv_store_alarm *alarm,
			       struct rv_error *error)
{
	return rv_store_sql_run(
	    store, error,
	    "INSERT INTO alarm_event(t_us, alarm, level, state, value, unit, text, "
	    "by_whom) VALUES(?, ?, ?, ?, ?, nullif(?, ''), nullif(?, ''), "
	    "nullif(?, ''))",
	    "itttdttt", alarm->t_us, alarm->name, alarm->level, alarm->state, alarm->value,
	    alarm->unit, alarm->text, alarm->by_whom);
}

enum rv_err rv_store_add_mark(struct rv_store *store, const struct rv_store_mark *mark,
			      struct rv_error *error)
{
	return rv_store_sql_run(
	    store, error,
	    "INSERT INTO mark(t_us, text, travel_m, by_whom) VALUES(?, ?, ?, nullif(?, ''))",
	    "itdt", mark->t_us, mark->text, mark->travel_m, mark->by_whom);
}

enum rv_err rv_store_add_anchor(struct rv_store *store, const struct rv_store_anchor *anchor,
				struct rv_error *error)
{
	return rv_store_sql_run(store, error,
				"INSERT INTO clock_anchor(boot, mono_ns, t_us, utc_us, trusted, "
				"why) VALUES(?,?,?,?,?,?)",
				"tiiiit", anchor->boot, anchor->mono_ns, anchor->t_us,
				anchor->utc_us, (int64_t)anchor->trusted, anchor->why);
}

enum rv_err rv_store_set_rig(struct rv_store *store, int64_t t_us, const char *name,
			     const char *text, bool by_page, struct rv_error *error)
{
	return rv_store_sql_run(
	    store, error,
	    "INSERT INTO rig_version(from_us, name, text, by_page) SELECT ?1, ?2, ?3, ?4 "
	    "WHERE NOT EXISTS(SELECT 1 FROM rig_version WHERE id = (SELECT max(id) FROM "
	    "rig_version) "
	    "AND name IS ?2 AND text IS ?3 AND by_page = ?4)",
	    "itti", t_us, name, text, (int64_t)by_page);
}

/* ---- what a writer finds and keeps count of ----------------------------------------------- */

static enum rv_err count_readings(struct rv_store *store, struct rv_error *error)
{
	int64_t more = 0;
	/* What was counted when the log was last moved into the file, and the rows since. */
	enum rv_err err = rv_store_sql_number(
	    store, 0, &more, error,
	    "SELECT readings + (SELECT count(v1) + count(v2) + count(v3) + count(v4) FROM narrow "
	    "WHERE t_us > counted_us) + (SELECT count(v1) + count(v2) + count(v3) + count(v4) + "
	    "count(v5) + count(v6) + count(v7) + count(v8) + count(v9) + count(v10) + count(v11) + "
	    "count(v12) + count(v13) + count(v14) + count(v15) + count(v16) FROM wide "
	    "WHERE t_us > counted_us) FROM record",
	    "");

	if (err == RV_OK)
		store->readings = more;
	return err;
}

enum rv_err rv_store_keep_count(struct rv_store *store, struct rv_error *error)
{
	return rv_store_sql_run(store, error,
				"UPDATE record SET readings = ?1, counted_us = "
				"max(ifnull((SELECT max(t_us) FROM narrow), 0), "
				"ifnull((SELECT max(t_us) FROM wide), 0)) WHERE readings <> ?1",
				"i", store->readings);
}

static enum rv_err find_rig(struct rv_store *store, struct rv_store_found *found,
			    struct rv_error *error)
{
	sqlite3_stmt *row = NULL;
	enum rv_err err = rv_store_sql_query(store, &row, error,
					     "SELECT name, text, by_page FROM rig_version "
					     "ORDER BY id DESC LIMIT 1",
					     "");

	if (err == RV_OK)
		err = rv_store_sql_step(store, row, error);
	if (err == RV_ERR_CLOSED)
		return RV_OK;
	if (err != RV_OK)
		return err;
	found->rig_is_set = sqlite3_column_int(row, 2) != 0;
	if (found->rig_is_set) {
		const char *text = (const char *)sqlite3_column_text(row, 1);
		rv_store_sql_text(row, 0, found->rig_name, sizeof found->rig_name);
		if (text)
			rv_text_add_bytes(&found->rig_text, text, strlen(text));
	}
	sqlite3_reset(row);
	return RV_OK;
}

enum rv_err rv_store_find(struct rv_store *store, struct rv_store_found *found,
			  struct rv_error *error)
{
	struct rv_store_found made = {0};
	int64_t unclean = 0;
	enum rv_err err =
	    rv_store_sql_number(store, 0, &made.newest_us, error,
				"SELECT max(ifnull((SELECT max(t_us) FROM narrow), 0), "
				"ifnull((SELECT max(t_us) FROM wide), 0))",
				"");

	/* A span or a run that begins later than the readings to come would not cover them. */
	if (err == RV_OK)
		err = rv_store_sql_number(
		    store, 0, &made.latest_us, error,
		    "SELECT max(?, ifnull((SELECT max(t_us) FROM device_event), 0), "
		    "ifnull((SELECT max(t_us) FROM alarm_event), 0), "
		    "ifnull((SELECT max(t_us) FROM mark), 0), "
		    "ifnull((SELECT max(from_us) FROM conversion), 0), "
		    "ifnull((SELECT max(max(from_us), max(ifnull(to_us, 0))) FROM run), 0))",
		    "i", made.newest_us);
	if (err == RV_OK)
		err = rv_store_sql_number(store, 0, &made.last_run, error,
					  "SELECT seq FROM sqlite_sequence WHERE name = 'run'", "");
	if (err == RV_OK)
		err = rv_store_sql_number(store, 0, &made.open_run, error,
					  "SELECT id FROM run WHERE to_us IS NULL", "");
	if (err == RV_OK)
		err = rv_store_sql_number(store, 0, &unclean, error,
					  "SELECT what = 'start' FROM device_event WHERE what IN "
					  "('start', 'stop') ORDER BY id DESC LIMIT 1",
					  "");
	if (err == RV_OK)
		err = count_readings(store, error);
	if (err == RV_OK)
		err = find_rig(store, &made, error);
	if (err != RV_OK) {
		rv_text_free(&made.rig_text);
		return err;
	}
	made.unclean = unclean != 0;
	made.readings = store->readings;
	*found = made;
	return RV_OK;
}
