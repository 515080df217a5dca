/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What can be read: alarms, devices, and the runs in the record.
 */
#ifndef RV_DAEMON_API_READ_H
#define RV_DAEMON_API_READ_H

#include "daemon/api_call.h"

json_t *rv_api_read_alarms(struct rv_api_call *call);
json_t *rv_api_read_devices(struct rv_api_call *call);
json_t *rv_api_read_runs(struct rv_api_call *call);
json_t *rv_api_read_run(struct rv_api_call *call);

#endif
