/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/http_stream.h"

#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>

#include "daemon/clock.h"
#include "daemon/http_reply.h"
#include "daemon/live_json.h"

#define FRAME_EVERY_NS 50000000LL /* 20 a second */
#define BEAT_EVERY_NS 500000000LL
#define SWEEP_EVERY_NS 1000000000LL
#define LOOK_EVERY_NS 100000000LL /* how late a stop may be noticed */

static const char frame_head[] = "event: live\ndata: ";

/* What the herald remembers from one round to the next. */
struct herald {
	struct rv_live *live, *told; /* newest; last one rendered */
	struct rv_text frame;	     /* being rendered; swapped with the shared one */
	int64_t frame_due_ns, beat_due_ns, sweep_due_ns;
};

/* What must not wait for the next frame's turn. */
static bool is_news(const struct rv_live *a, const struct rv_live *b)
{
	if (a->state != b->state || a->data != b->data || a->alarms != b->alarms ||
	    a->run.number != b->run.number || a->rig_number != b->rig_number)
		return true;
	for (int i = 0; i < a->alarms; i++)
		if (a->alarm[i].state != b->alarm[i].state ||
		    a->alarm[i].level != b->alarm[i].level ||
		    strcmp(a->alarm[i].name, b->alarm[i].name) != 0)
			return true;
	return false;
}

/* With the lock held. */
static void wake_viewers(struct rv_http *http)
{
	for (struct rv_http_viewer *viewer = http->viewers; viewer; viewer = viewer->next)
		if (viewer->suspended) {
			viewer->suspended = false;
			MHD_resume_connection(viewer->connection);
		}
}

static void render(struct rv_http *http, struct herald *herald)
{
	int number = 0;
	const struct rv_ground *ground = rv_engine_rig(http->api.engine, &number);
	/* A rig set since this snapshot was made would give its numbers other parts' names. */
	json_t *json = rv_live_json(herald->live, http->api.station,
				    number == herald->live->rig_number ? ground : NULL);

	rv_engine_rig_done(http->api.engine, ground);
	rv_text_clear(&herald->frame);
	rv_text_add_bytes(&herald->frame, frame_head, sizeof frame_head - 1);
	if (json)
		rv_json_write(json, &herald->frame);
	size_t len = herald->frame.len - (sizeof frame_head - 1);
	rv_text_add_bytes(&herald->frame, "\n\n", 2);
	json_decref(json);
	if (!json || herald->frame.failed)
		return; /* no memory: the page sees that nothing new comes */

	pthread_mutex_lock(&http->lock);
	struct rv_text old = http->frame;
	http->frame = herald->frame;
	herald->frame = old;
	http->frame_at = sizeof frame_head - 1;
	http->frame_len = len;
	http->version = herald->live->version;
	http->frame_mono_ns = herald->live->mono_ns;
	wake_viewers(http);
	pthread_mutex_unlock(&http->lock);
	struct rv_live *spare = herald->told;
	herald->told = herald->live;
	herald->live = spare;
}

static void beat(struct rv_http *http)
{
	pthread_mutex_lock(&http->lock);
	rv_text_clear(&http->beat_text);
	rv_text_add(&http->beat_text,
		    "event: beat\ndata: {\"boot\":\"%s\",\"start\":\"%s\",\"mono_s\":%.6f}\n\n",
		    rv_clock_boot(), rv_clock_start(), (double)rv_clock_mono_ns() * 1e-9);
	http->beat++;
	wake_viewers(http);
	pthread_mutex_unlock(&http->lock);
}

/* Whoever has not finished asking in time is cut off: the library's own time-out sees only
 * silence, not a letter a second. */
static void sweep(struct rv_http *http, int64_t now_ns)
{
	pthread_mutex_lock(&http->lock);
	for (struct rv_http_connection *c = http->connections; c; c = c->next)
		if (now_ns > c->deadline_ns)
			shutdown(c->fd, SHUT_RDWR);
	pthread_mutex_unlock(&http->lock);
}

static int64_t least(int64_t a, int64_t b)
{
	return a < b ? a : b;
}

static void round_once(struct rv_http *http, struct herald *herald)
{
	int64_t now_ns = rv_clock_mono_ns();
	bool waiting = herald->live->version > herald->told->version;
	int64_t until_ns = least(now_ns + LOOK_EVERY_NS, herald->beat_due_ns);
	uint64_t seen = waiting ? herald->live->version : herald->told->version;

	if (waiting)
		until_ns = least(until_ns, herald->frame_due_ns);
	rv_live_wait(http->api.board, seen, until_ns, herald->live);
	now_ns = rv_clock_mono_ns();
	if (herald->live->version > herald->told->version &&
	    (now_ns >= herald->frame_due_ns || is_news(herald->live, herald->told))) {
		render(http, herald);
		herald->frame_due_ns = now_ns + FRAME_EVERY_NS;
	}
	if (now_ns >= herald->beat_due_ns) {
		beat(http);
		herald->beat_due_ns = now_ns + BEAT_EVERY_NS;
	}
	if (now_ns >= herald->sweep_due_ns) {
		sweep(http, now_ns);
		herald->sweep_due_ns = now_ns + SWEEP_EVERY_NS;
	}
}

