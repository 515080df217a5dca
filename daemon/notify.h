/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the service manager is told: sd_notify(3).  Without one these calls do nothing.
 */
#ifndef RV_DAEMON_NOTIFY_H
#define RV_DAEMON_NOTIFY_H

#include <stdint.h>

void rv_notify_ready(const char *status);
void rv_notify_alive(void);
void rv_notify_stopping(void);

/* Half the watchdog's period, or 0 when nobody watches. */
int64_t rv_notify_interval_ns(void);

#endif
