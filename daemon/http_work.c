/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/http_work.h"

#include <string.h>

static void answer(struct rv_http *http, struct rv_http_request *request)
{
	const struct rv_api_request asked = {
	    .method = request->method,
	    .path = request->path,
	    .body = request->body.data ? request->body.data : "",
	    .body_len = request->body.len,
	    .from_loopback = request->on->from_loopback,
	    .key = request->key,
	    .by_whom = request->on->from_loopback ? "this machine" : request->on->peer,
	};

	rv_api_answer(&http->api, &asked, &request->reply);
}

void *rv_http_work(void *arg)
{
	struct rv_http *http = arg;

	pthread_mutex_lock(&http->lock);
	for (;;) {
		while (!http->queue && !http->closing)
			pthread_cond_wait(&http->work, &http->lock);
		struct rv_http_request *request = http->queue;
		if (!request)
			break;
		http->queue = request->next;
		if (!http->queue)
			http->queue_end = &http->queue;
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
		pthread_cond_signal(&http->work);
	}
	pthread_mutex_unlock(&http->lock);
	return open;
}
