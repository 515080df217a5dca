/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/live.h"

#include <pthread.h>
#include <stdlib.h>

#include "daemon/clock.h"

struct rv_live_board {
	pthread_mutex_t lock;
	pthread_cond_t published;
	struct rv_live live;
};

enum rv_err rv_live_new(struct rv_live_board **board)
{
	pthread_condattr_t how;
	struct rv_live_board *made = calloc(1, sizeof *made);

	if (!made)
		return RV_ERR_NOMEM;
	pthread_mutex_init(&made->lock, NULL);
	pthread_condattr_init(&how);
	pthread_condattr_setclock(&how, CLOCK_MONOTONIC);
	pthread_cond_init(&made->published, &how);
	pthread_condattr_destroy(&how);
	*board = made;
	return RV_OK;
}

void rv_live_free(struct rv_live_board *board)
{
	if (!board)
		return;
	pthread_cond_destroy(&board->published);
	pthread_mutex_destroy(&board->lock);
	free(board);
}

void rv_live_publish(struct rv_live_board *board, const struct rv_live *live)
{
	pthread_mutex_lock(&board->lock);
	uint64_t version = board->live.version + 1;
	board->live = *live;
	board->live.version = version;
	pthread_cond_broadcast(&board->published);
	pthread_mutex_unlock(&board->lock);
}

void rv_live_get(struct rv_live_board *board, struct rv_live *live)
{
	pthread_mutex_lock(&board->lock);
	*live = board->live;
	pthread_mutex_unlock(&board->lock);
}

bool rv_live_wait(struct rv_live_board *board, uint64_t seen, int64_t deadline_ns,
		  struct rv_live *live)
{
	pthread_mutex_lock(&board->lock);
	while (board->live.version <= seen && rv_clock_mono_ns() < deadline_ns) {
		struct timespec until;
		rv_clock_wait_time(deadline_ns, &until);
		pthread_cond_timedwait(&board->published, &board->lock, &until);
	}
	*live = board->live;
	pthread_mutex_unlock(&board->lock);
	return live->version > seen;
}
