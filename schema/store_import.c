/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An import writes its rows under a layout (stream) that no conversion names yet: they belong to no
 * run and to no channel, so no view, cursor or list shows them.  The last transaction adds the run
 * and its conversions, and with them all rows at once.
 */
#include <stdio.h>

#include "schema/store_known.h"

#define DAY_US INT64_C(86400000000)
/* Undated recordings lie in the first years of the axis, where no clock ever recorded. */
#define UNDATED_END_US (3 * 365 * DAY_US)

/* Clears the rows of layouts of imports that no conversion names: transactions of 100 000 rows. */
static enum rv_err clear_rows(struct rv_store *store, int64_t stream, struct rv_error *error)
{
	for (int64_t changed = 1, before; changed > 0;) {
		before = sqlite3_total_changes64(store->db);
		enum rv_err err = rv_store_sql_run(
		    store, error,
		    "DELETE FROM narrow WHERE t_us IN (SELECT t_us FROM narrow WHERE "
		    "t_us >= (SELECT since_us FROM stream WHERE id = ?1) AND stream = ?1 "
		    "LIMIT 100000)",
		    "i", stream);
		if (err == RV_OK)
			err = rv_store_sql_run(
			    store, error,
			    "DELETE FROM wide WHERE t_us IN (SELECT t_us FROM wide WHERE "
			    "t_us >= (SELECT since_us FROM stream WHERE id = ?1) AND stream = ?1 "
			    "LIMIT 100000)",
			    "i", stream);
		if (err != RV_OK)
			return err;
		changed = sqlite3_total_changes64(store->db) - before;
		(void)rv_store_checkpoint(store, false, NULL);
	}
	return RV_OK;
}

static enum rv_err clear_unfinished(struct rv_store *store, struct rv_error *error)
{
	int64_t stream = 1;
	enum rv_err err = RV_OK;

	while (err == RV_OK && stream) {
		err = rv_store_sql_number(
		    store, 0, &stream, error,
		    "SELECT s.id FROM stream s JOIN device d ON d.id = s.device "
		    "WHERE d.link = 'file' AND s.id NOT IN "
		    "(SELECT stream FROM conversion) LIMIT 1",
		    "");
		if (err == RV_OK && stream)
			err = clear_rows(store, stream, error);
		if (err == RV_OK && stream)
			err = rv_store_sql_run(store, error, "DELETE FROM slot WHERE stream = ?",
					       "i", stream);
		if (err == RV_OK && stream)
			err = rv_store_sql_run(store, error, "DELETE FROM stream WHERE id = ?", "i",
					       stream);
	}
	if (err == RV_OK)
		err = rv_store_sql_run(store, error,
				       "DELETE FROM device WHERE link = 'file' AND id NOT IN "
				       "(SELECT device FROM stream)",
				       "");
	return err;
}

static enum rv_err note_before(struct rv_store *store, struct rv_store_import *import,
			       struct rv_error *error)
{
	enum rv_err err = rv_store_sql_number(store, 0, &import->mine[0], error,
					      "SELECT max(id) FROM station_version", "");

	if (err == RV_OK)
		err = rv_store_sql_number(store, 0, &import->mine[1], error,
					  "SELECT max(id) FROM calibration", "");
	if (err == RV_OK)
		err = rv_store_sql_number(store, 0, &import->mine[2], error,
					  "SELECT max(id) FROM channel", "");
	return err;
}

static const char *name_of(const struct rv_store_import *import)
{
	return import->name ? import->name : import->made_name;
}

enum rv_err rv_store_import_begin(struct rv_store *store, struct rv_store_import *import,
				  struct rv_error *error)
{
	struct rv_device *device = &import->station->device[0];
	struct rv_store_found found = {0};
	enum rv_err err = clear_unfinished(store, error);

	if (err == RV_OK)
		err = rv_store_find(store, &found, error); /* counts the readings */
	rv_text_free(&found.rig_text);
	if (err == RV_OK)
		err = rv_store_known_number(store, 0, &import->number, error);
	snprintf(import->made_name, sizeof import->made_name, "import %lld",
		 (long long)import->number);
	if (err == RV_OK)
		err = rv_store_known_name(store, name_of(import), error);
	if (err == RV_OK)
		err = note_before(store, import, error);
	if (err == RV_OK)
		err = rv_store_begin(store, error);
	if (err != RV_OK)
		return err;
	import->station->devices = 1;
	device->link = RV_LINK_FILE;
	snprintf(device->name, sizeof device->name, "import %lld", (long long)import->number);
	err = rv_store_declare_all(store, import->station, import->station_text, import->from_us,
				   error);
	if (err == RV_OK)
		err = rv_store_commit(store, error);
	if (err != RV_OK)
		rv_store_rollback(store);
	return err;
}

