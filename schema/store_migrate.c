/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/store_migrate.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "schema/store_sql.h"

static const char *const step_texts[] = {rv_record_1_sql, rv_record_2_sql};

const struct rv_store_steps rv_store_steps = {
    .count = sizeof step_texts / sizeof step_texts[0],
    .sql = step_texts,
};

enum { COPIES = 99, MODE = 0640 };

static enum rv_err read_pragma(struct rv_store *store, const char *sql, int64_t *value,
			       struct rv_error *error)
{
	enum rv_err err = rv_store_sql_number(store, 0, value, error, sql, "");

	if (err == RV_OK)
		return RV_OK;
	int code = sqlite3_errcode(store->db);
	if (code == SQLITE_NOTADB)
		return rv_err_refuse(error, "foreign",
				     "%s is no reeve record: it is no SQLite file, or its head is "
				     "damaged; nothing was changed",
				     store->path);
	if (code == SQLITE_CORRUPT)
		return rv_err_refuse(error, "damaged", "%s is damaged (%s); nothing was changed",
				     store->path, sqlite3_errmsg(store->db));
	return err;
}

enum rv_err rv_store_migrate_version(struct rv_store *store, const struct rv_store_steps *steps,
				     int *version, struct rv_error *error)
{
	int64_t application = 0, found = 0;
	enum rv_err err = read_pragma(store, "PRAGMA application_id", &application, error);

	if (err == RV_OK)
		err = read_pragma(store, "PRAGMA user_version", &found, error);
	if (err != RV_OK)
		return err;
	if (application != RV_STORE_APPLICATION)
		return rv_err_refuse(error, "foreign",
				     "%s is no reeve record (another program's SQLite file, or an "
				     "empty one); nothing was changed",
				     store->path);
	if (found > steps->count || found < 1)
		return rv_err_refuse(
		    error, "newer",
		    "%s is a record of version %d, this reeve knows versions up to "
		    "%d: use the newer reeve that made it; nothing was changed",
		    store->path, (int)found, steps->count);
	*version = (int)found;
	return RV_OK;
}

/* Steps from + 1 ... to, each with its version, all in one transaction. */
static enum rv_err run_steps(struct rv_store *store, const struct rv_store_steps *steps, int from,
			     struct rv_error *error)
{
	enum rv_err err = rv_store_sql_exec(store, "BEGIN IMMEDIATE", error);

	for (int n = from + 1; err == RV_OK && n <= steps->count; n++)
		err = rv_store_sql_exec(store, steps->sql[n - 1], error);
	if (err == RV_OK) {
		char sql[64];
		snprintf(sql, sizeof sql, "PRAGMA user_version = %d", steps->count);
		err = rv_store_sql_exec(store, sql, error);
	}
	if (err == RV_OK)
		err = rv_store_sql_exec(store, "COMMIT", error);
	if (err != RV_OK)
		sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
	return err;
}

static enum rv_err fill_new(struct rv_store *store, const struct rv_store_steps *steps,
			    struct rv_error *error)
{
	char sql[200];

	/* Page size and vacuum must be said before the first table. */
	snprintf(sql, sizeof sql,
		 "PRAGMA page_size = 4096; PRAGMA auto_vacuum = INCREMENTAL;"
		 "PRAGMA synchronous = FULL; PRAGMA application_id = %d",
		 RV_STORE_APPLICATION);
	enum rv_err err = rv_store_sql_exec(store, sql, error);
	if (err == RV_OK)
		err = run_steps(store, steps, 0, error);
	if (err == RV_OK)
		err = rv_store_sql_run(
		    store, error,
		    "INSERT INTO record(id, made_us, made_by) "
		    "VALUES(1, CAST(strftime('%s', 'now') AS INTEGER) * 1000000, ?)",
		    "t", "reeve " RV_VERSION);
	return err;
}

/* The first free name: PATH followed by end, with -2, -3, ... where that is taken. */
static enum rv_err free_name(const char *path, const char *end, char *name, size_t size,
			     struct rv_error *error)
{
	for (int n = 1; n <= COPIES; n++) {
		char tail[8] = "";
		if (n > 1)
			snprintf(tail, sizeof tail, "-%d", n);
		if (snprintf(name, size, "%s%s%s", path, end, tail) >= (int)size)
			return rv_err_set(error, RV_ERR_RANGE,
					  "the path of the record is too long");
		if (access(name, F_OK) != 0)
			return RV_OK;
	}
	return rv_err_set(error, RV_ERR_SYSTEM, "%s%s: too many of them there; move them away",
			  path, end);
}

