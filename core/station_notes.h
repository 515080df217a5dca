/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a person should know about a station though it is no error.
 */
#ifndef RV_CORE_STATION_NOTES_H
#define RV_CORE_STATION_NOTES_H

#include "core/rig.h"
#include "core/station.h"
#include "core/text.h"

/* Adds one line each, indented by two blanks: cells, winches, loads and alarm parts that the rig
 * lacks, cells without a channel, channels that read the same place, calibrations past their due
 * date or overridden, devices that nobody reads or writes.
 * rig: NULL = none.  today: ISO date, or NULL = not known.
 * Returns the number of lines. */
int rv_station_notes_add(const struct rv_station *station, const struct rv_rig *rig,
			 const char *today, struct rv_text *text);

#endif
