/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/api_ground.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/drawing.h"
#include "core/plan_json.h"
#include "core/rig_read.h"
#include "core/station_check.h"
#include "daemon/api_body.h"
#include "daemon/api_plan.h"
#include "daemon/api_rig.h"
#include "daemon/api_seen.h"
#include "daemon/rig_folder.h"

/* ---- reading ---- */

static void put_plan(const struct rv_ground *ground, json_t *json)
{
	struct rv_plan *plan = NULL;
	struct rv_error error = {0};

	if (!ground) {
		json_object_set_new(json, "plan", json_null());
		json_object_set_new(json, "plan_refused", json_null());
	} else if (rv_api_plan_make(&ground->rig, &plan, &error) == RV_OK) {
		json_object_set_new(json, "plan", rv_plan_json(plan));
		json_object_set_new(json, "plan_refused", json_null());
		rv_plan_free(plan);
	} else {
		json_t *refused = rv_plan_json_refused(&error);
		json_object_set_new(json, "plan", json_null());
		json_object_set(json, "plan_refused", json_object_get(refused, "refused"));
		json_decref(refused);
	}
}

json_t *rv_api_ground_read(struct rv_api_call *call)
{
	int number = 0;
	const struct rv_ground *ground = rv_engine_rig(call->api->engine, &number);
	json_t *json = rv_api_rig_json(ground, number, call->api->station);

	if (json)
		put_plan(ground, json);
	rv_engine_rig_done(call->api->engine, ground);
	return json;
}

json_t *rv_api_ground_draw(struct rv_api_call *call)
{
	int number = 0;
	const struct rv_ground *ground = rv_engine_rig(call->api->engine, &number);
	struct rv_plan *plan = NULL;
	enum rv_err err = RV_OK;

	if (!ground)
		err = rv_err_refuse(&call->error, "not_found", "no rig is declared");
	else
		err = rv_api_plan_make(&ground->rig, &plan, &call->error);
	rv_engine_rig_done(call->api->engine, ground);
	if (ground && err == RV_ERR_REFUSED)
		call->status = 422; /* the rig cannot be solved */
	if (err == RV_OK)
		(void)rv_drawing_svg(plan, call->api->station->unit, &call->svg, &call->error);
	rv_plan_free(plan);
	return NULL;
}

static json_t *listed(const char *rig_path, const char *file, struct rv_rig *rig)
{
	struct rv_error error = {0};
	char *text = NULL;
	json_t *why = NULL;
	enum rv_err err = rv_rig_folder_read(rig_path, file, &text, &error);

	if (err == RV_OK)
		err = rv_rig_read(text, strlen(text), rig, &error);
	free(text);
	if (err != RV_OK)
		why = json_pack("{s:o,s:i,s:i}", "text", rv_json_text(error.text), "line",
				error.line, "column", error.column);
	return json_pack("{s:o,s:o,s:o?}", "file", rv_json_text(file), "name",
			 err == RV_OK && rig->name[0] ? rv_json_text(rig->name) : json_null(),
			 "error", why ? why : json_null());
}

json_t *rv_api_ground_list(struct rv_api_call *call)
{
	const char *rig_path = call->api->rig_path;
	struct rv_rig_folder *folder = calloc(1, sizeof *folder);
	struct rv_rig *rig = calloc(1, sizeof *rig);
	json_t *list = json_array(), *reply = NULL;
	enum rv_err err = folder && rig ? RV_OK : RV_ERR_NOMEM;

	if (err != RV_OK)
		(void)rv_err_set(&call->error, err, "out of memory");
	else if (rig_path && rig_path[0])
		err = rv_rig_folder_list(rig_path, folder, &call->error);
	for (int i = 0; err == RV_OK && i < folder->count; i++)
		json_array_append_new(list, listed(rig_path, folder->name[i], rig));
	if (err == RV_OK)
		reply = json_pack("{s:O,s:b}", "rigs", list, "more", (int)folder->more);
	json_decref(list);
	free(folder);
	free(rig);
	return reply;
}

/* ---- which cells moved ---- */

enum { PLACE = 4 * RV_NAME_SIZE };

static const char *held_name(const struct rv_rig *rig, struct rv_held held)
{
	switch (held.kind) {
	case RV_HELD_POINT:
		return rig->point[held.index].name;
	case RV_HELD_BLOCK:
		return rig->block[held.index].name;
	case RV_HELD_FITTING:
		return rig->fitting[held.index].name;
	case RV_HELD_LINE_END:
		break;
	}
	return rig->rope[held.index].name;
}

/* Where a cell sits, in words: two cells of the same words sit at the same place. */
static void place_of(const struct rv_rig *rig, int c, char place[PLACE])
{
	const struct rv_cell *cell = &rig->cell[c];

	if (cell->in_leg)
		snprintf(place, PLACE, "%s, part %d", rig->rope[cell->rope].name, cell->leg);
	else
		snprintf(place, PLACE, "holds %s%s", held_name(rig, cell->holds),
			 cell->holds.kind == RV_HELD_LINE_END ? " end" : "");
}

struct moves {
	json_t *moved, *gone, *added;
};

static void compare(const struct rv_rig *before, const struct rv_rig *after, struct moves *moves)
{
	char from[PLACE], to[PLACE];

	for (int c = 0; before && c < before->cells; c++) {
		const char *name = before->cell[c].name;
		int now = after ? rv_rig_find_cell(after, name) : -1;

		if (now < 0) {
			json_array_append_new(moves->gone, json_string(name));
			continue;
		}
		place_of(before, c, from);
		place_of(after, now, to);
		if (strcmp(from, to) != 0)
			json_array_append_new(moves->moved, json_pack("{s:s,s:s,s:s}", "name", name,
								      "from", from, "to", to));
	}
	for (int c = 0; after && c < after->cells; c++)
		if (!before || rv_rig_find_cell(before, after->cell[c].name) < 0)
			json_array_append_new(moves->added, json_string(after->cell[c].name));
}

