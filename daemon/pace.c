/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/pace.h"

#include <limits.h>

void rv_pace_init(struct rv_pace *pace, double every_s, int64_t now_ns)
{
	*pace = (struct rv_pace){.every_ns = (int64_t)(every_s * 1e9), .due_ns = now_ns};
	if (pace->every_ns < 1)
		pace->every_ns = 1;
}

int rv_pace_take(struct rv_pace *pace, int64_t now_ns)
{
	if (now_ns < pace->due_ns)
		return -1;
	int64_t passed = (now_ns - pace->due_ns) / pace->every_ns;
	pace->due_ns += (passed + 1) * pace->every_ns;
	return passed < INT_MAX ? (int)passed : INT_MAX;
}
