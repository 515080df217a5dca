/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/api.h"

#include <stdlib.h>
#include <string.h>

#include "core/json.h"
#include "daemon/api_body.h"
#include "daemon/api_rig.h"
#include "daemon/clock.h"
#include "daemon/guard.h"
#include "daemon/live_json.h"
#include "schema/review.h"
#include "schema/store.h"

enum { NAME_BYTES = 2 * RV_NAME_SIZE, MARK_BYTES = 240 };

/* One request on its way through. */
struct call {
	const struct rv_api *api;
	const struct rv_api_request *request;
	char name[2 * NAME_BYTES]; /* the changing part of the path */
	int status;		   /* of the reply; with an error: 0 = by its code */
	struct rv_error error;
};

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
	rv_text_clear(&reply->body);
	if (json)
		rv_json_write(json, &reply->body);
	json_decref(json);
}

static int status_of(const struct rv_error *error)
{
	static const char *const unknown[] = {"alarm_unknown", "run_unknown", "not_found"};

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

/* A wish came through: done, or taken but not on disk yet. */
static json_t *wish(struct call *call, enum rv_err err, int status)
{
	if (err != RV_OK && err != RV_ERR_AGAIN)
		return NULL;
	call->status = err == RV_OK ? status : 202;
	return json_pack("{s:b}", "committed", err == RV_OK);
}

static enum rv_err stale(struct call *call)
{
	return rv_err_refuse(&call->error, "stale",
			     "it has changed since this page saw it: look again, then decide");
}

/* What the client saw when it decided: another boot, start, run or alarm state is a refusal. */
static enum rv_err check_seen(struct call *call, const json_t *body)
{
	const json_t *seen = json_object_get(body, "seen");
	const char *boot = json_string_value(json_object_get(seen, "boot"));
	const char *start = json_string_value(json_object_get(seen, "start"));
	const json_t *run = json_object_get(seen, "run");

	if (!seen)
		return RV_OK;
	if (!json_is_object(seen))
		return rv_err_set(&call->error, RV_ERR_SYNTAX, "\"seen\" must be an object");
	if ((boot && strcmp(boot, rv_clock_boot()) != 0) ||
	    (start && strcmp(start, rv_clock_start()) != 0))
		return stale(call);
	if (!run)
		return RV_OK;
	struct rv_live *live = malloc(sizeof *live);
	if (!live)
		return rv_err_set(&call->error, RV_ERR_NOMEM, "out of memory");
	rv_live_get(call->api->board, live);
	int64_t number = live->run.number;
	free(live);
	return json_integer_value(run) == number ? RV_OK : stale(call);
}

static enum rv_err read_body(struct call *call, const char *const *keys, size_t count,
			     json_t **body)
{
	enum rv_err err = rv_api_body_read(call->request->body, call->request->body_len, keys,
					   count, body, &call->error);

	if (err != RV_OK)
		return err;
	err = check_seen(call, *body);
	if (err != RV_OK)
		json_decref(*body);
	return err;
}

static json_t *start_run(struct call *call)
{
	static const char *const keys[] = {"name"};
	char name[NAME_BYTES];
	json_t *body = NULL, *reply = NULL;
	int64_t number = 0;

	if (read_body(call, keys, 1, &body) != RV_OK)
		return NULL;
	enum rv_err err = rv_api_body_text(body, "name", true, sizeof name, name, &call->error);
	json_decref(body);
	if (err != RV_OK)
		return NULL;
	err = rv_engine_start_run(call->api->engine, name, &number, &call->error);
	reply = wish(call, err, 201);
	if (err == RV_OK)
		json_object_set_new(reply, "number", json_integer(number));
	return reply;
}

static enum rv_err run_number(struct call *call, int64_t *number)
{
	if (rv_text_to_int64(call->name, number) == RV_OK && *number > 0)
		return RV_OK;
	return rv_err_refuse(&call->error, "run_unknown", "there is no run \"%.60s\"", call->name);
}

static json_t *stop_run(struct call *call)
{
	json_t *body = NULL;
	int64_t number = 0;

	if (run_number(call, &number) != RV_OK || read_body(call, NULL, 0, &body) != RV_OK)
		return NULL;
	json_decref(body);
	return wish(call, rv_engine_stop_run(call->api->engine, number, &call->error), 200);
}

static json_t *mark(struct call *call)
{
	static const char *const keys[] = {"text", "travel_m"};
	char text[MARK_BYTES];
	double travel_m = 0.0;
	json_t *body = NULL;

	if (read_body(call, keys, 2, &body) != RV_OK)
		return NULL;
	enum rv_err err = rv_api_body_text(body, "text", false, sizeof text, text, &call->error);
	if (err == RV_OK)
		err = rv_api_body_number(body, "travel_m", &travel_m, &call->error);
	json_decref(body);
	if (err != RV_OK)
		return NULL;
	err =
	    rv_engine_mark(call->api->engine, text, travel_m, call->request->by_whom, &call->error);
	return wish(call, err, 201);
}

static json_t *acknowledge(struct call *call)
{
	json_t *body = NULL;

	if (read_body(call, NULL, 0, &body) != RV_OK)
		return NULL;
	json_decref(body);
	return wish(call,
		    rv_engine_acknowledge(call->api->engine, call->name, call->request->by_whom,
					  &call->error),
		    200);
}

static json_t *reset(struct call *call)
{
	json_t *body = NULL;

	if (read_body(call, NULL, 0, &body) != RV_OK)
		return NULL;
	json_decref(body);
	return wish(
	    call,
	    rv_engine_reset(call->api->engine, call->name, call->request->by_whom, &call->error),
	    200);
}

static json_t *rig(struct call *call)
{
	int number = 0;
	const struct rv_ground *ground = rv_engine_rig(call->api->engine, &number);
	json_t *json = rv_api_rig_json(ground, number, call->api->station);

	rv_engine_rig_done(call->api->engine, ground);
	return json;
}

static json_t *alarms(struct call *call)
{
	struct rv_live *live = malloc(sizeof *live);
	json_t *json = NULL;

	if (!live)
		return NULL;
	rv_live_get(call->api->board, live);
	json = json_pack("{s:s,s:s,s:o}", "state", rv_live_json_state(live->state), "data",
			 rv_live_json_data(live->data), "alarms",
			 rv_live_json_alarms(live, call->api->station));
	free(live);
	return json;
}

static json_t *device(const struct rv_device *device, const struct rv_live_device *now)
{
	const char *fault = rv_intake_fault_name(now->fault);

	return json_pack("{s:s,s:s,s:s,s:b,s:s?,s:o,s:I,s:I}", "name", device->name, "link",
			 rv_station_link_name(device->link), "at",
			 device->link == RV_LINK_MODBUS_TCP ? device->address : device->path,
			 "open", (int)now->is_open, "fault", fault[0] ? fault : NULL, "text",
			 rv_json_text(now->text), "messages", (json_int_t)now->messages, "lost",
			 (json_int_t)now->lost);
}

static json_t *devices(struct call *call)
{
	const struct rv_station *station = call->api->station;
	struct rv_live *live = malloc(sizeof *live);
	json_t *list = json_array();

	if (live)
		rv_live_get(call->api->board, live);
	for (int i = 0; live && i < station->devices; i++)
		json_array_append_new(list, device(&station->device[i], &live->device[i]));
	free(live);
	return json_pack("{s:o}", "devices", list);
}

static json_t *runs(struct call *call)
{
	struct rv_store *store = NULL;
	json_t *json = NULL;

	if (rv_store_open_reader(call->api->record_path, &store, &call->error) != RV_OK)
		return NULL;
	if (rv_store_runs_json(store, &json, &call->error) != RV_OK)
		json = NULL;
	rv_store_close(store);
	return json;
}

static json_t *show_run(struct call *call)
{
	struct rv_store *store = NULL;
	json_t *json = NULL;
	int64_t number = 0;

	if (run_number(call, &number) != RV_OK ||
	    rv_store_open_reader(call->api->record_path, &store, &call->error) != RV_OK)
		return NULL;
	if (rv_review_run_json(store, number, &json, &call->error) != RV_OK)
		json = NULL;
	rv_store_close(store);
	return json;
}

/* Where a request goes.  With a tail, the part between head and tail is a name, which may itself
 * hold slashes; without, the path is head, or head and a name where head ends with a slash. */
static const struct route {
	const char *method, *head, *tail;
	json_t *(*answer)(struct call *call);
} routes[] = {
    {"GET", "/api/alarms", NULL, alarms},
    {"GET", "/api/devices", NULL, devices},
    {"GET", "/api/rig", NULL, rig},
    {"GET", "/api/runs", NULL, runs},
    {"GET", "/api/runs/", NULL, show_run},
    {"POST", "/api/alarms/", "/acknowledge", acknowledge},
    {"POST", "/api/alarms/", "/reset", reset},
    {"POST", "/api/marks", NULL, mark},
    {"POST", "/api/runs", NULL, start_run},
    {"POST", "/api/runs/", "/stop", stop_run},
};

static bool matches(const struct route *route, const char *path, char *name, size_t size)
{
	size_t head = strlen(route->head), tail = route->tail ? strlen(route->tail) : 0;
	size_t len = strlen(path);

	if (route->head[head - 1] != '/')
		return strcmp(path, route->head) == 0;
	if (len <= head + tail || len - head - tail >= size ||
	    strncmp(path, route->head, head) != 0 ||
	    (tail && strcmp(path + len - tail, route->tail) != 0))
		return false;
	memcpy(name, path + head, len - head - tail);
	name[len - head - tail] = '\0';
	return true;
}

/* The route, or NULL with the status set to 404, or 405 and what is allowed. */
static const struct route *find_route(struct call *call, const char **allow)
{
	const char *method =
	    strcmp(call->request->method, "HEAD") == 0 ? "GET" : call->request->method;

	call->status = 404;
	for (size_t i = 0; i < sizeof routes / sizeof routes[0]; i++) {
		if (!matches(&routes[i], call->request->path, call->name, sizeof call->name))
			continue;
		if (strcmp(method, routes[i].method) == 0)
			return &routes[i];
		/* A path with both methods is met twice: the later one adds nothing but its name.
		 */
		*allow = *allow && strcmp(*allow, routes[i].method) != 0 ? "GET, POST"
									 : routes[i].method;
		call->status = 405;
	}
	(void)rv_err_refuse(&call->error, call->status == 404 ? "not_found" : "method",
			    call->status == 404 ? "there is nothing at this address"
						: "this address does not take that method");
	return NULL;
}

static json_t *answer(struct call *call, struct rv_api_reply *reply)
{
	const struct rv_api_request *request = call->request;
	const struct route *route = find_route(call, &reply->allow);

	if (!route)
		return NULL;
	call->status = 0;
	if (rv_guard_changes(request->method) && !request->from_loopback &&
	    rv_key_check(call->api->key, request->key, &call->status, &call->error) != RV_OK)
		return NULL;
	call->status = 0;
	return route->answer(call);
}

void rv_api_answer(const struct rv_api *api, const struct rv_api_request *request,
		   struct rv_api_reply *reply)
{
	struct call call = {.api = api, .request = request};
	json_t *json = NULL;

	memset(reply, 0, sizeof *reply);
	json = answer(&call, reply);
	if (json) {
		reply->status = call.status ? call.status : 200;
		rv_json_write(json, &reply->body);
		json_decref(json);
	} else {
		if (call.error.code == RV_OK)
			(void)rv_err_set(&call.error, RV_ERR_NOMEM, "out of memory");
		rv_api_error(call.status ? call.status : status_of(&call.error), &call.error,
			     reply);
	}
}
