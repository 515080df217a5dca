/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Opening and closing the record.
 *
 * The live file, its -wal and its -shm are never opened by any other descriptor of this process:
 * closing one would drop all of SQLite's locks on it (SQLite documentation, "How To Corrupt An
 * SQLite Database File", section 2.2).  The writer's own lock is therefore a file of its own,
 * PATH.lock.
 */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "schema/store_migrate.h"
#include "schema/store_sql.h"

enum {
	MODE = 0640,
	BUSY_MS = 2000,
	READER_BUSY_MS = 1000,
	/* A file up to this size is looked through at start; reading a larger one would hold up the
	 * start by seconds. */
	LOOK_THROUGH_BYTES = 64 * 1024 * 1024,
};

/* The path without symbolic links, so that two names of one record meet in one lock. */
static enum rv_err resolve(const char *path, char *to, size_t size, struct rv_error *error)
{
	char folder[RV_PATH_SIZE];
	const char *slash = strrchr(path, '/');
	char *found = realpath(path, NULL);
	int len;

	if (found) {
		len = snprintf(to, size, "%s", found);
	} else {
		snprintf(folder, sizeof folder, "%.*s", slash ? (int)(slash - path) + 1 : 1,
			 slash ? path : ".");
		found = realpath(folder, NULL);
		if (!found)
			return rv_err_set(error, RV_ERR_SYSTEM,
					  "%s: no folder for the record %s: %m", folder, path);
		len = snprintf(to, size, "%s/%s", found, slash ? slash + 1 : path);
	}
	free(found);
	/* -wal, .lock and the names of copies must fit behind it. */
	if (len < 0 || (size_t)len + 32 > size)
		return rv_err_set(error, RV_ERR_RANGE, "the path of the record is too long");
	return RV_OK;
}

static enum rv_err take_lock(struct rv_store *store, struct rv_error *error)
{
	char path[RV_PATH_SIZE + 8];

	snprintf(path, sizeof path, "%s.lock", store->path);
	store->lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC, MODE);
	if (store->lock < 0) {
		int why = errno;
		enum rv_err err = rv_err_set(error, RV_ERR_SYSTEM,
					     "cannot write beside the record: %s: %m", path);
		if (error)
			error->sys_errno = why;
		return err;
	}
	if (flock(store->lock, LOCK_EX | LOCK_NB) == 0)
		return RV_OK;
	return rv_err_set(error, RV_ERR_BUSY,
			  "%s is being written by another program (it holds %s): one at a time",
			  store->path, path);
}

static enum rv_err refuse_damaged(const struct rv_store *store, const char *what,
				  struct rv_error *error)
{
	return rv_err_refuse(
	    error, "damaged",
	    "%s is damaged (%.120s); nothing was changed. Move it, its -wal and its "
	    "-shm away together to begin a new record; sqlite3's .recover may save "
	    "what is in it",
	    store->path, what);
}

/* What SQLite calls damage, in words that help. */
static enum rv_err damage(struct rv_store *store, enum rv_err err, struct rv_error *error)
{
	int code = sqlite3_errcode(store->db);

	if (code == SQLITE_CORRUPT || code == SQLITE_NOTADB)
		return refuse_damaged(store, sqlite3_errmsg(store->db), error);
	return err;
}

static enum rv_err look_through(struct rv_store *store, off_t bytes, struct rv_error *error)
{
	sqlite3_stmt *statement = NULL;
	int64_t newest = 0;
	char answer[160] = "";
	enum rv_err err = rv_store_sql_number(
	    store, 0, &newest, error,
	    "SELECT (SELECT max(t_us) FROM narrow) + (SELECT max(t_us) FROM wide)"
	    "+ (SELECT count(*) FROM run) + (SELECT max(id) FROM conversion)",
	    "");

	if (err != RV_OK || bytes > LOOK_THROUGH_BYTES)
		return err == RV_OK ? RV_OK : damage(store, err, error);
	err = rv_store_sql_query(store, &statement, error, "PRAGMA quick_check(1)", "");
	if (err == RV_OK)
		err = rv_store_sql_step(store, statement, error);
	if (err != RV_OK)
		return damage(store, err, error);
	rv_store_sql_text(statement, 0, answer, sizeof answer);
	sqlite3_reset(statement);
	return strcmp(answer, "ok") == 0 ? RV_OK : refuse_damaged(store, answer, error);
}

