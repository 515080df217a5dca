/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a table of readings does not hold of a run, for the note in its metadata.json: enough to bring
 * the run in again as it was.
 *
 *   {"number", "name", "notes", "start_us", "end_us", "rig": text or null,
 *    "station": a station file without devices, "calibrations": {CHANNEL: {"name", "due", "inverse_error_n"}},
 *    "marks": [{"t_s", "text", "travel_m", "by_whom"}]}
 *
 * start_us, end_us: microseconds since 1970-01-01 UTC.  station: the channels as the run held them,
 * readings in SI, standard uncertainties; the value of a count where the instrument counts.
 */
#ifndef RV_SCHEMA_EXPORT_RUN_H
#define RV_SCHEMA_EXPORT_RUN_H

#include <jansson.h>

#include "schema/store.h"

/* A new reference; the caller lets go of it. */
enum rv_err rv_export_run_json(struct rv_store *store, const struct rv_store_run *run,
			       const struct rv_store_channels *channels, json_t **json,
			       struct rv_error *error);

#endif
