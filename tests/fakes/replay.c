/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/fakes/replay.h"

#include <fcntl.h>
#include <poll.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static int64_t now_ms(void)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void nap_ms(struct replay *replay, long ms)
{
	int64_t end_ms = now_ms() + ms;

	while (now_ms() < end_ms && !atomic_load(&replay->stopping)) {
		struct timespec span = {.tv_nsec = 1000000};
		nanosleep(&span, NULL);
	}
	if (now_ms() > end_ms + 40)
		atomic_store(&replay->was_held_up, true);
}

/* The bytes between the quotes; -1 if there are none. */
static int read_bytes(const char *text, char *bytes, size_t size)
{
	const char *c = strchr(text, '"');
	size_t len = 0;

	if (!c)
		return -1;
	for (c++; *c && *c != '"' && len < size; c++) {
		char byte = *c;
		if (byte == '\\') {
			static const char names[] = "rnt\\\"", values[] = "\r\n\t\\\"";
			c++;
			const char *name = *c ? strchr(names, *c) : NULL;
			if (name) {
				byte = values[name - names];
			} else if (*c == 'x') {
				char digits[3] = {c[1], c[1] ? c[2] : '\0', '\0'};
				byte = (char)strtol(digits, NULL, 16);
				c += 2;
			} else {
				return -1;
			}
		}
		bytes[len++] = byte;
	}
	return *c == '"' ? (int)len : -1;
}

static void send_all(struct replay *replay, const char *bytes, int len)
{
	while (len > 0 && !atomic_load(&replay->stopping)) {
		ssize_t sent = write(replay->file, bytes, (size_t)len);
		if (sent > 0) {
			bytes += sent;
			len -= (int)sent;
		} else {
			nap_ms(replay, 1);
		}
	}
}

static void wait_for(struct replay *replay, const char *bytes, int len)
{
	int met = 0;

	while (met < len && !atomic_load(&replay->stopping)) {
		char byte;
		if (read(replay->file, &byte, 1) == 1)
			met = byte == bytes[met] ? met + 1 : byte == bytes[0];
		else
			nap_ms(replay, 1);
	}
}

static void play_line(struct replay *replay, const char *line)
{
	char bytes[1024];
	char *rest;
	long times = 1;
	int len = read_bytes(line, bytes, sizeof bytes);

	if (line[0] == '#' || line[0] == '\n')
		return;
	if (len < 0) {
		atomic_store(&replay->failed, true);
	} else if (line[0] == '?') {
		wait_for(replay, bytes, len);
	} else {
		nap_ms(replay, strtol(line, &rest, 10));
		if (strncmp(rest, " * ", 3) == 0)
			times = strtol(rest + 3, NULL, 10);
		for (long i = 0; i < times; i++)
			send_all(replay, bytes, len);
	}
}

static void *play(void *data)
{
	struct replay *replay = data;
	FILE *trace = fopen(replay->trace, "r");
	char line[1200];

	if (!trace)
		atomic_store(&replay->failed, true);
	while (!atomic_load(&replay->may_begin) && !atomic_load(&replay->stopping))
		nap_ms(replay, 1);
	while (trace && fgets(line, sizeof line, trace) && !atomic_load(&replay->stopping))
		play_line(replay, line);
	if (trace)
		fclose(trace);
	atomic_store(&replay->has_ended, true);
	return NULL;
}

int replay_start(struct replay *replay, const char *trace)
{
	struct termios raw;

	memset(replay, 0, sizeof *replay);
	snprintf(replay->trace, sizeof replay->trace, "%s", trace);
	replay->file = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
	if (replay->file < 0 || grantpt(replay->file) < 0 || unlockpt(replay->file) < 0 ||
	    ptsname_r(replay->file, replay->path, sizeof replay->path) != 0 ||
	    tcgetattr(replay->file, &raw) < 0)
		return -1;
	cfmakeraw(&raw);
	tcsetattr(replay->file, TCSANOW, &raw);
	return pthread_create(&replay->thread, NULL, play, replay) == 0 ? 0 : -1;
}

void replay_begin(struct replay *replay)
{
	atomic_store(&replay->may_begin, true);
}

void replay_stop(struct replay *replay)
{
	atomic_store(&replay->stopping, true);
	pthread_join(replay->thread, NULL);
	close(replay->file);
}
