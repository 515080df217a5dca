/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/ring.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/clock.h"

struct rv_ring {
	pthread_mutex_t lock;
	pthread_cond_t filled;
	size_t item_size, room;
	size_t first, waiting; /* place of the oldest item, items held */
	uint64_t dropped;
	bool closed;
	unsigned char *items;
};

enum rv_err rv_ring_new(size_t item_size, size_t count, struct rv_ring **ring)
{
	pthread_condattr_t how;
	struct rv_ring *made = calloc(1, sizeof *made);

	if (!made)
		return RV_ERR_NOMEM;
	made->items = calloc(count, item_size);
	if (!made->items) {
		free(made);
		return RV_ERR_NOMEM;
	}
	made->item_size = item_size;
	made->room = count;
	pthread_mutex_init(&made->lock, NULL);
	pthread_condattr_init(&how);
	pthread_condattr_setclock(&how, CLOCK_MONOTONIC);
	pthread_cond_init(&made->filled, &how);
	pthread_condattr_destroy(&how);
	*ring = made;
	return RV_OK;
}

void rv_ring_free(struct rv_ring *ring)
{
	if (!ring)
		return;
	pthread_cond_destroy(&ring->filled);
	pthread_mutex_destroy(&ring->lock);
	free(ring->items);
	free(ring);
}

enum rv_err rv_ring_put(struct rv_ring *ring, const void *item)
{
	enum rv_err err = RV_OK;

	pthread_mutex_lock(&ring->lock);
	if (ring->waiting == ring->room) {
		ring->dropped++;
		err = RV_ERR_AGAIN;
	} else {
		size_t place = (ring->first + ring->waiting) % ring->room;
		memcpy(ring->items + place * ring->item_size, item, ring->item_size);
		ring->waiting++;
		pthread_cond_signal(&ring->filled);
	}
	pthread_mutex_unlock(&ring->lock);
	return err;
}

static void wait_filled(struct rv_ring *ring, int64_t deadline_ns)
{
	while (ring->waiting == 0 && !ring->closed && rv_clock_mono_ns() < deadline_ns) {
		struct timespec until;
		rv_clock_wait_time(deadline_ns, &until);
		pthread_cond_timedwait(&ring->filled, &ring->lock, &until);
	}
}

size_t rv_ring_take(struct rv_ring *ring, void *items, size_t max, int64_t deadline_ns)
{
	unsigned char *to = items;

	pthread_mutex_lock(&ring->lock);
	wait_filled(ring, deadline_ns);
	size_t count = ring->waiting < max ? ring->waiting : max;
	size_t to_end = ring->room - ring->first;
	size_t head = count < to_end ? count : to_end;
	memcpy(to, ring->items + ring->first * ring->item_size, head * ring->item_size);
	memcpy(to + head * ring->item_size, ring->items, (count - head) * ring->item_size);
	ring->first = (ring->first + count) % ring->room;
	ring->waiting -= count;
	pthread_mutex_unlock(&ring->lock);
	return count;
}

uint64_t rv_ring_dropped(struct rv_ring *ring)
{
	pthread_mutex_lock(&ring->lock);
	uint64_t dropped = ring->dropped;
	pthread_mutex_unlock(&ring->lock);
	return dropped;
}

size_t rv_ring_waiting(struct rv_ring *ring)
{
	pthread_mutex_lock(&ring->lock);
	size_t waiting = ring->waiting;
	pthread_mutex_unlock(&ring->lock);
	return waiting;
}

void rv_ring_close(struct rv_ring *ring)
{
	pthread_mutex_lock(&ring->lock);
	ring->closed = true;
	pthread_cond_broadcast(&ring->filled);
	pthread_mutex_unlock(&ring->lock);
}
