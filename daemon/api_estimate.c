/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/api_estimate.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "core/text.h"
#include "daemon/api_body.h"
#include "daemon/api_seen.h"
#include "daemon/clock.h"
#include "schema/estimation.h"

static const int64_t patience_ns = 20000000000;

enum { SPEED_MOST_MPS = 10, EXCESS_MOST = 5 };

/* ---- what is asked ---- */

struct asked {
	struct rv_estimation_ask ask;
	char near[RV_NAME_SIZE], far[RV_NAME_SIZE];
};

static enum rv_err wrong(struct rv_error *error, const char *name, const char *value,
			 const char *want)
{
	return rv_err_set(error, RV_ERR_RANGE, "%s=%.60s: write %s", name, value, want);
}

/* LEFT,RIGHT, neither of them empty. */
static bool split(const char *pair, char left[RV_NAME_SIZE], char right[RV_NAME_SIZE])
{
	const char *comma = strchr(pair, ',');

	if (!comma || comma == pair || !comma[1] || strchr(comma + 1, ',') ||
	    comma - pair >= RV_NAME_SIZE || strlen(comma + 1) >= RV_NAME_SIZE)
		return false;
	memcpy(left, pair, (size_t)(comma - pair));
	left[comma - pair] = '\0';
	memcpy(right, comma + 1, strlen(comma + 1) + 1);
	return true;
}

static bool take_excess(const char *pair, struct rv_estimation_ask *ask)
{
	char low[RV_NAME_SIZE], high[RV_NAME_SIZE];

	return split(pair, low, high) && rv_text_to_double(low, &ask->excess_low_ratio) == RV_OK &&
	       rv_text_to_double(high, &ask->excess_high_ratio) == RV_OK &&
	       ask->excess_low_ratio > -1.0 && ask->excess_low_ratio <= ask->excess_high_ratio &&
	       ask->excess_high_ratio <= EXCESS_MOST;
}

static enum rv_err take(const struct rv_api_argument *argument, struct asked *asked,
			struct rv_error *error)
{
	static const char *const known[] = {"cells", "motion", "line_speed", "excess"};
	const char *name = argument->name, *value = argument->value;
	struct rv_estimation_ask *ask = &asked->ask;

	if (strcmp(name, "cells") == 0) {
		if (!split(value, asked->near, asked->far))
			return wrong(error, name, value, "the two cells as NEAR,FAR");
		ask->pulls.near = asked->near;
		ask->pulls.far = asked->far;
	} else if (strcmp(name, "motion") == 0) {
		ask->pulls.motion = value;
	} else if (strcmp(name, "line_speed") == 0) {
		if (rv_text_to_double(value, &ask->pulls.line_speed_mps) != RV_OK ||
		    !(ask->pulls.line_speed_mps > 0.0 &&
		      ask->pulls.line_speed_mps <= SPEED_MOST_MPS))
			return wrong(error, name, value, "m/s, above 0 and at most 10");
	} else if (strcmp(name, "excess") == 0) {
		if (!take_excess(value, ask))
			return wrong(error, name, value,
				     "two ratios LO,HI such as 0,0.20, LO not above HI, both "
				     "within -1 and 5");
	} else {
		const char *near = rv_text_nearest(name, known, sizeof known / sizeof known[0]);
		return rv_err_set(error, RV_ERR_UNKNOWN, "%.60s is nothing to ask for: %s%s%s",
				  name,
				  near ? "did you mean " : "cells, motion, line_speed, excess",
				  near ? near : "", near ? "?" : "");
	}
	return RV_OK;
}

static enum rv_err take_all(const struct rv_api_request *request, struct asked *asked,
			    struct rv_error *error)
{
	enum rv_err err = RV_OK;

	rv_estimation_ask_init(&asked->ask);
	if (request->arguments > RV_API_ARGUMENTS)
		return rv_err_set(error, RV_ERR_RANGE, "too much is asked at once");
	for (int i = 0; err == RV_OK && i < request->arguments; i++) {
		for (int k = 0; k < i; k++)
			if (strcmp(request->argument[i].name, request->argument[k].name) == 0)
				return rv_err_set(error, RV_ERR_SYNTAX, "%.60s is given twice",
						  request->argument[i].name);
		err = take(&request->argument[i], asked, error);
	}
	return err;
}

/* A cell or a way to tell motion that the run does not have was asked for. */
static void judge(struct rv_api_call *call)
{
	if (strcmp(call->error.tag, "name_unknown") == 0)
		call->status = 422;
}

/* ---- looking ---- */

static int is_late(void *arg)
{
	return rv_clock_mono_ns() > *(const int64_t *)arg;
}

static enum rv_err look(struct rv_store *store, int64_t number, const struct asked *asked,
			struct rv_estimation **made, struct rv_error *error)
{
	const struct rv_estimation_run run = {.store = store, .number = number};
	int64_t until_ns = rv_clock_mono_ns() + patience_ns;