static void harden(struct rv_store *store, bool writes)
{
	int was;

	sqlite3_extended_result_codes(store->db, 1);
	sqlite3_db_config(store->db, SQLITE_DBCONFIG_DEFENSIVE, 1, &was);
	sqlite3_db_config(store->db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, &was);
	sqlite3_db_config(store->db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, &was);
	sqlite3_db_config(store->db, SQLITE_DBCONFIG_ENABLE_LOAD_EXTENSION, 0, &was);
	/* A reader that is the last to leave must not write the log into the file: the one writing
	 * connection alone does that. */
	sqlite3_db_config(store->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, !writes, &was);
	sqlite3_busy_timeout(store->db, writes ? BUSY_MS : READER_BUSY_MS);
}

static int note_log(void *to, sqlite3 *db, const char *name, int pages)
{
	struct rv_store *store = to;

	(void)db;
	(void)name;
	store->log_pages = pages;
	return SQLITE_OK;
}

static enum rv_err set_up_writer(struct rv_store *store, struct rv_error *error)
{
	sqlite3_stmt *statement = NULL;
	char mode[16] = "";
	enum rv_err err =
	    rv_store_sql_query(store, &statement, error, "PRAGMA journal_mode = WAL", "");

	if (err == RV_OK)
		err = rv_store_sql_step(store, statement, error);
	if (err != RV_OK)
		return damage(store, err, error);
	rv_store_sql_text(statement, 0, mode, sizeof mode);
	rv_store_sql_forget(store);
	if (strcmp(mode, "wal") != 0)
		return rv_err_set(
		    error, RV_ERR_STORE,
		    "%s: this file system cannot hold a record (its journal stays '%s', "
		    "'wal' is needed): use a local disk",
		    store->path, mode);
	/* Checkpoints are our own, so that their errors are seen. */
	err = rv_store_sql_exec(store,
				"PRAGMA synchronous = FULL; PRAGMA wal_autocheckpoint = 0;"
				"PRAGMA journal_size_limit = 16777216; PRAGMA foreign_keys = 1;"
				"PRAGMA temp_store = MEMORY; PRAGMA cell_size_check = 1;"
				"PRAGMA mmap_size = 0",
				error);
	sqlite3_wal_hook(store->db, note_log, store);
	return err;
}

static struct rv_store *make_store(const char *path)
{
	struct rv_store *store = calloc(1, sizeof *store);

	if (!store)
		return NULL;
	store->lock = -1;
	store->utc.version = -1;
	snprintf(store->path, sizeof store->path, "%s", path);
	return store;
}

static void discard(struct rv_store *store)
{
	rv_store_sql_forget(store);
	sqlite3_close(store->db);
	if (store->lock >= 0)
		close(store->lock);
	free(store);
}

static enum rv_err check_file(const char *path, off_t *bytes, struct rv_error *error)
{
	struct stat file;

	if (stat(path, &file) != 0)
		return errno == ENOENT ? RV_ERR_MISSING
				       : rv_err_set(error, RV_ERR_SYSTEM, "%s: %m", path);
	if (!S_ISREG(file.st_mode))
		return rv_err_refuse(error, "foreign", "%s is no file", path);
	if (file.st_size == 0)
		return rv_err_refuse(
		    error, "damaged",
		    "%s is empty (0 bytes): no record. Nothing was changed; move it "
		    "away to begin a new record there",
		    path);
	*bytes = file.st_size;
	return RV_OK;
}

static enum rv_err open_writer(struct rv_store *store, const struct rv_store_steps *steps,
			       struct rv_error *error)
{
	off_t bytes = 0;
	int version = 0;
	enum rv_err err = take_lock(store, error);

	if (err == RV_OK)
		err = check_file(store->path, &bytes, error);
	if (err == RV_ERR_MISSING)
		err = rv_store_migrate_make(store->path, steps, error);
	if (err != RV_OK)
		return err;
	if (sqlite3_open_v2(store->path, &store->db,
			    SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_PRIVATECACHE,
			    NULL) != SQLITE_OK)
		return rv_store_sql_fail(store, "open it", error);
	harden(store, true);
	err = rv_store_migrate_version(store, steps, &version, error);
	if (err == RV_OK && sqlite3_db_readonly(store->db, "main"))
		err = rv_err_set(error, RV_ERR_SYSTEM, "%s may not be written", store->path);
	if (err == RV_OK)
		err = look_through(store, bytes, error);
	if (err == RV_OK)
		err = rv_store_migrate_upgrade(store, steps, version, error);
	if (err == RV_OK)
		err = set_up_writer(store, error);
	return err;
}

enum rv_err rv_store_open_writer_with(const char *path, const struct rv_store_steps *steps,
				      struct rv_store **store, struct rv_error *error)
{
	char resolved[RV_PATH_SIZE];
	enum rv_err err = resolve(path, resolved, sizeof resolved, error);

	if (err != RV_OK)
		return err;
	struct rv_store *made = make_store(resolved);
	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory to open the record");
	err = open_writer(made, steps, error);
	if (err == RV_OK)
		*store = made;
	else
		discard(made);
	return err;
}

