/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The live snapshot as JSON, as clients read it.  SI units; null where there is no value.
 */
#ifndef RV_DAEMON_LIVE_JSON_H
#define RV_DAEMON_LIVE_JSON_H

#include "core/json.h"
#include "core/station.h"
#include "daemon/ground.h"
#include "daemon/live.h"

/* The whole snapshot; ground may be NULL (no rig).  A new reference, or NULL when memory is
 * refused. */
json_t *rv_live_json(const struct rv_live *live, const struct rv_station *station,
		     const struct rv_ground *ground);

/* The snapshot's alarms alone.  Each also says "data" (it tells of lost data, not of load) and
 * "about": "limit" (a declared limit of a part or of a tension), "other" (another declared rule) or
 * "always" (watched undeclared). */
json_t *rv_live_json_alarms(const struct rv_live *live, const struct rv_station *station);

/* The words for state and data: "normal", "warning", "danger"; "all", "some", "none". */
const char *rv_live_json_state(enum rv_danger state);
const char *rv_live_json_data(enum rv_data data);

#endif
