/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Times as people read them: local, with the offset from UTC.
 */
#ifndef RV_TOOLS_WHEN_H
#define RV_TOOLS_WHEN_H

#include <stdint.h>

enum { RV_WHEN_SIZE = 48 };

/* "2026-01-05 09:00:00 +0100" of microseconds since 1970-01-01 UTC. */
void rv_when_local(int64_t utc_us, char text[RV_WHEN_SIZE]);

/* "2026-01-05": today in local time. */
void rv_when_today(char text[RV_WHEN_SIZE]);

/* "12.3 s", "4 min 05 s", "2 h 03 min". */
void rv_when_lasted(double seconds, char text[RV_WHEN_SIZE]);

#endif
