/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a station and its rig are, as text for people.
 *
 * Forces are in the station's one unit; where a rating was stamped as a mass (kg, t, lb) the text
 * says so.  What is not rated is listed as not watched, never passed over.
 */
#ifndef RV_CORE_DESCRIBE_H
#define RV_CORE_DESCRIBE_H

#include "core/describe_rig.h"
#include "core/station.h"

/* Adds the whole: station, devices, channels, alarms, outputs, the rig and the notes.
 * rig: NULL = none.  today: ISO date, for calibrations past their due date; NULL = not known. */
void rv_describe_station(const struct rv_station *station, const struct rv_rig *rig,
			 const char *today, struct rv_text *text);

#endif
