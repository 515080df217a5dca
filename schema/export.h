/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A run as a table of text, for other programs: CSV after RFC 4180 (comma, CR LF, quotes only where
 * needed, UTF-8, a header line), and the description that goes with it after "Metadata Vocabulary
 * for Tabular Data" (W3C Recommendation, 17 December 2015; structure from memory, not re-read).
 *
 * wide: time_s, time_utc, one column for each channel; one line for each instant; empty = no
 * reading.  tidy: time_s, time_utc, channel, value, unit; one line for each reading.
 * Columns: NAME_n in newtons, NAME_m in metres, NAME in the channel's own unit.
 * time_s: from the run's start, 6 decimals, made from whole microseconds.  Numbers come back the same
 * when read as doubles.
 */
#ifndef RV_SCHEMA_EXPORT_H
#define RV_SCHEMA_EXPORT_H

#include <jansson.h>

#include "schema/store.h"

enum rv_export_shape { RV_EXPORT_WIDE, RV_EXPORT_TIDY };

/* Takes len bytes; false: it cannot, stop. */
struct rv_export_sink {
	bool (*write)(void *to, const char *bytes, size_t len);
	void *to;
};

/* The whole run, to its newest reading while it is open.  RV_ERR_REFUSED "columns_alike": two
 * channels would get one header.  RV_ERR_CLOSED: the sink said stop. */
enum rv_err rv_export_csv(struct rv_store *store, int64_t number, enum rv_export_shape shape,
			  const struct rv_export_sink *sink, struct rv_error *error);

/* Describes the table `url` that rv_export_csv wrote of that run in that shape; its note {"run"} holds
 * what schema/export_run says, so that the two files bring the whole run in again. */
enum rv_err rv_export_metadata(struct rv_store *store, int64_t number, enum rv_export_shape shape,
			       const char *url, json_t **metadata, struct rv_error *error);

#endif
