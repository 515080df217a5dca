/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/log.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

static enum rv_log_level loudest = RV_LOG_INFO;

void rv_log_up_to(enum rv_log_level level)
{
	loudest = level;
}

void rv_log(enum rv_log_level level, const char *culprit, const char *format, ...)
{
	char text[1024];
	va_list args;

	if (level > loudest)
		return;
	va_start(args, format);
	vsnprintf(text, sizeof text, format, args);
	va_end(args);
	/* One call writes one line, so that threads do not mix theirs. */
	if (getenv("JOURNAL_STREAM"))
		fprintf(stderr, "<%d>%s: %s\n", (int)level, culprit, text);
	else
		fprintf(stderr, "reeved: %s: %s\n", culprit, text);
}

void rv_log_error(const char *culprit, const char *file, const struct rv_error *error)
{
	if (error->line > 0)
		rv_log(RV_LOG_ERROR, culprit, "%s:%d:%d: %s", file, error->line, error->column,
		       error->text);
	else if (file)
		rv_log(RV_LOG_ERROR, culprit, "%s: %s", file, error->text);
	else
		rv_log(RV_LOG_ERROR, culprit, "%s", error->text);
}

bool rv_log_allowed(struct rv_log_limit *limit, int64_t mono_ns, unsigned *held_back)
{
	if (limit->last_ns != 0 && mono_ns - limit->last_ns < limit->period_ns) {
		limit->held_back++;
		return false;
	}
	*held_back = limit->held_back;
	limit->held_back = 0;
	limit->last_ns = mono_ns;
	return true;
}
