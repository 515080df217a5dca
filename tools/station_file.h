/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A station file from disk, for an import: without devices, with the calibrations it names.
 */
#ifndef RV_TOOLS_STATION_FILE_H
#define RV_TOOLS_STATION_FILE_H

#include "core/station.h"

/* text: the file, closed by a zero byte, the caller's to free.  Errors have the place in the file. */
enum rv_err rv_station_file_read(const char *path, struct rv_station *station, char **text,
				 struct rv_error *error);

/* A path that the station names, as seen from its folder.  RV_ERR_RANGE: too long. */
enum rv_err rv_station_file_beside(const char *station_path, const char *path,
				   char full[RV_PATH_SIZE], struct rv_error *error);

#endif
