/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Runs, and the conversion rows that make one: see the table conversion in record_1.sql.  All calls
 * stand inside the caller's transaction.
 */
#include <ctype.h>
#include <string.h>

#include "schema/store_known.h"

static bool is_all_digits(const char *name)
{
	for (const char *c = name; *c; c++)
		if (!isdigit((unsigned char)*c))
			return false;
	return true;
}

enum rv_err rv_store_known_name(struct rv_store *store, const char *name, struct rv_error *error)
{
	int64_t number = 0;

	if (!*name || strlen(name) >= sizeof((struct rv_store_run *)0)->name || is_all_digits(name))
		return rv_err_refuse(
		    error, "bad_name",
		    "'%.140s' cannot name a run: a name has 1 to %zu bytes and is not "
		    "all digits",
		    name, sizeof((struct rv_store_run *)0)->name - 1);
	enum rv_err err = rv_store_sql_number(store, 0, &number, error,
					      "SELECT id FROM run WHERE name = ?", "t", name);
	if (err == RV_OK && number)
		return rv_err_refuse(error, "name_taken",
				     "'%s' is the name of run %lld: names are never used twice",
				     name, (long long)number);
	return err;
}

/* The number the run gets: the one wished for, if it is beyond all that were ever used. */
enum rv_err rv_store_known_number(struct rv_store *store, int64_t wished, int64_t *number,
				  struct rv_error *error)
{
	int64_t last = 0;
	enum rv_err err = rv_store_sql_number(
	    store, 0, &last, error, "SELECT seq FROM sqlite_sequence WHERE name = 'run'", "");

	if (err != RV_OK)
		return err;
	if (wished && wished <= last)
		return rv_err_refuse(error, "number_taken",
				     "run %lld: numbers are never used twice, the next is %lld",
				     (long long)wished, (long long)last + 1);
	*number = wished ? wished : last + 1;
	return RV_OK;
}

/* The rows without a run go over to the run from from_us on. */
static enum rv_err hand_over(struct rv_store *store, int64_t run, int64_t from_us,
			     struct rv_error *error)
{
	enum rv_err err = rv_store_sql_run(
	    store, error,
	    "INSERT INTO conversion(run, channel, from_us, to_us, stream, width, slot, "
	    "calibration, "
	    "a0, a1, a2, a3, zero) SELECT ?1, channel, max(from_us, ?2), to_us, stream, width, "
	    "slot, "
	    "calibration, a0, a1, a2, a3, zero FROM conversion WHERE run IS NULL AND to_us > ?2 "
	    "ORDER BY id",
	    "ii", run, from_us);

	if (err == RV_OK)
		err = rv_store_sql_run(store, error,
				       "DELETE FROM conversion WHERE run IS NULL AND from_us >= ?",
				       "i", from_us);
	if (err == RV_OK)
		err = rv_store_sql_run(
		    store, error,
		    "UPDATE conversion SET to_us = ?1 WHERE run IS NULL AND to_us > ?1", "i",
		    from_us);
	return err;
}

enum rv_err rv_store_open_run(struct rv_store *store, const struct rv_store_opening *opening,
			      struct rv_error *error)
{
	int64_t open = 0, number = 0, from_us = opening->t_us;
	enum rv_err err = rv_store_known_open_run(store, &open, error);

	if (err == RV_OK && open)
		return rv_err_refuse(error, "run_open", "run %lld is still open", (long long)open);
	if (err == RV_OK)
		err = rv_store_known_name(store, opening->name, error);
	if (err == RV_OK)
		err = rv_store_known_number(store, opening->number, &number, error);
	/* A run that is opened as things happen begins where the one before it ended, at the
	 * earliest. */
	if (err == RV_OK)
		err = rv_store_sql_number(store, from_us, &from_us, error,
					  "SELECT max(max(to_us), ?) FROM run "
					  "WHERE how IN ('by hand', 'by itself')",
					  "i", from_us);
	if (err == RV_OK)
		err = rv_store_sql_run(store, error,
				       "INSERT INTO run(id, name, how, from_us, station, rig_name, "
				       "rig_text) VALUES(?, ?, "
				       "?, ?, (SELECT max(id) FROM station_version), ?, ?)",
				       "ittitt", number, opening->name, opening->how, from_us,
				       opening->rig_name, opening->rig_text);
	if (err == RV_OK)
		err = hand_over(store, number, from_us, error);
	return err;
}

