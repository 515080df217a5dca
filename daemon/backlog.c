/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/backlog.h"

#include <pthread.h>
#include <stdlib.h>

#include "daemon/clock.h"

struct rv_backlog {
	pthread_mutex_t lock;
	pthread_cond_t filled;
	size_t room, first, waiting;
	uint64_t lost, lost_taken;
	int64_t since_ns;
	bool urgent, closed;
	struct rv_entry *entries;
};

enum rv_err rv_backlog_new(size_t count, struct rv_backlog **backlog)
{
	pthread_condattr_t how;
	struct rv_backlog *made = calloc(1, sizeof *made);

	if (!made)
		return RV_ERR_NOMEM;
	made->entries = calloc(count, sizeof *made->entries);
	if (!made->entries) {
		free(made);
		return RV_ERR_NOMEM;
	}
	made->room = count;
	pthread_mutex_init(&made->lock, NULL);
	pthread_condattr_init(&how);
	pthread_condattr_setclock(&how, CLOCK_MONOTONIC);
	pthread_cond_init(&made->filled, &how);
	pthread_condattr_destroy(&how);
	*backlog = made;
	return RV_OK;
}

void rv_backlog_free(struct rv_backlog *backlog)
{
	if (!backlog)
		return;
	pthread_cond_destroy(&backlog->filled);
	pthread_mutex_destroy(&backlog->lock);
	free(backlog->entries);
	free(backlog);
}

enum rv_err rv_backlog_put(struct rv_backlog *backlog, const struct rv_entry *entry, bool urgent)
{
	enum rv_err err = RV_OK;

	pthread_mutex_lock(&backlog->lock);
	if (backlog->waiting == backlog->room || backlog->closed) {
		backlog->lost++;
		err = RV_ERR_AGAIN;
	} else {
		backlog->entries[(backlog->first + backlog->waiting) % backlog->room] = *entry;
		if (backlog->waiting++ == 0)
			backlog->since_ns = rv_clock_mono_ns();
		backlog->urgent |= urgent;
		if (urgent || backlog->waiting == backlog->room / 2)
			pthread_cond_signal(&backlog->filled);
	}
	pthread_mutex_unlock(&backlog->lock);
	return err;
}

size_t rv_backlog_wait(struct rv_backlog *backlog, int64_t deadline_ns, bool heed_urgent)
{
	pthread_mutex_lock(&backlog->lock);
	while (!backlog->closed && rv_clock_mono_ns() < deadline_ns &&
	       !(heed_urgent && (backlog->urgent || backlog->waiting >= backlog->room / 2))) {
		struct timespec until;
		rv_clock_wait_time(deadline_ns, &until);
		pthread_cond_timedwait(&backlog->filled, &backlog->lock, &until);
	}
	backlog->urgent = false;
	size_t waiting = backlog->waiting;
	pthread_mutex_unlock(&backlog->lock);
	return waiting;
}

/* Only the taker moves `first`, and putting never touches a slot in use: no lock is needed. */
struct rv_entry *rv_backlog_at(struct rv_backlog *backlog, size_t i)
{
	return &backlog->entries[(backlog->first + i) % backlog->room];
}

void rv_backlog_drop(struct rv_backlog *backlog, size_t count)
{
	pthread_mutex_lock(&backlog->lock);
	backlog->first = (backlog->first + count) % backlog->room;
	backlog->waiting -= count;
	backlog->since_ns = backlog->waiting ? rv_clock_mono_ns() : 0;
	pthread_mutex_unlock(&backlog->lock);
}

uint64_t rv_backlog_take_lost(struct rv_backlog *backlog)
{
	pthread_mutex_lock(&backlog->lock);
	uint64_t lost = backlog->lost - backlog->lost_taken;
	backlog->lost_taken = backlog->lost;
	pthread_mutex_unlock(&backlog->lock);
	return lost;
}

void rv_backlog_give_back_lost(struct rv_backlog *backlog, uint64_t lost)
{
	pthread_mutex_lock(&backlog->lock);
	backlog->lost_taken -= lost;
	pthread_mutex_unlock(&backlog->lock);
}

uint64_t rv_backlog_lost(struct rv_backlog *backlog)
{
	pthread_mutex_lock(&backlog->lock);
	uint64_t lost = backlog->lost;
	pthread_mutex_unlock(&backlog->lock);
	return lost;
}

int64_t rv_backlog_since_ns(struct rv_backlog *backlog)
{
	pthread_mutex_lock(&backlog->lock);
	int64_t since_ns = backlog->since_ns;
	pthread_mutex_unlock(&backlog->lock);
	return since_ns;
}

void rv_backlog_close(struct rv_backlog *backlog)
{
	pthread_mutex_lock(&backlog->lock);
	backlog->closed = true;
	pthread_cond_broadcast(&backlog->filled);
	pthread_mutex_unlock(&backlog->lock);
}

bool rv_backlog_is_closed(struct rv_backlog *backlog)
{
	pthread_mutex_lock(&backlog->lock);
	bool closed = backlog->closed;
	pthread_mutex_unlock(&backlog->lock);
	return closed;
}
