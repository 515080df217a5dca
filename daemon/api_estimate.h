/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The estimate of a run, worked out from the record when it is asked for, and pulls that a person
 * strikes.  Both look through the whole run: on a worker's thread, with a reading store of their own
 * and a limit in time.
 */
#ifndef RV_DAEMON_API_ESTIMATE_H
#define RV_DAEMON_API_ESTIMATE_H

#include "daemon/api_call.h"

/* Takes cells=NEAR,FAR motion=SOURCE line_speed=MPS excess=LO,HI as `reeve estimate` does.  A refusal
 * of the estimate is an answer. */
json_t *rv_api_estimate_read(struct rv_api_call *call);

/* Body {"reason": text | null, "start_s"}: strikes pull K, or takes that back with null.  start_s: the
 * pull as its sender saw it; refuses with "stale" where pull K begins elsewhere by now. */
json_t *rv_api_estimate_strike(struct rv_api_call *call);

#endif