static bool is_closing(struct rv_http *http)
{
	pthread_mutex_lock(&http->lock);
	bool closing = http->closing;
	pthread_mutex_unlock(&http->lock);
	return closing;
}

void *rv_http_stream_herald(void *arg)
{
	struct rv_http *http = arg;
	struct herald herald = {.live = calloc(1, sizeof *herald.live),
				.told = calloc(1, sizeof *herald.told)};

	while (herald.live && herald.told && !is_closing(http))
		round_once(http, &herald);
	free(herald.live);
	free(herald.told);
	rv_text_free(&herald.frame);
	return NULL;
}

/* Puts what comes next into out; false when there is nothing new.  With the lock held. */
static bool refill(struct rv_http *http, struct rv_http_viewer *viewer)
{
	const struct rv_text *next = NULL;

	if (viewer->version != http->version) {
		next = &http->frame;
		viewer->version = http->version;
	} else if (viewer->beat != http->beat) {
		next = &http->beat_text;
		viewer->beat = http->beat;
	}
	if (!next || !next->data)
		return false;
	rv_text_clear(&viewer->out);
	rv_text_add_bytes(&viewer->out, next->data, next->len);
	viewer->sent = 0;
	return !viewer->out.failed;
}

/* The library asks for more.  Deciding to wait and being woken are under one lock, so that no
 * wake-up is lost. */
static ssize_t more(void *cls, uint64_t at, char *buffer, size_t max)
{
	struct rv_http_viewer *viewer = cls;
	struct rv_http *http = viewer->http;
	ssize_t given = 0;

	(void)at;
	pthread_mutex_lock(&http->lock);
	if (http->closing) {
		given = MHD_CONTENT_READER_END_OF_STREAM;
	} else if (viewer->sent == viewer->out.len && !refill(http, viewer)) {
		viewer->suspended = true;
		MHD_suspend_connection(viewer->connection);
	} else {
		size_t left = viewer->out.len - viewer->sent;
		size_t count = left < max ? left : max;
		memcpy(buffer, viewer->out.data + viewer->sent, count);
		viewer->sent += count;
		given = (ssize_t)count;
	}
	pthread_mutex_unlock(&http->lock);
	return given;
}

static void gone(void *cls)
{
	struct rv_http_viewer *viewer = cls;
	struct rv_http *http = viewer->http;

	pthread_mutex_lock(&http->lock);
	if (viewer->before)
		viewer->before->next = viewer->next;
	else
		http->viewers = viewer->next;
	if (viewer->next)
		viewer->next->before = viewer->before;
	http->viewer_count--;
	pthread_mutex_unlock(&http->lock);
	rv_text_free(&viewer->out);
	free(viewer);
}

static struct rv_http_viewer *admit(struct rv_http *http, struct MHD_Connection *connection)
{
	struct rv_http_viewer *viewer = NULL;

	pthread_mutex_lock(&http->lock);
	if (http->viewer_count < RV_HTTP_VIEWERS && !http->closing)
		viewer = calloc(1, sizeof *viewer);
	if (viewer) {
		viewer->http = http;
		viewer->connection = connection;
		rv_text_add(&viewer->out, "retry: 500\n\n");
		viewer->next = http->viewers;
		if (viewer->next)
			viewer->next->before = viewer;
		http->viewers = viewer;
		http->viewer_count++;
	}
	pthread_mutex_unlock(&http->lock);
	return viewer;
}

enum MHD_Result rv_http_stream_open(struct rv_http *http, struct MHD_Connection *connection)
{
	struct rv_http_viewer *viewer = admit(http, connection);
	struct rv_error error;

	if (!viewer) {
		(void)rv_err_refuse(&error, "too_many_viewers",
				    "%d pages watch already: close one of them", RV_HTTP_VIEWERS);
		return rv_http_reply_error(connection, 503, &error);
	}
	struct MHD_Response *response = MHD_create_response_from_callback(
	    MHD_SIZE_UNKNOWN, RV_HTTP_SEND_BYTES / 2, more, viewer, gone);
	if (!response) {
		gone(viewer);
		return MHD_NO;
	}
	rv_http_reply_headers(response);
	(void)MHD_add_response_header(response, "Content-Type", "text/event-stream");
	(void)MHD_add_response_header(response, "Cache-Control", "no-store");
	(void)MHD_set_connection_option(connection, MHD_CONNECTION_OPTION_TIMEOUT,
					(unsigned)RV_HTTP_STALL_S);
	enum MHD_Result result = MHD_queue_response(connection, 200, response);
	MHD_destroy_response(response);
	return result;
}

void rv_http_stream_release(struct rv_http *http)
{
	pthread_mutex_lock(&http->lock);
	wake_viewers(http);
	pthread_mutex_unlock(&http->lock);
}
