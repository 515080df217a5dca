/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/log.h"

#include <errno.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "daemon/clock.h"

enum { LINE_SIZE = 1080, LINES = 256 };

static const int64_t LAST_WAIT_NS = 1000000000;
static const int64_t NAP_NS = 5000000;

static enum rv_log_level loudest = RV_LOG_INFO;

/* What waits for the thread that writes. */
static struct {
	pthread_mutex_t lock;
	pthread_cond_t filled;
	bool runs; /* the thread writes, not the caller */
	int first, waiting;
	bool writing; /* a line is out of the queue and not yet written */
	unsigned left_out;
	char line[LINES][LINE_SIZE];
} queue = {.lock = PTHREAD_MUTEX_INITIALIZER, .filled = PTHREAD_COND_INITIALIZER};

void rv_log_up_to(enum rv_log_level level)
{
	loudest = level;
}

/* Takes the oldest line; after the last one, word of those there was no room for. */
static void next_line(char *line)
{
	pthread_mutex_lock(&queue.lock);
	queue.writing = false;
	while (queue.waiting == 0 && queue.left_out == 0)
		pthread_cond_wait(&queue.filled, &queue.lock);
	if (queue.waiting > 0) {
		memcpy(line, queue.line[queue.first], LINE_SIZE);
		queue.first = (queue.first + 1) % LINES;
		queue.waiting--;
	} else {
		snprintf(line, LINE_SIZE, "reeved: system: %u lines could not be written here\n",
			 queue.left_out);
		queue.left_out = 0;
	}
	queue.writing = true;
	pthread_mutex_unlock(&queue.lock);
}

/* By write(2): stuck in a stream it would hold that stream's lock, and who leaves by exit would
 * wait for it. */
static void put_out(const char *line)
{
	size_t len = strlen(line);

	while (len > 0) {
		ssize_t done = write(STDERR_FILENO, line, len);
		if (done <= 0 && errno != EINTR)
			return; /* there is nobody left to tell */
		if (done > 0) {
			line += done;
			len -= (size_t)done;
		}
	}
}

static void *run(void *unused)
{
	char line[LINE_SIZE];

	(void)unused;
	for (;;) {
		next_line(line);
		put_out(line);
	}
	return NULL;
}

void rv_log_start(void)
{
	pthread_t thread;

	/* It is never joined: it may be stuck in a write when the daemon leaves. */
	if (pthread_create(&thread, NULL, run, NULL) != 0)
		return;
	pthread_detach(thread);
	pthread_mutex_lock(&queue.lock);
	queue.runs = true;
	pthread_mutex_unlock(&queue.lock);
}

void rv_log_stop(void)
{
	int64_t until_ns = rv_clock_mono_ns() + LAST_WAIT_NS;
	bool busy = true;

	while (busy && rv_clock_mono_ns() < until_ns) {
		pthread_mutex_lock(&queue.lock);
		busy = queue.runs && (queue.waiting > 0 || queue.writing);
		pthread_mutex_unlock(&queue.lock);
		if (busy)
			rv_clock_sleep_until(rv_clock_mono_ns() + NAP_NS);
	}
	pthread_mutex_lock(&queue.lock);
	queue.runs = busy; /* a stuck thread keeps its lines: nobody else may get stuck */
	pthread_mutex_unlock(&queue.lock);
}

/* Takes the line over; false where no thread writes. */
static bool hand_over(const char *line)
{
	pthread_mutex_lock(&queue.lock);
	bool runs = queue.runs;
	if (runs && queue.waiting == LINES) {
		queue.left_out++;
	} else if (runs) {
		int place = (queue.first + queue.waiting++) % LINES;
		memcpy(queue.line[place], line, strlen(line) + 1);
		pthread_cond_signal(&queue.filled);
	}
	pthread_mutex_unlock(&queue.lock);
	return runs;
}

void rv_log(enum rv_log_level level, const char *culprit, const char *format, ...)
{
	char text[1024], line[LINE_SIZE];
	va_list args;

	if (level > loudest)
		return;
	va_start(args, format);
	vsnprintf(text, sizeof text, format, args);
	va_end(args);
	/* NOLINTNEXTLINE(concurrency-mt-unsafe): nothing here ever changes the environment */
	if (getenv("JOURNAL_STREAM"))
		snprintf(line, sizeof line, "<%d>%s: %s\n", (int)level, culprit, text);
	else
		snprintf(line, sizeof line, "reeved: %s: %s\n", culprit, text);
	/* One call writes one line, so that threads do not mix theirs. */
	if (!hand_over(line))
		put_out(line);
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
