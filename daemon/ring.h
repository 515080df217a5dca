/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A bounded queue of items of one size between threads: many may put, one takes.  Putting never
 * waits; a full ring refuses and counts.
 */
#ifndef RV_DAEMON_RING_H
#define RV_DAEMON_RING_H

#include <stddef.h>
#include <stdint.h>

#include "core/err.h"

struct rv_ring;

enum rv_err rv_ring_new(size_t item_size, size_t count, struct rv_ring **ring);
void rv_ring_free(struct rv_ring *ring);

/* RV_ERR_AGAIN when full: the item is dropped and counted. */
enum rv_err rv_ring_put(struct rv_ring *ring, const void *item);

/* Takes up to max items into items; waits until deadline_ns (CLOCK_BOOTTIME as by
 * rv_clock_mono_ns) for the first.  Returns how many. */
size_t rv_ring_take(struct rv_ring *ring, void *items, size_t max, int64_t deadline_ns);

/* Items dropped since the start, and items waiting. */
uint64_t rv_ring_dropped(struct rv_ring *ring);
size_t rv_ring_waiting(struct rv_ring *ring);

/* Wakes the taker at once, now and at every later take. */
void rv_ring_close(struct rv_ring *ring);

#endif
