/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/http.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "daemon/guard.h"
#include "daemon/http_inner.h"
#include "daemon/http_listen.h"
#include "daemon/http_reply.h"
#include "daemon/http_stream.h"
#include "daemon/http_work.h"

#define NS_PER_S 1000000000LL
#define LIVE_AGE_NS NS_PER_S /* a snapshot older than this is not live */

static void set_deadline(struct rv_http *http, struct rv_http_connection *connection, int64_t ns)
{
	pthread_mutex_lock(&http->lock);
	connection->deadline_ns = ns;
	pthread_mutex_unlock(&http->lock);
}

static void connection_changed(void *cls, struct MHD_Connection *mhd, void **context,
			       enum MHD_ConnectionNotificationCode what)
{
	struct rv_http *http = cls;
	struct rv_http_connection *c = *context;

	if (what == MHD_CONNECTION_NOTIFY_STARTED) {
		const union MHD_ConnectionInfo *info =
		    MHD_get_connection_info(mhd, MHD_CONNECTION_INFO_CONNECTION_FD);
		c = info ? calloc(1, sizeof *c) : NULL;
		*context = c;
		if (!c)
			return;
		rv_http_listen_accepted(c, info->connect_fd);
		c->from_loopback = rv_guard_is_loopback(c->peer);
		c->deadline_ns = rv_clock_mono_ns() + RV_HTTP_REQUEST_S * NS_PER_S;
		pthread_mutex_lock(&http->lock);
		c->next = http->connections;
		if (c->next)
			c->next->before = c;
		http->connections = c;
		pthread_mutex_unlock(&http->lock);
	} else if (c) {
		pthread_mutex_lock(&http->lock);
		if (c->before)
			c->before->next = c->next;
		else
			http->connections = c->next;
		if (c->next)
			c->next->before = c->before;
		pthread_mutex_unlock(&http->lock);
		free(c);
		*context = NULL;
	}
}

static void request_done(void *cls, struct MHD_Connection *mhd, void **context,
			 enum MHD_RequestTerminationCode why)
{
	struct rv_http *http = cls;
	struct rv_http_request *request = *context;

	(void)mhd;
	(void)why;
	if (!request)
		return;
	if (request->on)
		set_deadline(http, request->on,
			     rv_clock_mono_ns() + (RV_HTTP_IDLE_S + RV_HTTP_REQUEST_S) * NS_PER_S);
	rv_text_free(&request->body);
	rv_text_free(&request->reply.body);
	if (request->key)
		explicit_bzero(request->key, strlen(request->key));
	free(request->key);
	free(request->method);
	free(request->path);
	free(request);
	*context = NULL;
}

static enum MHD_Result count_header(void *cls, enum MHD_ValueKind kind, const char *name,
				    const char *value)
{
	struct rv_guard_request *asked = cls;

	(void)kind;
	if (strcasecmp(name, "Host") == 0) {
		asked->hosts++;
		asked->host = value;
	} else if (strcasecmp(name, "Origin") == 0) {
		asked->origins++;
		asked->origin = value;
	} else if (strcasecmp(name, "Content-Length") == 0) {
		asked->content_lengths++;
		asked->content_length = value;
	} else if (strcasecmp(name, "Transfer-Encoding") == 0) {
		asked->transfer_encodings++;
	} else if (strcasecmp(name, "Sec-Fetch-Site") == 0) {
		asked->fetch_site = value;
	} else if (strcasecmp(name, "Content-Type") == 0) {
		asked->content_type = value;
	}
	return MHD_YES;
}

static enum rv_err judge(struct rv_http *http, struct rv_http_request *request, int *status,
			 struct rv_error *error)
{
	struct rv_guard_request asked = {
	    .method = request->method,
	    .path = request->path,
	    .from_loopback = request->on->from_loopback,
	    .at = request->on->at,
	    .port = http->port,
	};

	MHD_get_connection_values(request->connection, MHD_HEADER_KIND, count_header, &asked);
	enum rv_err err = rv_guard_judge(&asked, status, error);
	if (err == RV_OK && strcmp(request->method, "GET") != 0 &&
	    strcmp(request->method, "HEAD") != 0 && strcmp(request->method, "POST") != 0 &&
	    strcmp(request->method, "PUT") != 0) {
		*status = 405;
		err = rv_err_refuse(error, "method", "GET, HEAD, POST and PUT are understood here");
	}
	return err;
}

static enum MHD_Result reply_live(struct rv_http *http, struct rv_http_request *request)
{
	struct rv_text copy = {0};
	struct rv_error error;

