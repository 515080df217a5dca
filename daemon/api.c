/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/api.h"

#include <string.h>

#include "core/json.h"
#include "daemon/api_call.h"
#include "daemon/api_estimate.h"
#include "daemon/api_ground.h"
#include "daemon/api_plan.h"
#include "daemon/api_read.h"
#include "daemon/api_wish.h"
#include "daemon/guard.h"

static const char json_media[] = "application/json", svg_media[] = "image/svg+xml";

static const char *code_word(const struct rv_error *error)
{
	static const char *const words[] = {
	    [RV_OK] = "ok",
	    [RV_ERR_NOMEM] = "memory",
	    [RV_ERR_SYNTAX] = "syntax",
	    [RV_ERR_UNKNOWN] = "unknown",
	    [RV_ERR_RANGE] = "range",
	    [RV_ERR_MISSING] = "missing",
	    [RV_ERR_REFUSED] = "refused",
	    [RV_ERR_SYSTEM] = "system",
	    [RV_ERR_STORE] = "record",
	    [RV_ERR_BUSY] = "busy",
	    [RV_ERR_AGAIN] = "later",
	    [RV_ERR_CLOSED] = "closed",
	};

	return error->tag[0] ? error->tag : words[error->code];
}

void rv_api_error(int status, const struct rv_error *error, struct rv_api_reply *reply)
{
	json_t *json = json_pack("{s:{s:s,s:o,s:o,s:o}}", "error", "code", code_word(error), "text",
				 rv_json_text(error->text), "line",
				 error->line ? json_integer(error->line) : json_null(), "column",
				 error->line ? json_integer(error->column) : json_null());

	reply->status = status;
	reply->type = json_media;
	rv_text_clear(&reply->body);
	if (json)
		rv_json_write(json, &reply->body);
	json_decref(json);
}

static int status_of(const struct rv_error *error)
{
	static const char *const unknown[] = {"alarm_unknown", "run_unknown", "pull_unknown",
					      "not_found"};

	for (size_t i = 0; i < sizeof unknown / sizeof unknown[0]; i++)
		if (strcmp(error->tag, unknown[i]) == 0)
			return 404;
	switch (error->code) {
	case RV_ERR_REFUSED:
		return 409;
	case RV_ERR_SYNTAX:
	case RV_ERR_UNKNOWN:
	case RV_ERR_RANGE:
	case RV_ERR_MISSING:
		return 422;
	case RV_ERR_STORE:
	case RV_ERR_BUSY:
	case RV_ERR_AGAIN:
	case RV_ERR_CLOSED:
		return 503;
	case RV_OK:
	case RV_ERR_NOMEM:
	case RV_ERR_SYSTEM:
		break;
	}
	return 500;
}

/* Where a request goes.  With a tail, the part between head and tail is a name, which may itself
 * hold slashes; without, the path is head, or head and a name where head ends with a slash.  A tail
 * with {} has a second name there, without slashes. */
static const struct route {
	const char *method, *head, *tail;
	json_t *(*answer)(struct rv_api_call *call);
} routes[] = {
    {"GET", "/api/alarms", NULL, rv_api_read_alarms},
    {"GET", "/api/devices", NULL, rv_api_read_devices},
    {"GET", "/api/rig", NULL, rv_api_ground_read},
    {"GET", "/api/rig.svg", NULL, rv_api_ground_draw},
    {"GET", "/api/rigs", NULL, rv_api_ground_list},
    {"GET", "/api/runs", NULL, rv_api_read_runs},
    {"GET", "/api/runs/", "/estimate", rv_api_estimate_read},
    {"GET", "/api/runs/", NULL, rv_api_read_run},
    {"POST", "/api/alarms/", "/acknowledge", rv_api_wish_acknowledge},
    {"POST", "/api/alarms/", "/reset", rv_api_wish_reset},
    {"POST", "/api/plan", NULL, rv_api_plan},
    {"POST", "/api/marks", NULL, rv_api_wish_mark},
    {"POST", "/api/runs", NULL, rv_api_wish_start_run},
    {"POST", "/api/runs/", "/pulls/{}/strike", rv_api_estimate_strike},
    {"POST", "/api/runs/", "/stop", rv_api_wish_stop_run},
    {"PUT", "/api/rig", NULL, rv_api_ground_set},
};

/* A name of 1 letter or more that fits. */
static bool copy_name(const char *from, const char *to, char *name, size_t size)
{
	if (to <= from || (size_t)(to - from) >= size)
		return false;
	memcpy(name, from, (size_t)(to - from));
	name[to - from] = '\0';
	return true;
}

