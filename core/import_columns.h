/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The columns of a recording made elsewhere, matched with the channels of a station.
 *
 *   time_s                      seconds
 *   time, time_utc              ISO 8601
 *   NAME_n NAME_m NAME          one for each channel: force in N, length in m, any other unit
 *   channel, value [, unit]     a row for each reading instead (tidy)
 * What is called otherwise is mapped: HEADER=CHANNEL unit.
 */
#ifndef RV_CORE_IMPORT_COLUMNS_H
#define RV_CORE_IMPORT_COLUMNS_H

#include "core/csv.h"
#include "core/station.h"

enum { RV_IMPORT_MAPS = 64, RV_IMPORT_HINT = 160 };

/* One --map, split. */
struct rv_import_map {
	char header[2 * RV_NAME_SIZE];
	char channel[RV_NAME_SIZE];
	char unit[RV_NAME_SIZE]; /* "" = the channel's own SI unit */
};

/* "HEADER=CHANNEL unit".  The last = that leaves a channel of the station counts, so a header may hold
 * one.  RV_ERR_SYNTAX, RV_ERR_UNKNOWN (no such channel; names what is nearest). */
enum rv_err rv_import_map_read(const char *text, const struct rv_station *station,
			       struct rv_import_map *map, struct rv_error *error);

struct rv_import_columns {
	int time_s, time_utc;		 /* columns, -1 = none; one of them is there */
	int channel, value, unit;	 /* tidy; -1 = the table is wide */
	int column_of[RV_CHANNELS];	 /* wide: of each channel of the station, -1 = none */
	double factor[RV_CHANNELS];	 /* number in the file -> SI, or the channel's own unit */
	int used;			 /* channels that have a column; tidy: all */
};

/* What to add where `word` is none of the station's channels: the nearest one, or "". */
const char *rv_import_columns_hint(const struct rv_station *station, const char *word,
				   char hint[RV_IMPORT_HINT]);

/* From the first row.  RV_ERR_UNKNOWN: a column that nothing is known of, with line, column, what
 * is nearest, and the names of the others.  RV_ERR_MISSING: no time, or no channel. */
enum rv_err rv_import_columns_match(const struct rv_csv_row *head, const struct rv_station *station,
				    const struct rv_import_map *maps, int count,
				    struct rv_import_columns *columns, struct rv_error *error);

#endif
