/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What can be wished: runs, marks, alarms seen.  Each waits until it is committed: {"committed":true},
 * or false with status 202 when the disk is slower than 5 s.
 */
#ifndef RV_DAEMON_API_WISH_H
#define RV_DAEMON_API_WISH_H

#include "daemon/api_call.h"

json_t *rv_api_wish_start_run(struct rv_api_call *call);
json_t *rv_api_wish_stop_run(struct rv_api_call *call);
json_t *rv_api_wish_mark(struct rv_api_call *call);
json_t *rv_api_wish_acknowledge(struct rv_api_call *call);
json_t *rv_api_wish_reset(struct rv_api_call *call);

#endif
