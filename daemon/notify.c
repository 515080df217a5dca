/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/notify.h"

#include <systemd/sd-daemon.h>

void rv_notify_ready(const char *status)
{
	sd_notifyf(0, "READY=1\nSTATUS=%s", status);
}

void rv_notify_alive(void)
{
	sd_notify(0, "WATCHDOG=1");
}

void rv_notify_stopping(void)
{
	sd_notify(0, "STOPPING=1");
}

int64_t rv_notify_interval_ns(void)
{
	uint64_t period_us = 0;

	if (sd_watchdog_enabled(0, &period_us) <= 0)
		return 0;
	return (int64_t)period_us * 1000 / 2;
}
