/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Instants as people and files write them: ISO 8601, UTC, milliseconds, closing Z.
 */
#ifndef RV_CORE_UTC_H
#define RV_CORE_UTC_H

#include <stdint.h>

/* Size of such a text with its closing zero, for any year from 0 to 9999. */
enum { RV_UTC_SIZE = 32 };

/* "2026-11-25T10:21:00.125Z" of microseconds since 1970-01-01 UTC; parts of a millisecond are cut
 * off.  Proleptic Gregorian calendar.  An instant outside the years 0 to 9999 gives "". */
void rv_utc_text(int64_t utc_us, char text[RV_UTC_SIZE]);

#endif
