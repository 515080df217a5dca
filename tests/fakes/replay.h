/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plays a recorded byte stream with its times through a pseudo-terminal.
 *
 * A trace is text; each line one of
 *   # words for people
 *   MS "bytes"        so many ms after the line before: send; \r \n \t \xHH \\ \" as in C
 *   MS * N "bytes"    send them N times over
 *   ? "bytes"         wait until the other side has sent these
 */
#ifndef RV_TESTS_REPLAY_H
#define RV_TESTS_REPLAY_H

#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>

struct replay {
	char path[64]; /* the far end */
	atomic_bool has_ended;
	atomic_bool failed; /* a line of the trace that cannot be read */
	atomic_bool was_held_up; /* the machine kept it waiting: the times were not those of the trace */
	int file;
	atomic_bool stopping, may_begin;
	pthread_t thread;
	char trace[512];
};

/* Opens the pseudo-terminal; begins to play at replay_begin.  0 or -1. */
int replay_start(struct replay *replay, const char *trace);
void replay_begin(struct replay *replay);
/* Hangs up. */
void replay_stop(struct replay *replay);

#endif