	pthread_mutex_lock(&http->lock);
	bool any = http->version > 0;
	bool live = any && rv_clock_mono_ns() - http->frame_mono_ns < LIVE_AGE_NS;
	if (live)
		rv_text_add_bytes(&copy, http->frame.data + http->frame_at, http->frame_len);
	pthread_mutex_unlock(&http->lock);
	if (!copy.len) {
		/* Old numbers are not handed out: whoever asks could not tell their age. */
		(void)rv_err_refuse(
		    &error, any ? "not_live" : "starting",
		    any ? "the station measures, but nothing new was published for a "
			  "second"
			: "nothing has been measured yet");
		return rv_http_reply_error(request->connection, 503, &error);
	}
	enum MHD_Result result =
	    rv_http_reply_json(request->connection, 200, copy.data, copy.len, NULL);
	rv_text_free(&copy);
	return result;
}

static enum MHD_Result reply_health(struct rv_http *http, struct rv_http_request *request)
{
	struct rv_text text = {0};

	pthread_mutex_lock(&http->lock);
	int64_t age_ns = rv_clock_mono_ns() - http->frame_mono_ns;
	bool any = http->version > 0, live = any && age_ns < LIVE_AGE_NS;
	pthread_mutex_unlock(&http->lock);
	rv_text_add(&text, "{\"live\":%s,\"age_s\":", live ? "true" : "false");
	if (any)
		rv_text_add(&text, "%.3f}", (double)age_ns * 1e-9);
	else
		rv_text_add(&text, "null}");
	enum MHD_Result result =
	    rv_http_reply_json(request->connection, live ? 200 : 503, text.data, text.len, NULL);
	rv_text_free(&text);
	return result;
}

/* Answers from memory, or hands over to a worker. */
static enum MHD_Result dispatch(struct rv_http *http, struct rv_http_request *request)
{
	bool reads = !rv_guard_changes(request->method);
	const struct rv_page_file *file = rv_page_find(request->path);
	struct rv_error error;

	if (reads && file)
		return rv_http_reply_file(request->connection, file);
	if (reads && strcmp(request->path, "/api/live") == 0)
		return reply_live(http, request);
	if (reads && strcmp(request->path, "/healthz") == 0)
		return reply_health(http, request);
	if (reads && !request->is_head && strcmp(request->path, "/api/stream") == 0)
		return rv_http_stream_open(http, request->connection);
	if (strncmp(request->path, "/api/", 5) == 0) {
		if (rv_http_work_ask(http, request))
			return MHD_YES;
		(void)rv_err_refuse(&error, "closing", "the station is being shut down");
		return rv_http_reply_error(request->connection, 503, &error);
	}
	(void)rv_err_refuse(&error, "not_found", "there is nothing at this address");
	return rv_http_reply_error(request->connection, 404, &error);
}

static struct rv_http_request *begin(struct MHD_Connection *connection, const char *url,
				     const char *method)
{
	const union MHD_ConnectionInfo *info =
	    MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
	const char *key = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "X-Reeve-Key");
	struct rv_http_request *request = calloc(1, sizeof *request);

	if (!request || !info || !info->socket_context) {
		free(request);
		return NULL;
	}
	request->connection = connection;
	request->on = info->socket_context;
	request->method = strdup(method);
	request->path = strdup(url);
	request->key = key ? strdup(key) : NULL;
	request->is_head = strcmp(method, "HEAD") == 0;
	if (request->method && request->path && (request->key || !key))
		return request;
	free(request->method);
	free(request->path);
	free(request->key);
	free(request);
	return NULL;
}

/* The library calls this when the headers are in, for each piece of a body, when all is in, and
 * again when a worker has woken the connection. */
/* NOLINTNEXTLINE(readability-function-size): the library's signature */
static enum MHD_Result handle(void *cls, struct MHD_Connection *connection, const char *url,
			      const char *method, const char *version, const char *upload,
			      size_t *upload_size, void **context)
{
	struct rv_http *http = cls;
	struct rv_http_request *request = *context;
	struct rv_error error;
	int status = 0;

	(void)version;
	if (!request) {
		request = begin(connection, url, method);
		*context = request;
		if (!request)
			return MHD_NO;
		/* Only now may a body still to come be refused. */
		if (judge(http, request, &status, &error) != RV_OK)
			return rv_http_reply_error(connection, status, &error);
		return MHD_YES;
	}
	if (*upload_size) {
		if (request->body.len + *upload_size > RV_GUARD_BODY)
			return MHD_NO; /* more than its Content-Length said */
		rv_text_add_bytes(&request->body, upload, *upload_size);
		*upload_size = 0;
		return request->body.failed ? MHD_NO : MHD_YES;
	}
	if (request->answered)
		return rv_http_reply_api(connection, &request->reply);
	set_deadline(http, request->on, INT64_MAX);
	return dispatch(http, request);
}

