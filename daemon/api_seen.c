/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/api_seen.h"

#include <stdlib.h>
#include <string.h>

#include "daemon/api_body.h"
#include "daemon/clock.h"

static enum rv_err stale(struct rv_api_call *call)
{
	return rv_err_refuse(&call->error, "stale",
			     "it has changed since this page saw it: look again, then decide");
}

static enum rv_err check_seen_run(struct rv_api_call *call, json_int_t number)
{
	struct rv_live *live = malloc(sizeof *live);

	if (!live)
		return rv_err_set(&call->error, RV_ERR_NOMEM, "out of memory");
	rv_live_get(call->api->board, live);
	bool same = live->run.number == number;
	free(live);
	return same ? RV_OK : stale(call);
}

static enum rv_err check_seen_rig(struct rv_api_call *call, json_int_t number)
{
	int now = 0;

	rv_engine_rig_done(call->api->engine, rv_engine_rig(call->api->engine, &now));
	return now == number ? RV_OK : stale(call);
}

/* What the client saw when it decided: another boot, start, open run (0 = none) or rig is a
 * refusal. */
static enum rv_err check_seen(struct rv_api_call *call, const json_t *body)
{
	json_t *seen = json_object_get(body, "seen");
	const char *boot = NULL, *start = NULL;
	json_int_t run = -1, rig = -1;
	json_error_t why;

	if (!seen)
		return RV_OK;
	if (json_unpack_ex(seen, &why, JSON_STRICT, "{s?s,s?s,s?I,s?I}", "boot", &boot, "start",
			   &start, "run", &run, "rig", &rig) != 0)
		return rv_err_set(
		    &call->error, RV_ERR_SYNTAX,
		    "\"seen\" holds boot, start (texts), run and rig (whole numbers): %s",
		    why.text);
	if ((boot && strcmp(boot, rv_clock_boot()) != 0) ||
	    (start && strcmp(start, rv_clock_start()) != 0))
		return stale(call);
	enum rv_err err = run < 0 ? RV_OK : check_seen_run(call, run);
	return err != RV_OK || rig < 0 ? err : check_seen_rig(call, rig);
}

enum rv_err rv_api_seen_body(struct rv_api_call *call, const char *const *keys, size_t count,
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
