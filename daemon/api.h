/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A request -> its JSON reply.  Nothing of the network is in here; a call may wait for a commit (5 s
 * at most) or read the record, so it belongs on a worker thread.
 */
#ifndef RV_DAEMON_API_H
#define RV_DAEMON_API_H

#include "core/station.h"
#include "core/text.h"
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
};

struct rv_api_request {
	const char *method; /* GET or POST */
	const char *path;   /* "/api/...", letters unescaped */
	const char *body;   /* JSON, or "" */
	size_t body_len;
	bool from_loopback; /* otherwise a change needs the key */
	const char *key;    /* as offered, or NULL */
	const char *by_whom;
};

struct rv_api_reply {
	int status; /* HTTP */
	struct rv_text body; /* JSON; the caller frees */
	const char *allow; /* methods, with status 405 */
};

/* Fills the reply whatever happens. */
void rv_api_answer(const struct rv_api *api, const struct rv_api_request *request,
		   struct rv_api_reply *reply);

/* {"error":{"code","text","line","column"}} */
void rv_api_error(int status, const struct rv_error *error, struct rv_api_reply *reply);

#endif