	rv_store_stop_when(store, is_late, &until_ns);
	enum rv_err err = rv_estimation_make(&run, 1, &asked->ask, made, error);
	rv_store_stop_when(store, NULL, NULL);
	if (err == RV_ERR_STORE && is_late(&until_ns))
		return rv_err_set(error, RV_ERR_BUSY,
				  "run %lld is too long to be worked out within %d s here: ask on "
				  "the station itself, reeve estimate RECORD:%lld",
				  (long long)number, (int)(patience_ns / 1000000000),
				  (long long)number);
	return err;
}

json_t *rv_api_estimate_read(struct rv_api_call *call)
{
	struct rv_estimation *made = NULL;
	struct rv_store *store = NULL;
	struct asked asked;
	json_t *json = NULL;
	int64_t number = 0;

	if (rv_api_call_run(call, &number) != RV_OK ||
	    take_all(call->request, &asked, &call->error) != RV_OK ||
	    rv_store_open_reader(call->api->record_path, &store, &call->error) != RV_OK)
		return NULL;
	if (look(store, number, &asked, &made, &call->error) == RV_OK)
		json = rv_estimation_json(made);
	else
		judge(call);
	rv_estimation_free(made);
	rv_store_close(store);
	return json;
}

/* ---- striking ---- */

static enum rv_err read_body(struct rv_api_call *call, struct rv_store_strike *strike,
			     double *start_s)
{
	static const char *const keys[] = {"reason", "start_s"};
	json_t *body = NULL;
	enum rv_err err = rv_api_seen_body(call, keys, sizeof keys / sizeof keys[0], &body);

	if (err != RV_OK)
		return err;
	if (!json_object_get(body, "reason"))
		err = rv_err_set(&call->error, RV_ERR_MISSING,
				 "\"reason\" is missing: why the pull shall not count, or null "
				 "to take a strike back");
	else if (!json_is_null(json_object_get(body, "reason")))
		err = rv_api_body_text(body, "reason", false, sizeof strike->reason, strike->reason,
				       &call->error);
	if (err == RV_OK)
		err = rv_api_body_number(body, "start_s", start_s, &call->error);
	json_decref(body);
	return err;
}

/* The pull by its number, as it is seen now. */
static enum rv_err find_pull(const struct rv_session *session, double seen_s,
			     struct rv_store_strike *strike, struct rv_error *error)
{
	const struct rv_estimate_pull *pull = NULL;

	for (int i = 0; i < session->facts.count; i++)
		if (session->facts.pull[i].index == strike->pull)
			pull = &session->facts.pull[i];
	if (!pull)
		return rv_err_refuse(error, "pull_unknown", "run %lld has no pull %lld%s%s",
				     (long long)strike->run, (long long)strike->pull,
				     session->lacks[0] ? ": " : "", session->lacks);
	if (fabs(pull->start_s - seen_s) > 1.0)
		return rv_err_refuse(error, "stale",
				     "pull %lld begins at %.1f s, not at %.1f s: look again, then "
				     "decide",
				     (long long)strike->pull, pull->start_s, seen_s);
	if (!strike->reason[0] && !pull->struck)
		return rv_err_refuse(error, "not_struck", "pull %lld is not struck",
				     (long long)strike->pull);
	strike->start_us = session->run.from_us + llround(pull->start_s * 1e6);
	return RV_OK;
}

static enum rv_err place(struct rv_api_call *call, const struct asked *asked, double seen_s,
			 struct rv_store_strike *strike)
{
	struct rv_estimation *made = NULL;
	struct rv_store *store = NULL;
	enum rv_err err = rv_store_open_reader(call->api->record_path, &store, &call->error);

	if (err == RV_OK)
		err = look(store, strike->run, asked, &made, &call->error);
	if (err == RV_OK)
		err = find_pull(&made->session[0], seen_s, strike, &call->error);
	else
		judge(call);
	rv_estimation_free(made);
	rv_store_close(store);
	return err;
}

json_t *rv_api_estimate_strike(struct rv_api_call *call)
{
	struct rv_store_strike strike = {.run = 0};
	struct asked asked;
	double seen_s = (double)NAN;

	if (rv_api_call_run(call, &strike.run) != RV_OK)
		return NULL;
	if (rv_text_to_int64(call->part, &strike.pull) != RV_OK || strike.pull < 1) {
		(void)rv_err_refuse(&call->error, "pull_unknown", "there is no pull \"%.60s\"",
				    call->part);
		return NULL;
	}
	if (take_all(call->request, &asked, &call->error) != RV_OK ||
	    read_body(call, &strike, &seen_s) != RV_OK ||
	    place(call, &asked, seen_s, &strike) != RV_OK)
		return NULL;
	snprintf(strike.by_whom, sizeof strike.by_whom, "%s", call->request->by_whom);
	enum rv_err err = rv_engine_strike(call->api->engine, &strike, &call->error);
	if (err != RV_OK && err != RV_ERR_AGAIN)
		return NULL;
	call->status = err == RV_OK ? 201 : 202;
	return json_pack("{s:b,s:b}", "committed", err == RV_OK, "struck", strike.reason[0] != 0);
}