enum rv_err rv_store_close_run(struct rv_store *store, int64_t number, int64_t t_us,
			       const char *why, struct rv_error *error)
{
	int64_t open = 0;
	enum rv_err err = rv_store_known_open_run(store, &open, error);

	if (err != RV_OK)
		return err;
	if (!open || open != number)
		return rv_err_refuse(error, "no_run", "run %lld is not open", (long long)number);
	err = rv_store_sql_number(store, t_us, &t_us, error,
				  "SELECT max(from_us + 1, ?) FROM run WHERE id = ?", "ii", t_us,
				  number);
	if (err == RV_OK)
		err = rv_store_sql_run(
		    store, error,
		    "INSERT INTO conversion(run, channel, from_us, to_us, stream, width, slot, "
		    "calibration, a0, a1, a2, a3, zero) SELECT NULL, channel, max(from_us, ?2), "
		    "to_us, "
		    "stream, width, slot, calibration, a0, a1, a2, a3, zero FROM conversion "
		    "WHERE run = ?1 AND to_us > ?2 ORDER BY id",
		    "ii", number, t_us);
	if (err == RV_OK)
		err = rv_store_sql_run(store, error,
				       "DELETE FROM conversion WHERE run = ? AND from_us >= ?",
				       "ii", number, t_us);
	if (err == RV_OK)
		err = rv_store_sql_run(
		    store, error, "UPDATE conversion SET to_us = ?2 WHERE run = ?1 AND to_us > ?2",
		    "ii", number, t_us);
	if (err == RV_OK)
		err = rv_store_sql_run(store, error,
				       "UPDATE run SET to_us = ?2, ended = ?3 WHERE id = ?1", "iit",
				       number, t_us, why);
	return err;
}

/* The channel's row in force, as much of it as its successor takes over. */
struct in_force_row {
	int64_t id, run, from_us, stream, width, slot, calibration;
};

static enum rv_err find_in_force(struct rv_store *store, int64_t channel,
				 struct in_force_row *found, struct rv_error *error)
{
	sqlite3_stmt *row = NULL;
	enum rv_err err =
	    rv_store_sql_query(store, &row, error,
			       "SELECT id, run, from_us, stream, width, slot, calibration FROM "
			       "conversion WHERE channel = ? AND to_us = 9223372036854775807",
			       "i", channel);

	if (err == RV_OK)
		err = rv_store_sql_step(store, row, error);
	if (err == RV_ERR_CLOSED)
		return rv_err_refuse(error, "constraint", "the channel is not being recorded");
	if (err != RV_OK)
		return err;
	*found = (struct in_force_row){
	    .id = sqlite3_column_int64(row, 0),
	    .run = sqlite3_column_int64(row, 1), /* 0 for NULL: numbers begin at 1 */
	    .from_us = sqlite3_column_int64(row, 2),
	    .stream = sqlite3_column_int64(row, 3),
	    .width = sqlite3_column_int64(row, 4),
	    .slot = sqlite3_column_int64(row, 5),
	    .calibration = sqlite3_column_int64(row, 6),
	};
	sqlite3_reset(row);
	return RV_OK;
}

enum rv_err rv_store_set_conversion(struct rv_store *store, int channel, int64_t t_us,
				    const struct rv_store_in_force *now, struct rv_error *error)
{
	const struct rv_conversion *k = &now->conversion;
	struct in_force_row row = {0};
	enum rv_err err = find_in_force(store, store->channel[channel], &row, error);

	if (err != RV_OK)
		return err;
	if (t_us > row.from_us)
		err =
		    rv_store_sql_run(store, error, "UPDATE conversion SET to_us = ?2 WHERE id = ?1",
				     "ii", row.id, t_us);
	else /* nothing was read by the old one */
		err = rv_store_sql_run(store, error, "DELETE FROM conversion WHERE id = ?", "i",
				       row.id);
	if (err != RV_OK)
		return err;
	return rv_store_sql_run(
	    store, error,
	    "INSERT INTO conversion(run, channel, from_us, stream, width, slot, calibration, "
	    "a0, a1, a2, a3, zero) VALUES(nullif(?, 0),?,?,?,?,?,?,?,?,?,?,?)",
	    "iiiiiiiddddd", row.run, store->channel[channel],
	    t_us > row.from_us ? t_us : row.from_us, row.stream, row.width, row.slot,
	    row.calibration, k->a[0], k->a[1], rv_store_known_higher(k, 2),
	    rv_store_known_higher(k, 3), now->zero);
}
