/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A station against the rig on the ground.
 *
 * A station may name cells and winches that the rig lacks: such channels are shown, logged and
 * alarmed, never compared.  What would leave something unwatched or undecided is an error.
 */
#ifndef RV_CORE_STATION_CHECK_H
#define RV_CORE_STATION_CHECK_H

#include "core/rig.h"
#include "core/station.h"

/* Refuses (tag winch_unsaid) payout, turns and switch channels that name no winch where the rig
 * has several, and (load_unsaid) travel channels likewise.  Line: of the channel in the station file. */
enum rv_err rv_station_check_rig(const struct rv_station *station, const struct rv_rig *rig,
				 struct rv_error *error);

/* Refuses (tag name_unknown) an alarm on a component that the rig does not have, and offers the
 * nearest.  For the rig that the station itself names; another rig may come by the page. */
enum rv_err rv_station_check_alarms(const struct rv_station *station, const struct rv_rig *rig,
				    struct rv_error *error);

/* True if the rig has a part of that name: a point, block, "BLOCK becket", line, "LINE at POINT",
 * winch or fitting. */
bool rv_station_check_part(const struct rv_rig *rig, const char *name);

#endif
