/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/http_work.h"

#include <string.h>

static enum MHD_Result take_argument(void *cls, enum MHD_ValueKind kind, const char *name,
				     const char *value)
{
	struct rv_api_request *asked = cls;

	(void)kind;
	if (asked->arguments < RV_API_ARGUMENTS)
		asked->argument[asked->arguments] =
		    (struct rv_api_argument){name, value ? value : ""};
	asked->arguments++;
	return MHD_YES;
}

static void answer(struct rv_http *http, struct rv_http_request *request)
{
	struct rv_api_request asked = {
	    .method = request->method,
	    .path = request->path,
	    .body = request->body.data ? request->body.data : "",
	    .body_len = request->body.len,
	    .from_loopback = request->on->from_loopback,
	    .key = request->key,
	    .by_whom = request->on->from_loopback ? "this machine" : request->on->peer,
	};

	MHD_get_connection_values(request->connection, MHD_GET_ARGUMENT_KIND, take_argument,
				  &asked);
	rv_api_answer(&http->api, &asked, &request->reply);
}

/* The oldest request; the oldest quick change where only such are taken.  With the lock
 * held. */
static struct rv_http_request *take(struct rv_http *http, bool changes_only)
{
	struct rv_http_request **at = &http->queue;

	while (*at && changes_only && !rv_api_is_quick((*at)->method, (*at)->path))
		at = &(*at)->next;
	struct rv_http_request *request = *at;
	if (!request)
		return NULL;
	*at = request->next;
	if (!*at)
		http->queue_end = at;
	return request;
}

void *rv_http_work(void *arg)
{
	struct rv_http *http = arg;

	pthread_mutex_lock(&http->lock);
	/* One is kept for acknowledging, stopping and the like: looking through a long record takes
	 * its time. */
	bool changes_only = !http->has_changer;
	http->has_changer = true;
	for (;;) {
		struct rv_http_request *request = take(http, changes_only);
		if (!request && http->closing)
			break;
		if (!request) {
			pthread_cond_wait(&http->work, &http->lock);
			continue;
		}
		pthread_mutex_unlock(&http->lock);
		answer(http, request);
		pthread_mutex_lock(&http->lock);
		request->answered = true;
		MHD_resume_connection(request->connection);
	}
	pthread_mutex_unlock(&http->lock);
	return NULL;
}

bool rv_http_work_ask(struct rv_http *http, struct rv_http_request *request)
{
	pthread_mutex_lock(&http->lock);
	bool open = !http->closing;
	if (open) {
		MHD_suspend_connection(request->connection);
		request->asked = true;
		request->next = NULL;
		*http->queue_end = request;
		http->queue_end = &request->next;
		pthread_cond_broadcast(&http->work); /* not every worker takes it */
	}
	pthread_mutex_unlock(&http->lock);
	return open;
}
