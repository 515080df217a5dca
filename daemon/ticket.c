/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/ticket.h"

#include <pthread.h>
#include <stdlib.h>

#include "daemon/clock.h"

struct rv_ticket {
	pthread_mutex_t lock;
	pthread_cond_t changed;
	int shares;
	bool complete;
	enum rv_err result;
};

enum rv_err rv_ticket_new(struct rv_ticket **ticket)
{
	pthread_condattr_t how;
	struct rv_ticket *made = calloc(1, sizeof *made);

	if (!made)
		return RV_ERR_NOMEM;
	made->shares = 2;
	pthread_mutex_init(&made->lock, NULL);
	pthread_condattr_init(&how);
	pthread_condattr_setclock(&how, CLOCK_MONOTONIC);
	pthread_cond_init(&made->changed, &how);
	pthread_condattr_destroy(&how);
	*ticket = made;
	return RV_OK;
}

void rv_ticket_drop(struct rv_ticket *ticket)
{
	if (!ticket)
		return;
	pthread_cond_destroy(&ticket->changed);
	pthread_mutex_destroy(&ticket->lock);
	free(ticket);
}

/* With the lock held; lets go of it too. */
static void let_go(struct rv_ticket *ticket)
{
	bool last = --ticket->shares == 0;

	pthread_mutex_unlock(&ticket->lock);
	if (last)
		rv_ticket_drop(ticket);
}

enum rv_err rv_ticket_wait(struct rv_ticket *ticket, int64_t deadline_ns)
{
	pthread_mutex_lock(&ticket->lock);
	while (!ticket->complete && rv_clock_mono_ns() < deadline_ns) {
		struct timespec until;
		rv_clock_wait_time(deadline_ns, &until);
		pthread_cond_timedwait(&ticket->changed, &ticket->lock, &until);
	}
	enum rv_err result = ticket->complete ? ticket->result : RV_ERR_AGAIN;
	let_go(ticket);
	return result;
}

void rv_ticket_complete(struct rv_ticket *ticket, enum rv_err result)
{
	if (!ticket)
		return;
	pthread_mutex_lock(&ticket->lock);
	ticket->complete = true;
	ticket->result = result;
	pthread_cond_signal(&ticket->changed);
	let_go(ticket);
}
