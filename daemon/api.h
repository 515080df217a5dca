/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A request -> its reply, JSON or a picture.  Nothing of the network is in here; a call may wait for a commit (5 s
 * at most) or read the record, so it belongs on a worker thread.
 */
#ifndef RV_DAEMON_API_H
#define RV_DAEMON_API_H

#include "core/text.h"
#include "daemon/api_call.h"

struct rv_api_reply {
	int status; /* HTTP */
	struct rv_text body; /* the caller frees */
	const char *type;    /* of the body: media type */
	const char *allow; /* methods, with status 405 */
};

/* Fills the reply whatever happens. */
void rv_api_answer(const struct rv_api *api, const struct rv_api_request *request,
		   struct rv_api_reply *reply);

/* Whether a request can change anything.  POST /api/plan cannot. */
bool rv_api_changes(const char *method, const char *path);

/* Whether it is a change that nobody should wait for because of long looks into the record; a strike
 * takes such a look itself. */
bool rv_api_is_quick(const char *method, const char *path);

/* {"error":{"code","text","line","column"}} */
void rv_api_error(int status, const struct rv_error *error, struct rv_api_reply *reply);

#endif
