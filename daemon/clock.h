/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The only reader of clocks.  Differences are taken with CLOCK_BOOTTIME, which no one can set and
 * which goes on through a suspend.  Row time (t_us) is that clock plus an offset fixed once at
 * start, so it never steps back or jumps while the daemon runs, whatever is done to the wall clock.
 */
#ifndef RV_DAEMON_CLOCK_H
#define RV_DAEMON_CLOCK_H

#include <stdint.h>

#include "core/err.h"

int64_t rv_clock_mono_ns(void);
int64_t rv_clock_utc_us(void); /* CLOCK_REALTIME now */

/* Fixes the offset of row time: the wall clock now, or newest_us + 1 s if the wall clock is behind
 * the newest row of the record, reading or not (newest_us = 0 for an empty record).  Once, before any thread
 * is started. */
void rv_clock_fix(int64_t newest_us);

/* Row time of an instant of the monotonic clock. */
int64_t rv_clock_row_us(int64_t mono_ns);

/* UTC of an instant, by the wall clock as it stands now. */
int64_t rv_clock_mono_to_utc_us(int64_t mono_ns);

/* The kernel says the wall clock is being disciplined (adjtimex: not unsynchronised). */
bool rv_clock_is_trusted(void);

/* Identifies this boot of the machine; 36 letters. */
const char *rv_clock_boot(void);

/* Identifies this start of the daemon: the page learns its clock anew when it changes. */
const char *rv_clock_start(void);

/* The same instant for pthread_cond_timedwait, on a condition variable made with CLOCK_MONOTONIC
 * (none can be made with CLOCK_BOOTTIME).  After a suspend the wait ends too late by its length, at
 * most an hour: look at the clock again after each wake-up. */
struct timespec;
void rv_clock_wait_time(int64_t mono_ns, struct timespec *until);

/* Sleeps until the monotonic clock reaches mono_ns. */
void rv_clock_sleep_until(int64_t mono_ns);

#endif
