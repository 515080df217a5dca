/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One request on its way through the API, and the two kinds of answers: what is read, and what is
 * wished.  An answer is new JSON, or NULL: then a picture is in svg, or the call's error is filled in.
 */
#ifndef RV_DAEMON_API_CALL_H
#define RV_DAEMON_API_CALL_H

#include "core/json.h"
#include "core/station.h"
#include "daemon/engine.h"
#include "daemon/key.h"
#include "daemon/live.h"

/* What replies are made from; all borrowed. */
struct rv_api {
	const struct rv_station *station;
	struct rv_live_board *board;
	struct rv_engine *engine;
	struct rv_key *key;
	const char *record_path;
	const char *rig_path; /* of the station's own rig; "" or NULL = none */
};

enum { RV_API_ARGUMENTS = 8 };

/* NAME=VALUE behind the question mark, letters unescaped; value "" where there is none. */
struct rv_api_argument {
	const char *name, *value;
};

struct rv_api_request {
	const char *method; /* GET, POST or PUT */
	const char *path;   /* "/api/...", letters unescaped */
	int arguments;	    /* that were there: more than fit are not in the list */
	struct rv_api_argument argument[RV_API_ARGUMENTS];
	const char *body;   /* JSON, or "" */
	size_t body_len;
	bool from_loopback; /* otherwise a change needs the key */
	const char *key;    /* as offered, or NULL */
	const char *by_whom;
};

struct rv_api_call {
	const struct rv_api *api;
	const struct rv_api_request *request;
	char name[4 * RV_NAME_SIZE]; /* the changing part of the path */
	char part[RV_NAME_SIZE];     /* the second one, where there are two */
	int status;		     /* of the reply; with an error: 0 = by its code */
	struct rv_text svg; /* a picture instead of JSON */
	struct rv_error error;
};

/* The name in the path as the number of a run; refuses with "run_unknown". */
enum rv_err rv_api_call_run(struct rv_api_call *call, int64_t *number);

#endif
