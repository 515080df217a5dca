/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Slots at even spacing on the monotonic clock.  Pure: the caller brings the time.
 *
 * Slots are absolute, so a slow answer does not shift those that follow; slots that passed unused
 * are counted and never made up for.
 */
#ifndef RV_DAEMON_PACE_H
#define RV_DAEMON_PACE_H

#include <stdint.h>

struct rv_pace {
	int64_t every_ns; /* > 0 */
	int64_t due_ns;	  /* the next slot */
};

/* The first slot is now. */
void rv_pace_init(struct rv_pace *pace, double every_s, int64_t now_ns);

/* Takes the newest slot that has begun and moves on to the one after it.  Returns how many slots
 * before it passed unused; -1 = none has begun yet, nothing is taken. */
int rv_pace_take(struct rv_pace *pace, int64_t now_ns);

#endif