/* Where what ends with the tail's last bytes begins; NULL = it does not end so. */
static const char *ends_with(const char *begin, const char *end, const char *tail)
{
	size_t len = strlen(tail);

	if ((size_t)(end - begin) <= len || memcmp(end - len, tail, len) != 0)
		return NULL;
	return end - len;
}

static bool matches_two(const struct route *route, const char *begin, struct rv_api_call *call)
{
	const char *hole = strstr(route->tail, "{}"), *from = route->tail;
	const char *end = ends_with(begin, begin + strlen(begin), hole + 2), *at = end;
	char middle[32];

	while (at && at > begin && at[-1] != '/')
		at--;
	if (!at || !copy_name(at, end, call->part, sizeof call->part) ||
	    !copy_name(from, hole, middle, sizeof middle))
		return false;
	at = ends_with(begin, at, middle);
	return at && copy_name(begin, at, call->name, sizeof call->name);
}

static bool matches(const struct route *route, const char *path, struct rv_api_call *call)
{
	size_t head = strlen(route->head);

	if (route->head[head - 1] != '/')
		return strcmp(path, route->head) == 0;
	if (strncmp(path, route->head, head) != 0)
		return false;
	const char *end = path + strlen(path);
	path += head;
	if (route->tail && strstr(route->tail, "{}"))
		return matches_two(route, path, call);
	if (route->tail)
		end = ends_with(path, end, route->tail);
	return end && copy_name(path, end, call->name, sizeof call->name);
}

bool rv_api_changes(const char *method, const char *path)
{
	return rv_guard_changes(method) && strcmp(path, "/api/plan") != 0;
}

bool rv_api_is_quick(const char *method, const char *path)
{
	static const char slow[] = "/strike";

	return rv_api_changes(method, path) && !ends_with(path, path + strlen(path), slow);
}

/* A path takes GET and HEAD, POST, PUT, or two of them. */
static const char *allowed(const char *before, const char *method)
{
	bool get = strcmp(method, "GET") == 0;

	if (!before)
		return get ? "GET, HEAD" : method;
	if (get ? strncmp(before, "GET", 3) == 0 : strcmp(method, before) == 0)
		return before; /* two routes of one method fit the path */
	return strcmp(method, "PUT") == 0 ? "GET, HEAD, PUT" : "GET, HEAD, POST";
}

/* The route, or NULL with the status set to 404, or 405 and what is allowed. */
static const struct route *find_route(struct rv_api_call *call, const char **allow)
{
	const char *method =
	    strcmp(call->request->method, "HEAD") == 0 ? "GET" : call->request->method;

	call->status = 404;
	for (size_t i = 0; i < sizeof routes / sizeof routes[0]; i++) {
		if (!matches(&routes[i], call->request->path, call))
			continue;
		if (strcmp(method, routes[i].method) == 0)
			return &routes[i];
		*allow = allowed(*allow, routes[i].method);
		call->status = 405;
	}
	(void)rv_err_refuse(&call->error, call->status == 404 ? "not_found" : "method",
			    call->status == 404 ? "there is nothing at this address"
						: "this address does not take that method");
	return NULL;
}

static json_t *answer(struct rv_api_call *call, struct rv_api_reply *reply)
{
	const struct rv_api_request *request = call->request;
	const struct route *route = find_route(call, &reply->allow);

	if (!route)
		return NULL;
	call->status = 0;
	if (rv_api_changes(request->method, request->path) && !request->from_loopback &&
	    rv_key_check(call->api->key, request->key, &call->status, &call->error) != RV_OK)
		return NULL;
	call->status = 0;
	return route->answer(call);
}

void rv_api_answer(const struct rv_api *api, const struct rv_api_request *request,
		   struct rv_api_reply *reply)
{
	struct rv_api_call call = {.api = api, .request = request};
	json_t *json = NULL;

	memset(reply, 0, sizeof *reply);
	json = answer(&call, reply);
	if (!json && call.svg.len > 0 && !call.svg.failed) {
		reply->status = 200;
		reply->type = svg_media;
		reply->body = call.svg;
		return;
	}
	rv_text_free(&call.svg);
	if (json) {
		reply->status = call.status ? call.status : 200;
		reply->type = json_media;
		rv_json_write(json, &reply->body);
		json_decref(json);
	} else {
		if (call.error.code == RV_OK)
			(void)rv_err_set(&call.error, RV_ERR_NOMEM, "out of memory");
		rv_api_error(call.status ? call.status : status_of(&call.error), &call.error,
			     reply);
	}
}
