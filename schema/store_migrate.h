/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Versions of the record.  Version n is reached by running steps 1 to n in order, each one whole or
 * not at all.  A step, once released, is never edited.
 */
#ifndef RV_SCHEMA_STORE_MIGRATE_H
#define RV_SCHEMA_STORE_MIGRATE_H

#include "schema/store.h"

struct rv_store_steps {
	int count;		/* the newest version */
	const char *const *sql; /* sql[n - 1] leads from version n - 1 to n */
};

/* The steps of this reeve. */
extern const struct rv_store_steps rv_store_steps;

/* The version a record has.  RV_ERR_REFUSED "foreign", "newer", "damaged". */
enum rv_err rv_store_migrate_version(struct rv_store *store, const struct rv_store_steps *steps,
				     int *version, struct rv_error *error);

/* Makes a new record at path, which must not exist: built under another name, then renamed, so that
 * there is never half a record. */
enum rv_err rv_store_migrate_make(const char *path, const struct rv_store_steps *steps,
				  struct rv_error *error);

/* Brings an open record up to date after writing a copy of it to PATH.before-VERSION (with -2, -3
 * behind where that name is taken). */
enum rv_err rv_store_migrate_upgrade(struct rv_store *store, const struct rv_store_steps *steps,
				     int version, struct rv_error *error);

/* rv_store_open_writer with other steps, for tests. */
enum rv_err rv_store_open_writer_with(const char *path, const struct rv_store_steps *steps,
				      struct rv_store **store, struct rv_error *error);

#endif