static enum rv_err add_conversions(struct rv_store *store, const struct rv_store_import *import,
				   struct rv_error *error)
{
	enum rv_err err = RV_OK;

	for (int i = 0; err == RV_OK && i < import->station->channels; i++) {
		struct rv_store_known known;
		err = rv_store_known_find(store, import->station, i, &known, error);
		if (err == RV_OK)
			err = rv_store_sql_run(
			    store, error,
			    "INSERT INTO conversion(run, channel, from_us, to_us, stream, width, "
			    "slot, calibration, a0, a1, zero) VALUES(?,?,?,?,?,?,?,?,0.0,?,0.0)",
			    "iiiiiiiid", import->number, known.channel, import->from_us,
			    import->to_us, known.stream, (int64_t)known.width, (int64_t)known.slot,
			    known.calibration, import->a1[i]);
	}
	return err;
}

/* The times of the file are UTC as they are; what was recorded here before and after keeps the
 * anchor it had. */
static enum rv_err add_anchors(struct rv_store *store, const struct rv_store_import *import,
			       struct rv_error *error)
{
	enum rv_err err = rv_store_sql_run(
	    store, error,
	    "INSERT INTO clock_anchor(boot, mono_ns, t_us, utc_us, trusted, why) "
	    "SELECT h.boot, h.mono_ns + (?1 - h.t_us) * 1000, ?1, b.utc_us + "
	    "(h.mono_ns - b.mono_ns) / 1000 + (?1 - h.t_us), b.trusted, 'after an import' "
	    "FROM (SELECT * FROM clock_anchor WHERE t_us < ?1 ORDER BY t_us DESC, id DESC LIMIT 1) "
	    "h "
	    "JOIN (SELECT * FROM clock_anchor ORDER BY trusted DESC, id DESC) b ON b.boot = h.boot "
	    "LIMIT 1",
	    "i", import->to_us);

	if (err == RV_OK)
		err = rv_store_sql_run(
		    store, error,
		    "INSERT INTO clock_anchor(boot, mono_ns, t_us, utc_us, trusted, why) "
		    "VALUES('import ' || ?1, 0, ?2, ?2, 1, 'import')",
		    "ii", import->number, import->from_us);
	return err;
}

static enum rv_err add_run(struct rv_store *store, const struct rv_store_import *import,
			   struct rv_error *error)
{
	enum rv_err err = rv_store_sql_run(
	    store, error,
	    "INSERT INTO run(id, name, notes, how, from_us, to_us, ended, station, rig_name, "
	    "rig_text) VALUES(?, ?, ?, 'import', ?, ?, 'import', (SELECT max(id) FROM "
	    "station_version), ?, ?)",
	    "ittiitt", import->number, name_of(import), import->notes, import->from_us,
	    import->to_us, import->rig_name, import->rig_text);

	if (err == RV_OK)
		err = add_conversions(store, import, error);
	for (size_t i = 0; err == RV_OK && i < import->mark_count; i++)
		err = rv_store_add_mark(store, &import->marks[i], error);
	if (err == RV_OK)
		err = add_anchors(store, import, error);
	if (err == RV_OK)
		err = rv_store_keep_count(store, error);
	return err;
}

enum rv_err rv_store_import_end(struct rv_store *store, const struct rv_store_import *import,
				struct rv_error *error)
{
	struct rv_store_import whole = *import;
	enum rv_err err = rv_store_begin(store, error);

	if (err != RV_OK)
		return err;
	/* Rows that met others at their instants lie a little later than the table says. */
	if (whole.to_us <= store->last_us)
		whole.to_us = store->last_us + 1;
	err = add_run(store, &whole, error);
	if (err == RV_OK)
		err = rv_store_commit(store, error);
	if (err != RV_OK)
		rv_store_rollback(store);
	return err;
}

enum rv_err rv_store_import_undo(struct rv_store *store, const struct rv_store_import *import,
				 struct rv_error *error)
{
	rv_store_rollback(store);
	enum rv_err err = clear_unfinished(store, error);
	if (err == RV_OK)
		err = rv_store_sql_run(store, error, "DELETE FROM station_version WHERE id > ?",
				       "i", import->mine[0]);
	if (err == RV_OK)
		err = rv_store_sql_run(store, error, "DELETE FROM calibration WHERE id > ?", "i",
				       import->mine[1]);
	if (err == RV_OK)
		err = rv_store_sql_run(store, error, "DELETE FROM channel WHERE id > ?", "i",
				       import->mine[2]);
	return err;
}

enum rv_err rv_store_import_undated(struct rv_store *store, int64_t *from_us,
				    struct rv_error *error)
{
	return rv_store_sql_number(store, 0, from_us, error,
				   "SELECT (max(to_us) / ?1 + 1) * ?1 FROM run "
				   "WHERE how = 'import' AND from_us < ?2",
				   "ii", DAY_US, UNDATED_END_US);
}
