/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig on the ground: told, drawn, and changed for another.
 */
#ifndef RV_DAEMON_API_GROUND_H
#define RV_DAEMON_API_GROUND_H

#include "daemon/api_call.h"

/* As rv_api_rig_json, with "plan" (as reeve plan --json) or, where there is none, null and why in
 * "plan_refused". */
json_t *rv_api_ground_read(struct rv_api_call *call);

/* The drawing to scale, into call->svg; NULL. */
json_t *rv_api_ground_draw(struct rv_api_call *call);

/* {"rigs":[{"file","name","error"}],"more"}: rig files beside the station's own rig; name is what the
 * rig calls itself, error says what is wrong with a file.  None where the station names no rig. */
json_t *rv_api_ground_list(struct rv_api_call *call);

/* {"rig": text}, {"file": a name of the list} or {"own": true} (the station's own again).  Ends an
 * open run.  {"committed","number","name","why","ended_run",
 *  "cells":{"moved":[{"name","from","to"}],"gone":[names],"added":[names]},
 *  "alarms_without_part":[names]}.  why: the reason when nothing can be predicted. */
json_t *rv_api_ground_set(struct rv_api_call *call);

#endif
