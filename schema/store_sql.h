/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the store's own files share: the connection, and short ways to run a statement.  Nobody
 * outside the store includes this.
 *
 * Values go in by a format, one letter each: i int64_t, d double (NaN becomes NULL), t text (NULL
 * becomes NULL).  SQL is always a literal: a statement is prepared once and found again by its
 * address.
 */
#ifndef RV_SCHEMA_STORE_SQL_H
#define RV_SCHEMA_STORE_SQL_H

#include <sqlite3.h>

#include "schema/store.h"

enum {
	RV_STORE_STATEMENTS = 96,
	RV_STORE_PARTS = RV_CHANNELS / RV_MESSAGE_VALUES,
	RV_STORE_NARROW = 4,
	RV_STORE_WIDE = 16,
	RV_STORE_APPLICATION = 0x72656576, /* "reev" */
};

extern const char rv_record_1_sql[], rv_record_2_sql[];

struct rv_store {
	sqlite3 *db;
	char path[RV_PATH_SIZE];
	int lock; /* file descriptor of the lock file; -1 for a reader */
	int log_pages;
	int statements;
	struct {
		const char *sql;
		sqlite3_stmt *statement;
	} statement[RV_STORE_STATEMENTS];

	/* A writer's station, once declared: rows of device, stream and channel. */
	int64_t device[RV_DEVICES];
	struct {
		int64_t id;
		int width;
	} stream[RV_DEVICES][RV_STORE_PARTS];
	int64_t channel[RV_CHANNELS];
	bool both_widths;
	/* The last message of the transaction: wanted at, put at.  All from the one to the other is
	 * taken, so a burst at one instant need not try each microsecond anew. */
	int64_t wanted_us, put_us;
	int64_t last_us; /* where the last message was put, of whatever transaction */
	int64_t readings; /* in the record, with those of the transaction under way */
	int64_t readings_before; /* the same at its start */

	struct {
		int64_t version; /* PRAGMA data_version when this was found */
		int64_t from_us, to_us, offset_us;
	} utc;
};

/* RV_ERR_STORE with SQLite's words, or RV_ERR_REFUSED "constraint" where the record's own rules
 * were broken. */
enum rv_err rv_store_sql_fail(struct rv_store *store, const char *doing, struct rv_error *error);

/* Binds and hands out a statement to be stepped. */
enum rv_err rv_store_sql_query(struct rv_store *store, sqlite3_stmt **statement,
			       struct rv_error *error, const char *sql, const char *format, ...);

/* RV_OK: a row is there.  RV_ERR_CLOSED: that was all (the statement is reset). */
enum rv_err rv_store_sql_step(struct rv_store *store, sqlite3_stmt *statement,
			      struct rv_error *error);

/* Runs a statement that gives no rows. */
enum rv_err rv_store_sql_run(struct rv_store *store, struct rv_error *error, const char *sql,
			     const char *format, ...);

/* The first column of the first row; otherwise where there is none or it is NULL. */
enum rv_err rv_store_sql_number(struct rv_store *store, int64_t otherwise, int64_t *number,
				struct rv_error *error, const char *sql, const char *format, ...);

/* Runs SQL that is not kept: PRAGMA, BEGIN, COMMIT, a migration. */
enum rv_err rv_store_sql_exec(struct rv_store *store, const char *sql, struct rv_error *error);

void rv_store_sql_forget(struct rv_store *store); /* finalizes all statements */

/* Columns of the row a statement stands on.  Text: "" for NULL, cut to size.  Real: NaN for NULL. */
void rv_store_sql_text(sqlite3_stmt *statement, int column, char *to, size_t size);
double rv_store_sql_real(sqlite3_stmt *statement, int column);

/* A growing array of items of one size, for lists read from the record. */
struct rv_store_list {
	void *items;
	size_t count, room;
};
/* Room for one more, zeroed; NULL when memory is refused. */
void *rv_store_sql_grow(struct rv_store_list *list, size_t item_size);

#endif
