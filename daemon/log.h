/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines on standard error that name the culprit.  Under a service manager that reads them (it sets
 * JOURNAL_STREAM) each line starts with its priority in the form of sd-daemon(3).
 */
#ifndef RV_DAEMON_LOG_H
#define RV_DAEMON_LOG_H

#include <stdint.h>

#include "core/err.h"

enum rv_log_level {
	RV_LOG_ERROR = 3,
	RV_LOG_WARNING = 4,
	RV_LOG_NOTICE = 5,
	RV_LOG_INFO = 6,
	RV_LOG_DEBUG = 7
};

/* From now on a thread of its own writes the lines: whoever logs never waits for a terminal, a pipe
 * or a disk that takes nothing.  What it has no room for is left out, counted and told of.  Where no
 * thread can be had, lines are written at once as before. */
void rv_log_start(void);

/* Waits a second at most until what was said is written, then writes at once again. */
void rv_log_stop(void);

/* Lines above this level are left out.  Once, before any thread is started. */
void rv_log_up_to(enum rv_log_level level);

/* culprit: "device", "config", "system", "record", "page", "bug". */
void rv_log(enum rv_log_level level, const char *culprit, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* "FILE:LINE:COLUMN: text", leaving out the place when there is none. */
void rv_log_error(const char *culprit, const char *file, const struct rv_error *error);

/* Lets one line through each period and counts the rest. */
struct rv_log_limit {
	int64_t period_ns;
	int64_t last_ns; /* 0 = never */
	unsigned held_back;
};

/* True if a line may be written now; then *held_back says how many were not since the last. */
bool rv_log_allowed(struct rv_log_limit *limit, int64_t mono_ns, unsigned *held_back);

#endif
