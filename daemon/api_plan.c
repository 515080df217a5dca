/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/api_plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/plan_json.h"
#include "core/rig_read.h"
#include "daemon/api_body.h"

/* The keys of forces, and what they are forces of. */
static const struct force_key {
	const char *key, *what;
	enum rv_given_kind kind;
} force_keys[] = {
    {"line_pull_n", "winch", RV_GIVEN_LINE_PULL},
    {"resist_n", "load", RV_GIVEN_RESISTS},
    {"cell_n", "cell", RV_GIVEN_CELL},
};

static int find(const struct rv_rig *rig, enum rv_given_kind kind, const char *name)
{
	switch (kind) {
	case RV_GIVEN_LINE_PULL:
		return rv_rig_find_winch(rig, name);
	case RV_GIVEN_RESISTS:
		return rv_rig_find_load(rig, name);
	case RV_GIVEN_CELL:
		break;
	}
	return rv_rig_find_cell(rig, name);
}

/* The only one, for a force that has no name. */
static int only(const struct rv_rig *rig, enum rv_given_kind kind)
{
	if (kind == RV_GIVEN_LINE_PULL)
		return rig->winches == 1 ? 0 : -1;
	return kind == RV_GIVEN_RESISTS && rig->loads == 1 ? 0 : -1;
}

struct asking {
	const struct rv_rig *rig;
	struct rv_plan_request *request;
	struct rv_error *error;
};

/* name NULL = the only one. */
static enum rv_err add_force(struct asking *asking, const struct force_key *key, const char *name,
			     const json_t *value)
{
	int index = name ? find(asking->rig, key->kind, name) : only(asking->rig, key->kind);
	double n = json_number_value(value);

	if (!json_is_number(value))
		return rv_err_set(asking->error, RV_ERR_SYNTAX,
				  "\"%s\" must be a number of newtons, or {NAME: number}",
				  key->key);
	if (index < 0 && name)
		return rv_err_refuse(asking->error, "name_unknown", "the rig has no %s %.60s",
				     key->what, name);
	if (index < 0)
		return rv_err_refuse(
		    asking->error, "name_missing",
		    "\"%s\": the rig does not have exactly one %s, or it needs its "
		    "name: send {NAME: number}",
		    key->key, key->what);
	if (!(n > 0.0))
		return rv_err_set(asking->error, RV_ERR_RANGE, "\"%s\" must be above zero",
				  key->key);
	return rv_given_add(asking->rig, &asking->request->givens,
			    (struct rv_given){key->kind, index, {n, n, n}}, asking->error);
}

static enum rv_err add_forces(struct asking *asking, const struct force_key *key, json_t *value)
{
	enum rv_err err = RV_OK;
	const char *name = NULL;
	json_t *one = NULL;

	if (!value || json_is_null(value))
		return RV_OK;
	if (!json_is_object(value))
		return add_force(asking, key, NULL, value);
	json_object_foreach(value, name, one)
	{
		err = add_force(asking, key, name, one);
		if (err != RV_OK)
			return err;
	}
	return RV_OK;
}

static enum rv_err read_request(const struct rv_rig *rig, json_t *body,
				struct rv_plan_request *request, struct rv_error *error)
{
	struct asking asking = {rig, request, error};
	enum rv_err err = RV_OK;

	memset(request, 0, sizeof *request);
	for (size_t i = 0; i < sizeof force_keys / sizeof force_keys[0] && err == RV_OK; i++)
		err = add_forces(&asking, &force_keys[i], json_object_get(body, force_keys[i].key));
	if (err == RV_OK)
		err = rv_api_body_number(body, "travel_m", &request->travel_m, error);
	if (err == RV_OK && request->travel_m <= 0.0)
		err = rv_err_set(error, RV_ERR_RANGE, "\"travel_m\" must be above zero");
	return err;
}

/* The rig that was sent, or the one on the ground. */
static enum rv_err read_rig(struct rv_api_call *call, const json_t *body, struct rv_rig *rig)
{
	const json_t *text = json_object_get(body, "rig");
	int number = 0;

	if (text) {
		const char *words = NULL;
		enum rv_err err = rv_api_body_lines(body, "rig", &words, &call->error);
		return err == RV_OK ? rv_rig_read(words, strlen(words), rig, &call->error) : err;
	}
	const struct rv_ground *ground = rv_engine_rig(call->api->engine, &number);
	if (ground)
		*rig = ground->rig;
	rv_engine_rig_done(call->api->engine, ground);
	return ground ? RV_OK
		      : rv_err_set(&call->error, RV_ERR_MISSING,
				   "no rig is declared: send its text as \"rig\"");
}

enum rv_err rv_api_plan_make(const struct rv_rig *rig, struct rv_plan **plan,
			     struct rv_error *error)
{
	static const struct rv_plan_request nothing = {.travel_m = (double)NAN};

	return rv_plan_new(rig, &nothing, plan, error);
}

static enum rv_err make(struct rv_api_call *call, json_t *body, struct rv_plan **plan)
{
	struct rv_rig *rig = calloc(1, sizeof *rig);
	struct rv_plan_request request;
	enum rv_err err =
	    rig ? RV_OK : rv_err_set(&call->error, RV_ERR_NOMEM, "no memory for a plan");

	if (err == RV_OK)
		err = read_rig(call, body, rig);
	if (err == RV_OK)
		err = read_request(rig, body, &request, &call->error);
	if (err == RV_OK)
		err = rv_plan_new(rig, &request, plan, &call->error);
	free(rig);
	/* Whatever cannot be planned is in what was sent. */
	if (err == RV_ERR_REFUSED)
		call->status = 422;
	return err;
}

json_t *rv_api_plan(struct rv_api_call *call)
{
	static const char *const keys[] = {"rig", "line_pull_n", "resist_n", "cell_n", "travel_m"};
	json_t *body = NULL, *reply = NULL;
	struct rv_plan *plan = NULL;

	if (rv_api_body_read(call->request->body, call->request->body_len, keys,
			     sizeof keys / sizeof keys[0], &body, &call->error) != RV_OK)
		return NULL;
	if (make(call, body, &plan) == RV_OK)
		reply = rv_plan_json(plan);
	rv_plan_free(plan);
	json_decref(body);
	return reply;
}
