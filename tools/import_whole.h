/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The metadata.json that `reeve export` wrote beside a table: what the table itself does not hold of
 * its run (schema/export_run), for bringing the run in again whole.
 */
#ifndef RV_TOOLS_IMPORT_WHOLE_H
#define RV_TOOLS_IMPORT_WHOLE_H

#include <jansson.h>
#include <stdint.h>

#include "core/station.h"
#include "schema/store.h"

struct rv_import_whole {
	json_t *run; /* owned; NULL = there is none */
	int64_t start_us, end_us; /* UTC */
	const char *name, *notes, *rig; /* the run's; rig NULL = without one */
	struct rv_store_mark *marks; /* owned; times UTC */
	size_t mark_count;
};

/* Looks for DIR/metadata.json beside the table, and in it for a run whose table this is.  run stays
 * NULL where there is none; RV_ERR_SYNTAX where there is one that cannot be used.  path: of that file,
 * for messages. */
enum rv_err rv_import_whole_find(const char *table, struct rv_import_whole *whole,
				 char path[RV_PATH_SIZE], struct rv_error *error);

/* The station as the run held it; *text, a station file, is the caller's to free. */
enum rv_err rv_import_whole_station(const struct rv_import_whole *whole,
				    struct rv_station *station, char **text,
				    struct rv_error *error);

void rv_import_whole_free(struct rv_import_whole *whole);

#endif
