/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Instants as people and files write them: ISO 8601, UTC, milliseconds, closing Z.
 */
#ifndef RV_CORE_UTC_H
#define RV_CORE_UTC_H

#include <stdint.h>

#include "core/err.h"

/* Size of such a text with its closing zero, for any year from 0 to 9999. */
enum { RV_UTC_SIZE = 32 };

/* "2026-11-25T10:21:00.125Z" of microseconds since 1970-01-01 UTC; parts of a millisecond are cut
 * off.  Proleptic Gregorian calendar.  An instant outside the years 0 to 9999 gives "". */
void rv_utc_text(int64_t utc_us, char text[RV_UTC_SIZE]);

/* The whole of an ISO 8601 date and time in its extended form: 2026-11-25T10:21:00Z, a blank in place
 * of T, seconds with any number of decimals behind a point or a comma (rounded to microseconds), an
 * offset such as +01:00 or +0100 in place of Z.  *has_zone false: neither was there, and the time is
 * read as if it were UTC.  A leap second is the second that follows it.  RV_ERR_SYNTAX: another form.
 * RV_ERR_RANGE: no such date or time. */
enum rv_err rv_utc_read(const char *text, int64_t *utc_us, bool *has_zone);

#endif
