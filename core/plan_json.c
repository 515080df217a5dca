/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/plan_json.h"

#include <math.h>

#include "core/clear.h"
#include "core/plan_drum.h"

static void put(json_t *object, const char *key, json_t *value)
{
	json_object_set_new(object, key, value);
}

static void put_real(json_t *object, const char *key, double value)
{
	put(object, key, rv_json_real(value));
}

static void put_text(json_t *object, const char *key, const char *text)
{
	put(object, key, json_string(text));
}

static json_t *advantage(const struct rv_plan *plan)
{
	if (!rv_plan_is_single(plan))
		return json_null();
	json_t *object = json_object();
	put_real(object, "theoretical_ratio", plan->advantage.theoretical_ratio);
	put_real(object, "expected_ratio", plan->advantage.expected_ratio);
	put_real(object, "low_ratio", plan->advantage.low_ratio);
	put_real(object, "high_ratio", plan->advantage.high_ratio);
	return object;
}

static bool has_range(const struct rv_plan *plan)
{
	for (int b = 0; b < plan->rig.loads; b++)
		if (!isnan(plan->load[b].low_n))
			return true;
	return false;
}

/* The layers of a drum; those that cannot be reckoned are left out. */
static json_t *layers(const struct rv_plan *plan, int w)
{
	const struct rv_winch *winch = &plan->rig.winch[w];
	struct rv_drum size = rv_plan_drum_size(&plan->rig, w);
	json_t *list = json_array();

	for (int k = 1; k <= winch->drum_layers; k++) {
		json_t *object = json_object();

		put(object, "layer", json_integer(k));
		put_real(object, "rated_n", winch->rated_n * rv_drum_pull_ratio(&size, k));
		put_real(object, "holds_m", rv_drum_holds_m(&size, k));
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *drum(const struct rv_plan *plan, int w)
{
	const struct rv_plan_drum *on = &plan->winch[w].drum;
	json_t *object = json_object();

	if (plan->rig.winch[w].is_vehicle) {
		json_decref(object);
		return json_null();
	}
	put_real(object, "on_drum_m", on->on_drum_m);
	put_real(object, "left_m", on->left_m);
	put(object, "layer", on->layer > 0 ? json_integer(on->layer) : json_null());
	put_real(object, "rated_on_layer_n", on->rated_n);
	put(object, "layers", layers(plan, w));
	return object;
}

static json_t *winches(const struct rv_plan *plan)
{
	json_t *list = json_array();

	for (int w = 0; w < plan->rig.winches; w++) {
		const struct rv_plan_winch *winch = &plan->winch[w];
		json_t *object = json_object();

		put_text(object, "name", plan->rig.winch[w].name);
		put_real(object, "line_pull_n", winch->line_pull.nominal_n);
		put_real(object, "low_n", winch->line_pull.low_n);
		put_real(object, "high_n", winch->line_pull.high_n);
		put_real(object, "rated_n", plan->rig.winch[w].rated_n);
		put_real(object, "velocity_ratio", winch->velocity_ratio);
		if (has_range(plan)) {
			put_real(object, "line_pull_at_low_n", winch->at_low_n);
			put_real(object, "line_pull_at_high_n", winch->at_high_n);
		}
		put(object, "drum", drum(plan, w));
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *loads(const struct rv_plan *plan)
{
	json_t *list = json_array();

	for (int b = 0; b < plan->rig.loads; b++) {
		json_t *object = json_object();

		put_text(object, "name", plan->rig.load[b].name);
		put_real(object, "resists_n", plan->load[b].resists_n);
		put_real(object, "side_n", plan->load[b].side_n);
		if (!isnan(plan->load[b].low_n)) {
			put_real(object, "resists_low_n", plan->load[b].low_n);
			put_real(object, "resists_high_n", plan->load[b].high_n);
		}
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *legs(const struct rv_plan *plan)
{
	json_t *list = json_array();

	for (int l = 0; l < plan->legs; l++) {
		const struct rv_leg *leg = &plan->leg[l];
		json_t *object = json_object();

		put_text(object, "line", plan->rig.rope[leg->rope].name);
		put(object, "leg", json_integer(leg->leg));
		put_text(object, "from", leg->from);
		put_text(object, "to", leg->to);
		put_real(object, "length_m", leg->length_m);
		put_real(object, "tension_n", plan->tension[l].nominal_n);
		put_real(object, "low_n", plan->tension[l].low_n);
		put_real(object, "high_n", plan->tension[l].high_n);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *sheaves(const struct rv_plan *plan)
{
	json_t *list = json_array();

	for (int p = 0; p < plan->sheaves; p++) {
		const struct rv_plan_sheave *sheave = &plan->sheave[p];
		json_t *object = json_object();

		put_text(object, "block", plan->rig.block[sheave->block].name);
		put(object, "sheave", json_integer(sheave->sheave));
		put_text(object, "line", plan->rig.rope[sheave->rope].name);
		put_real(object, "wrap_deg", sheave->wrap_deg);
		put_real(object, "pin_n", sheave->pin_n);
		put_real(object, "rope_speed_ratio", sheave->rope_speed_ratio);
		put_real(object, "loss_ratio", sheave->loss_ratio);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *components(const struct rv_plan *plan)
{
	json_t *list = json_array();

	for (int i = 0; i < plan->components; i++) {
		json_t *object = json_object();

		put_text(object, "name", plan->component[i].name);
		put_text(object, "kind", plan->component[i].kind);
		put_real(object, "load_n", plan->carried[i].nominal_n);
		put_real(object, "low_n", plan->carried[i].low_n);
		put_real(object, "high_n", plan->carried[i].high_n);
		put_real(object, "limit_n", plan->component[i].limit_n);
		put_real(object, "use_ratio", plan->use_ratio[i]);
		put_real(object, "use_worst_ratio", plan->use_worst_ratio[i]);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *weakest(const struct rv_plan *plan, int component, const double *use_ratio)
{
	if (component < 0)
		return json_null();
	json_t *object = json_object();
	put_text(object, "name", plan->component[component].name);
	put_real(object, "use_ratio", use_ratio[component]);
	return object;
}

static json_t *not_rated(const struct rv_plan *plan)
{
	json_t *list = json_array();

	for (int i = 0; i < plan->components; i++)
		if (isnan(plan->component[i].limit_n))
			json_array_append_new(list, json_string(plan->component[i].name));
	return list;
}

static json_t *cells(const struct rv_plan *plan)
{
	json_t *list = json_array();

	for (int c = 0; c < plan->rig.cells; c++) {
		json_t *object = json_object();

		put_text(object, "name", plan->rig.cell[c].name);
		put_real(object, "load_n", plan->cell[c].nominal_n);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *line_needed(const struct rv_plan *plan)
{
	json_t *object = json_object();

	for (int r = 0; r < plan->rig.ropes; r++)
		put_real(object, plan->rig.rope[r].name, plan->line_needed_m[r]);
	return object;
}

static json_t *travel(const struct rv_plan *plan)
{
	if (!plan->has_travel)
		return json_null();
	json_t *list = json_array();
	for (int i = 0; i < plan->travel.rows; i++) {
		const struct rv_travel_row *row = &plan->travel.row[i];
		json_t *object = json_object();

		put_real(object, "travel_m", row->travel_m);
		put_real(object, "line_in_m", row->line_in_m);
		put_real(object, "velocity_ratio", row->velocity_ratio);
		put_real(object, "line_pull_n", row->line_pull_n);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *notes(const struct rv_plan *plan)
{
	json_t *list = json_array();

	for (int i = 0; i < plan->notes; i++) {
		json_t *object = json_object();
		char code[RV_PLAN_JSON_CODE];

		rv_plan_json_capitals(plan->note[i].code, code);
		put_text(object, "code", code);
		put_text(object, "text", plan->note[i].text);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *keep_clear(const struct rv_plan *plan)
{
	json_t *object = json_object();

	put_text(object, "rule", rv_clear_rule(plan->clear.rule));
	put_real(object, "twice_line_out_m", plan->clear.twice_out_m);
	put_real(object, "most_distant_points_m", plan->clear.apart_m);
	put_real(object, "longest_line_m", plan->clear.longest_m);
	return object;
}

/* A comparison, named for what it is. */
static json_t *additive_rule(const struct rv_plan *plan)
{
	if (isnan(plan->additive.line_pull_n))
		return json_null();
	json_t *object = json_object();
	put_text(object, "rule", "10 % of what the load resists for each sheave, added");
	put(object, "sheaves", json_integer(plan->additive.sheaves));
	put_real(object, "line_pull_n", plan->additive.line_pull_n);
	return object;
}

json_t *rv_plan_json(const struct rv_plan *plan)
{
	json_t *object = json_object();

	put_text(object, "rig", plan->rig.name);
	put_text(object, "haul", plan->rig.haul_out ? "out" : "in");
	put_real(object, "velocity_ratio", plan->velocity_ratio);
	put(object, "advantage", advantage(plan));
	put(object, "winches", winches(plan));
	put(object, "loads", loads(plan));
	put(object, "legs", legs(plan));
	put(object, "sheaves", sheaves(plan));
	put(object, "components", components(plan));
	put(object, "weakest", weakest(plan, plan->weakest, plan->use_ratio));
	put(object, "weakest_worst", weakest(plan, plan->weakest_worst, plan->use_worst_ratio));
	put_real(object, "line_pull_limit_n", plan->line_pull_limit_n);
	put(object, "not_rated", not_rated(plan));
	put(object, "cells", cells(plan));
	put(object, "line_needed_m", line_needed(plan));
	put_real(object, "keep_clear_m", plan->clear.keep_m);
	put(object, "travel", travel(plan));
	put(object, "notes", notes(plan));
	put(object, "keep_clear", keep_clear(plan));
	put(object, "additive_rule", additive_rule(plan));
	return object;
}

static const char *word_for(const struct rv_error *error)
{
	if (error->tag[0] != '\0')
		return error->tag;
	switch (error->code) {
	case RV_ERR_NOMEM:
		return "memory";
	case RV_ERR_SYNTAX:
		return "syntax";
	case RV_ERR_UNKNOWN:
		return "unknown";
	case RV_ERR_RANGE:
		return "range";
	case RV_ERR_MISSING:
		return "missing";
	case RV_ERR_SYSTEM:
		return "file";
	case RV_OK:
	case RV_ERR_REFUSED:
	case RV_ERR_STORE:
	case RV_ERR_BUSY:
	case RV_ERR_AGAIN:
	case RV_ERR_CLOSED:
		break;
	}
	return "refused";
}

void rv_plan_json_capitals(const char *word, char code[RV_PLAN_JSON_CODE])
{
	size_t i = 0;

	for (; word[i] && i + 1 < RV_PLAN_JSON_CODE; i++)
		code[i] = word[i] >= 'a' && word[i] <= 'z' ? (char)(word[i] - 'a' + 'A') : word[i];
	code[i] = '\0';
}

void rv_plan_json_code(const struct rv_error *error, char code[RV_PLAN_JSON_CODE])
{
	rv_plan_json_capitals(word_for(error), code);
}

static json_t *place(int number)
{
	return number > 0 ? json_integer(number) : json_null();
}

json_t *rv_plan_json_refused(const struct rv_error *error)
{
	json_t *object = json_object(), *refused = json_object();
	char code[RV_PLAN_JSON_CODE];

	rv_plan_json_code(error, code);
	put_text(refused, "code", code);
	put_text(refused, "text", error->text);
	put(refused, "line", place(error->line));
	put(refused, "column", place(error->column));
	put(object, "refused", refused);
	return object;
}
