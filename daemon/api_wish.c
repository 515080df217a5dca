/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/api_wish.h"

#include "daemon/api_body.h"
#include "daemon/api_seen.h"

enum { NAME_BYTES = 2 * RV_NAME_SIZE, MARK_BYTES = 240 };

/* A wish came through: done, or taken but not on disk yet. */
static json_t *wish(struct rv_api_call *call, enum rv_err err, int status)
{
	if (err != RV_OK && err != RV_ERR_AGAIN)
		return NULL;
	call->status = err == RV_OK ? status : 202;
	return json_pack("{s:b}", "committed", err == RV_OK);
}

json_t *rv_api_wish_start_run(struct rv_api_call *call)
{
	static const char *const keys[] = {"name"};
	char name[NAME_BYTES];
	json_t *body = NULL, *reply = NULL;
	int64_t number = 0;

	if (rv_api_seen_body(call, keys, 1, &body) != RV_OK)
		return NULL;
	enum rv_err err = rv_api_body_text(body, "name", true, sizeof name, name, &call->error);
	json_decref(body);
	if (err != RV_OK)
		return NULL;
	err = rv_engine_start_run(call->api->engine, name[0] ? name : NULL, &number, &call->error);
	reply = wish(call, err, 201);
	if (err == RV_OK)
		json_object_set_new(reply, "number", json_integer(number));
	return reply;
}

json_t *rv_api_wish_stop_run(struct rv_api_call *call)
{
	json_t *body = NULL;
	int64_t number = 0;

	if (rv_api_call_run(call, &number) != RV_OK ||
	    rv_api_seen_body(call, NULL, 0, &body) != RV_OK)
		return NULL;
	json_decref(body);
	return wish(call, rv_engine_stop_run(call->api->engine, number, &call->error), 200);
}

json_t *rv_api_wish_mark(struct rv_api_call *call)
{
	static const char *const keys[] = {"text", "travel_m"};
	char text[MARK_BYTES];
	double travel_m = 0.0;
	json_t *body = NULL;

	if (rv_api_seen_body(call, keys, 2, &body) != RV_OK)
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

json_t *rv_api_wish_acknowledge(struct rv_api_call *call)
{
	json_t *body = NULL;

	if (rv_api_seen_body(call, NULL, 0, &body) != RV_OK)
		return NULL;
	json_decref(body);
	return wish(call,
		    rv_engine_acknowledge(call->api->engine, call->name, call->request->by_whom,
					  &call->error),
		    200);
}

json_t *rv_api_wish_reset(struct rv_api_call *call)
{
	json_t *body = NULL;

	if (rv_api_seen_body(call, NULL, 0, &body) != RV_OK)
		return NULL;
	json_decref(body);
	return wish(
	    call,
	    rv_engine_reset(call->api->engine, call->name, call->request->by_whom, &call->error),
	    200);
}
