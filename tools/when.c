/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/when.h"

#include <stdio.h>
#include <time.h>

void rv_when_local(int64_t utc_us, char text[RV_WHEN_SIZE])
{
	time_t seconds = (time_t)(utc_us / 1000000);
	struct tm local;

	text[0] = '\0';
	if (localtime_r(&seconds, &local))
		strftime(text, RV_WHEN_SIZE, "%Y-%m-%d %H:%M:%S %z", &local);
}

void rv_when_today(char text[RV_WHEN_SIZE])
{
	time_t seconds = time(NULL);
	struct tm local;

	text[0] = '\0';
	if (localtime_r(&seconds, &local))
		strftime(text, RV_WHEN_SIZE, "%Y-%m-%d", &local);
}

void rv_when_lasted(double seconds, char text[RV_WHEN_SIZE])
{
	long long whole = (long long)(seconds + 0.5);

	if (seconds < 59.95)
		snprintf(text, RV_WHEN_SIZE, "%.1f s", seconds);
	else if (whole < 3600)
		snprintf(text, RV_WHEN_SIZE, "%lld min %02lld s", whole / 60, whole % 60);
	else
		snprintf(text, RV_WHEN_SIZE, "%lld h %02lld min", whole / 3600, whole / 60 % 60);
}