/* A log left behind by a record that was deleted would be read into the new one, and ruin it.  It
 * may hold the last readings of the old one: it is put aside, not deleted. */
static enum rv_err put_log_aside(const char *path, struct rv_error *error)
{
	char log[RV_PATH_SIZE + 8], aside[RV_PATH_SIZE + 32];

	snprintf(log, sizeof log, "%s-shm", path);
	unlink(log);
	snprintf(log, sizeof log, "%s-wal", path);
	if (access(log, F_OK) != 0)
		return RV_OK;
	enum rv_err err = free_name(path, "-wal.left", aside, sizeof aside, error);
	if (err == RV_OK && rename(log, aside) != 0)
		err = rv_err_set(error, RV_ERR_SYSTEM, "cannot move %s away: %m", log);
	return err;
}

static enum rv_err make_empty_file(const char *path, struct rv_error *error)
{
	int file = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, MODE);

	if (file < 0) {
		int why = errno;
		enum rv_err err =
		    rv_err_set(error, RV_ERR_SYSTEM, "cannot make the record %s: %m", path);
		if (error)
			error->sys_errno = why;
		return err;
	}
	close(file);
	return RV_OK;
}

enum rv_err rv_store_migrate_make(const char *path, const struct rv_store_steps *steps,
				  struct rv_error *error)
{
	struct rv_store store = {.lock = -1};

	if (snprintf(store.path, sizeof store.path, "%s.making", path) >= (int)sizeof store.path)
		return rv_err_set(error, RV_ERR_RANGE, "the path of the record is too long");
	/* The writer's lock is held: what is left of this name is half a record of a start that
	 * was cut off. */
	unlink(store.path);
	enum rv_err err = put_log_aside(path, error);
	if (err == RV_OK)
		err = make_empty_file(store.path, error);
	if (err != RV_OK)
		return err;
	if (sqlite3_open_v2(store.path, &store.db, SQLITE_OPEN_READWRITE, NULL) == SQLITE_OK)
		err = fill_new(&store, steps, error);
	else
		err = rv_store_sql_fail(&store, "make it", error);
	rv_store_sql_forget(&store);
	if (sqlite3_close(store.db) != SQLITE_OK && err == RV_OK)
		err = rv_err_set(error, RV_ERR_STORE, "%s: cannot be closed", store.path);
	if (err == RV_OK && rename(store.path, path) != 0)
		err = rv_err_set(error, RV_ERR_SYSTEM, "cannot make the record %s: %m", path);
	if (err != RV_OK)
		unlink(store.path);
	return err;
}

/* A whole copy under its final name, or none. */
static enum rv_err write_copy(struct rv_store *store, int version, struct rv_error *error)
{
	char copy[RV_PATH_SIZE + 32], making[RV_PATH_SIZE + 32], end[24];

	snprintf(end, sizeof end, ".before-%d", version);
	enum rv_err err = free_name(store->path, end, copy, sizeof copy, error);

	if (err != RV_OK)
		return err;
	snprintf(making, sizeof making, "%s.copying", store->path);
	unlink(making);
	err = make_empty_file(making, error);
	if (err == RV_OK)
		err = rv_store_sql_run(store, error, "VACUUM INTO ?", "t", making);
	if (err == RV_OK && rename(making, copy) != 0)
		err = rv_err_set(error, RV_ERR_SYSTEM, "cannot write the copy %s: %m", copy);
	if (err != RV_OK)
		unlink(making);
	return err;
}

enum rv_err rv_store_migrate_upgrade(struct rv_store *store, const struct rv_store_steps *steps,
				     int version, struct rv_error *error)
{
	if (version == steps->count)
		return RV_OK;
	enum rv_err err = write_copy(store, version, error);
	if (err != RV_OK)
		return err;
	rv_store_sql_forget(store);
	return run_steps(store, steps, version, error);
}