enum rv_err rv_store_open_writer(const char *path, struct rv_store **store, struct rv_error *error)
{
	return rv_store_open_writer_with(path, &rv_store_steps, store, error);
}

/* On a medium that cannot be written SQLite cannot make the files a log needs.  Where there is no
 * log, nobody is writing, and the file can be taken as it lies. */
static enum rv_err open_immutable(struct rv_store *store, struct rv_error *error)
{
	char uri[3 * RV_PATH_SIZE + 32] = "file:", log[RV_PATH_SIZE + 8];
	size_t at = strlen(uri);

	snprintf(log, sizeof log, "%s-wal", store->path);
	if (access(log, F_OK) == 0)
		return rv_store_sql_fail(store, "open it", error);
	for (const char *c = store->path; *c; c++) {
		if (strchr("%?#", *c))
			at += (size_t)snprintf(uri + at, sizeof uri - at, "%%%02x", (unsigned)*c);
		else
			uri[at++] = *c;
	}
	snprintf(uri + at, sizeof uri - at, "?immutable=1");
	rv_store_sql_forget(store);
	sqlite3_close(store->db);
	store->db = NULL;
	if (sqlite3_open_v2(uri, &store->db,
			    SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_URI,
			    NULL) != SQLITE_OK)
		return rv_store_sql_fail(store, "open it", error);
	harden(store, false);
	return RV_OK;
}

static enum rv_err open_reader(struct rv_store *store, struct rv_error *error)
{
	off_t bytes = 0;
	int version = 0;
	enum rv_err err = check_file(store->path, &bytes, error);

	if (err == RV_ERR_MISSING)
		return rv_err_set(error, RV_ERR_MISSING, "there is no record %s", store->path);
	if (err != RV_OK)
		return err;
	if (sqlite3_open_v2(store->path, &store->db, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX,
			    NULL) != SQLITE_OK)
		return rv_store_sql_fail(store, "open it", error);
	harden(store, false);
	err = rv_store_migrate_version(store, &rv_store_steps, &version, error);
	if (err == RV_ERR_STORE && sqlite3_errcode(store->db) == SQLITE_CANTOPEN) {
		err = open_immutable(store, error);
		if (err == RV_OK)
			err = rv_store_migrate_version(store, &rv_store_steps, &version, error);
	}
	if (err == RV_OK && version < rv_store_steps.count)
		err = rv_err_refuse(
		    error, "older",
		    "%s is a record of version %d: start reeved on it once, it brings "
		    "it to version %d",
		    store->path, version, rv_store_steps.count);
	if (err == RV_OK)
		err =
		    rv_store_sql_exec(store, "PRAGMA query_only = 1; PRAGMA mmap_size = 0", error);
	return err;
}

enum rv_err rv_store_open_reader(const char *path, struct rv_store **store, struct rv_error *error)
{
	if (strlen(path) + 32 > RV_PATH_SIZE)
		return rv_err_set(error, RV_ERR_RANGE, "the path of the record is too long");
	struct rv_store *made = make_store(path);
	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory to open the record");
	enum rv_err err = open_reader(made, error);
	if (err == RV_OK)
		*store = made;
	else
		discard(made);
	return err;
}

const char *rv_store_path(const struct rv_store *store)
{
	return store->path;
}

void rv_store_close(struct rv_store *store)
{
	if (!store)
		return;
	/* What cannot be moved into the file stays in the log, where the next start finds it. */
	if (store->lock >= 0)
		(void)rv_store_checkpoint(store, true, NULL);
	discard(store);
}

enum rv_err rv_store_checkpoint(struct rv_store *store, bool whole, struct rv_error *error)
{
	int in_log = 0, moved = 0;
	int result = sqlite3_wal_checkpoint_v2(
	    store->db, NULL, whole ? SQLITE_CHECKPOINT_TRUNCATE : SQLITE_CHECKPOINT_PASSIVE,
	    &in_log, &moved);

	if (result != SQLITE_OK && result != SQLITE_BUSY)
		return rv_store_sql_fail(store, "move the log into the file", error);
	if (result == SQLITE_BUSY)
		return rv_err_set(error, RV_ERR_BUSY, "%s: a reader holds the log", store->path);
	store->log_pages = in_log - moved;
	return RV_OK;
}

int rv_store_log_pages(const struct rv_store *store)
{
	return store->log_pages;
}

bool rv_store_has_moved(struct rv_store *store)
{
	int moved = 0;

	return sqlite3_file_control(store->db, "main", SQLITE_FCNTL_HAS_MOVED, &moved) ==
		   SQLITE_OK &&
	       moved != 0;
}
