/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The body of a change, with what its sender saw when he decided.
 */
#ifndef RV_DAEMON_API_SEEN_H
#define RV_DAEMON_API_SEEN_H

#include "daemon/api_call.h"

/* As rv_api_body_read; refuses with "stale" when the body's "seen" {"boot", "start", "run", "rig"} is
 * no longer so. */
enum rv_err rv_api_seen_body(struct rv_api_call *call, const char *const *keys, size_t count,
			     json_t **body);

#endif