static void library_says(void *cls, const char *format, va_list args)
{
	/* It tells of each client that leaves in the middle: nothing for a log. */
	(void)cls;
	(void)format;
	(void)args;
}

static enum rv_err start_library(struct rv_http *http, int fd, struct rv_error *error)
{
	bool alone = rv_guard_is_loopback(http->api.station->listen) ||
		     strcmp(http->api.station->listen, "localhost") == 0;
	/* All clients of a page on loopback share one address. */
	unsigned per_address = alone ? RV_HTTP_CONNECTIONS : RV_HTTP_PER_ADDRESS;

	http->daemon = MHD_start_daemon(
	    MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME | MHD_USE_ERROR_LOG, 0, NULL,
	    NULL, handle, http, MHD_OPTION_EXTERNAL_LOGGER, library_says, NULL,
	    MHD_OPTION_LISTEN_SOCKET, fd, MHD_OPTION_CONNECTION_LIMIT,
	    (unsigned)RV_HTTP_CONNECTIONS, MHD_OPTION_PER_IP_CONNECTION_LIMIT, per_address,
	    MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)RV_HTTP_IDLE_S,
	    MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)RV_HTTP_MEMORY_BYTES,
	    MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_NOTIFY_CONNECTION, connection_changed, http,
	    MHD_OPTION_NOTIFY_COMPLETED, request_done, http, MHD_OPTION_END);
	if (!http->daemon)
		return rv_err_set(error, RV_ERR_SYSTEM, "the web server does not start: %m");
	return RV_OK;
}

static enum rv_err start_threads(struct rv_http *http, struct rv_error *error)
{
	if (pthread_create(&http->herald, NULL, rv_http_stream_herald, http) != 0)
		return rv_err_set(error, RV_ERR_SYSTEM, "no thread for the live stream");
	http->herald_runs = true;
	while (http->workers_run < RV_HTTP_WORKERS) {
		if (pthread_create(&http->worker[http->workers_run], NULL, rv_http_work, http) != 0)
			return rv_err_set(error, RV_ERR_SYSTEM, "no thread for the web side");
		http->workers_run++;
	}
	return RV_OK;
}

/* Whoever reads the page's address may ask at once, and finds something: the engine has published
 * before the web side is started. */
static void await_first_frame(struct rv_http *http)
{
	int64_t until_ns = rv_clock_mono_ns() + 2000000000;
	bool there = false;

	while (!there && rv_clock_mono_ns() < until_ns) {
		pthread_mutex_lock(&http->lock);
		there = http->version > 0;
		pthread_mutex_unlock(&http->lock);
		if (!there)
			rv_clock_sleep_until(rv_clock_mono_ns() + 1000000);
	}
}

enum rv_err rv_http_start(const struct rv_http_setup *setup, struct rv_http **http,
			  struct rv_error *error)
{
	struct rv_http *made = calloc(1, sizeof *made);
	int fd = -1;

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "out of memory");
	made->queue_end = &made->queue;
	pthread_mutex_init(&made->lock, NULL);
	pthread_cond_init(&made->work, NULL);
	made->api = (struct rv_api){.station = setup->station,
				    .board = setup->board,
				    .engine = setup->engine,
				    .record_path = setup->record_path,
				    .rig_path = setup->rig_path};
	enum rv_err err = rv_key_new(setup->station_path, &made->api.key);
	if (err == RV_OK)
		err = rv_http_listen(setup->station->listen, setup->station->port, &fd, &made->port,
				     error);
	if (err == RV_OK)
		err = start_threads(made, error);
	if (err == RV_OK) {
		await_first_frame(made);
		err = start_library(made, fd, error);
	}
	if (err != RV_OK) {
		if (fd >= 0)
			close(fd);
		rv_http_stop(made);
		return err;
	}
	*http = made;
	return RV_OK;
}

void rv_http_stop(struct rv_http *http)
{
	if (!http)
		return;
	pthread_mutex_lock(&http->lock);
	http->closing = true;
	pthread_cond_broadcast(&http->work);
	pthread_mutex_unlock(&http->lock);
	if (http->herald_runs)
		pthread_join(http->herald, NULL);
	while (http->workers_run > 0)
		pthread_join(http->worker[--http->workers_run], NULL);
	rv_http_stream_release(http);
	if (http->daemon)
		MHD_stop_daemon(http->daemon);
	rv_key_free(http->api.key);
	rv_text_free(&http->frame);
	rv_text_free(&http->beat_text);
	pthread_cond_destroy(&http->work);
	pthread_mutex_destroy(&http->lock);
	free(http);
}

int rv_http_port(const struct rv_http *http)
{
	return http->port;
}