/* ---- another rig ---- */

/* Alarms on a part that the new rig does not have: they watch nothing now. */
static json_t *alarms_without(const struct rv_station *station, const struct rv_ground *ground)
{
	json_t *list = json_array();

	for (int i = 0; i < station->alarms; i++) {
		const struct rv_alarm_rule *rule = &station->alarm[i];

		if (rule->component[0] && strcmp(rule->component, "any") != 0 &&
		    (!ground || !rv_station_check_part(&ground->rig, rule->component)))
			json_array_append_new(list, json_string(rule->name));
	}
	return list;
}

/* What lies there now, compared with the rig before. */
static json_t *told(struct rv_api_call *call, const struct rv_rig *before)
{
	struct moves moves = {json_array(), json_array(), json_array()};
	int number = 0;
	const struct rv_ground *ground = rv_engine_rig(call->api->engine, &number);

	compare(before, ground ? &ground->rig : NULL, &moves);
	json_t *json =
	    json_pack("{s:i,s:o,s:o,s:{s:o,s:o,s:o},s:o}", "number", number, "name",
		      rv_json_text(ground ? ground->rig.name : NULL), "why",
		      rv_json_text(ground && !ground->predictor ? ground->why : NULL), "cells",
		      "moved", moves.moved, "gone", moves.gone, "added", moves.added,
		      "alarms_without_part", alarms_without(call->api->station, ground));
	rv_engine_rig_done(call->api->engine, ground);
	return json;
}

static enum rv_err make_ground(struct rv_api_call *call, const char *text,
			       struct rv_ground **ground)
{
	struct rv_ground *made = NULL;
	enum rv_err err = rv_ground_from_text(text, &made, &call->error);

	if (err == RV_OK)
		err = rv_station_check_rig(call->api->station, &made->rig, &call->error);
	if (err != RV_OK) {
		rv_ground_free(made);
		if (err == RV_ERR_REFUSED)
			call->status = 422;
		return err;
	}
	*ground = made;
	return RV_OK;
}

static enum rv_err choose_file(struct rv_api_call *call, const json_t *body,
			       struct rv_ground **ground)
{
	const char *rig_path = call->api->rig_path;
	char name[RV_RIG_FOLDER_NAME];
	char *text = NULL;
	enum rv_err err = rv_api_body_text(body, "file", false, sizeof name, name, &call->error);

	if (err == RV_OK && !(rig_path && rig_path[0]))
		err = rv_err_refuse(&call->error, "not_found",
				    "the station names no rig, so there is no folder of rigs");
	if (err == RV_OK)
		err = rv_rig_folder_read(rig_path, name, &text, &call->error);
	if (err == RV_OK)
		err = make_ground(call, text, ground);
	free(text);
	return err;
}

/* *ground NULL: the station's own again. */
static enum rv_err choose(struct rv_api_call *call, const json_t *body, struct rv_ground **ground)
{
	const json_t *own = json_object_get(body, "own");
	bool has_rig = json_object_get(body, "rig") != NULL;
	bool has_file = json_object_get(body, "file") != NULL;
	const char *text = NULL;

	if (has_rig + has_file + (own != NULL) != 1 || (own && !json_is_true(own)))
		return rv_err_set(
		    &call->error, RV_ERR_MISSING,
		    "send one of \"rig\" (its text), \"file\" (the name of a rig file) "
		    "or \"own\": true");
	if (own)
		return RV_OK;
	if (has_file)
		return choose_file(call, body, ground);
	enum rv_err err = rv_api_body_lines(body, "rig", &text, &call->error);
	return err == RV_OK ? make_ground(call, text, ground) : err;
}

static int64_t open_run(struct rv_api_call *call)
{
	struct rv_live *live = malloc(sizeof *live);
	int64_t number = 0;

	if (live) {
		rv_live_get(call->api->board, live);
		number = live->run.number;
	}
	free(live);
	return number;
}

/* A copy of the rig that lies there now: it may be gone when it is compared. */
static struct rv_rig *copy_of_rig(struct rv_api_call *call)
{
	int number = 0;
	const struct rv_ground *ground = rv_engine_rig(call->api->engine, &number);
	struct rv_rig *copy = ground ? malloc(sizeof *copy) : NULL;

	if (copy)
		*copy = ground->rig;
	rv_engine_rig_done(call->api->engine, ground);
	return copy;
}

json_t *rv_api_ground_set(struct rv_api_call *call)
{
	static const char *const keys[] = {"rig", "file", "own"};
	struct rv_ground *ground = NULL;
	json_t *body = NULL, *reply = NULL;

	if (rv_api_seen_body(call, keys, sizeof keys / sizeof keys[0], &body) != RV_OK)
		return NULL;
	enum rv_err err = choose(call, body, &ground);
	json_decref(body);
	if (err != RV_OK)
		return NULL;
	struct rv_rig *before = copy_of_rig(call);
	int64_t run = open_run(call);
	err = rv_engine_set_rig(call->api->engine, ground, &call->error);
	if (err == RV_OK || err == RV_ERR_AGAIN) {
		call->status = err == RV_OK ? 200 : 202;
		reply = told(call, before);
		json_object_set_new(reply, "committed", json_boolean(err == RV_OK));
		json_object_set_new(reply, "ended_run", run ? json_integer(run) : json_null());
	}
	free(before);
	return reply;
}
