/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plans on request: what a rig would do, without changing anything.
 */
#ifndef RV_DAEMON_API_PLAN_H
#define RV_DAEMON_API_PLAN_H

#include "core/plan.h"
#include "daemon/api_call.h"

/* {"rig": text, "line_pull_n", "resist_n", "cell_n", "travel_m"}, all optional; without "rig" the one
 * on the ground.  A force is a number where the rig has one such thing, else {NAME: number}; a cell
 * always has its name.  Answers as reeve plan --json. */
json_t *rv_api_plan(struct rv_api_call *call);

/* The plan of a rig with the forces it gives itself.  On failure *error has its place in the rig. */
enum rv_err rv_api_plan_make(const struct rv_rig *rig, struct rv_plan **plan,
			     struct rv_error *error);

#endif
