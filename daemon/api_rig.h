/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig on the ground as JSON: its text, and what a page needs to draw it and name its parts.
 */
#ifndef RV_DAEMON_API_RIG_H
#define RV_DAEMON_API_RIG_H

#include "core/json.h"
#include "core/station.h"
#include "daemon/ground.h"

/* {"name","number","text","haul","why",
 *  "paths":[{"line","winch","steps":[{"kind":"winch"|"block"|"point"|"tail","name","moves",
 *                                     "floats","sheave","sheaves","with":[names]}],
 *            "legs":[{"leg","from","to","length_m"}]}],
 *  "cells":[{"name","line","leg","holds"}],
 *  "components":[{"name","kind","limit_n"}], "not_rated":[names],
 *  "warning_ratio"}
 * Paths begin at the winch where one is.  "moves": it moves with the load or
 * floats.  "sheave": of the block, from 1; 0 where it is not run over.  "with": other blocks at the
 * same point.  "why": the reason when
 * the rig cannot be solved, else null; legs and components are then empty.  "warning_ratio": the
 * lowest share of a limit that the station's alarms warn at, or null.  A new reference. */
json_t *rv_api_rig_json(const struct rv_ground *ground, int number,
			const struct rv_station *station);

#endif
