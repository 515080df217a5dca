/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/suggest_json.h"

#include <math.h>

#include "core/plan_drum.h"
#include "core/plan_json.h"

static void put(json_t *object, const char *key, json_t *value)
{
	json_object_set_new(object, key, value);
}

static void put_real(json_t *object, const char *key, double value)
{
	put(object, key, rv_json_real(value));
}

static json_t *gear(const struct rv_suggest *reach)
{
	json_t *list = json_array();

	for (int i = 0; i < reach->gear.pieces; i++) {
		const struct rv_suggest_piece *piece = &reach->gear.piece[i];
		json_t *object = json_object();

		put(object, "kind", json_string(rv_suggest_gear_kind(&reach->plan->rig, piece)));
		put(object, "name", json_string(rv_suggest_gear_name(&reach->plan->rig, piece)));
		put(object, "at_hand", piece->hand[0] ? json_string(piece->hand) : json_null());
		put(object, "sheaves", json_integer(piece->sheaves));
		put_real(object, "carries_n", piece->carries_n);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *not_rated(const struct rv_plan *plan)
{
	json_t *list = json_array();

	for (int i = 0; i < plan->components; i++)
		if (isnan(plan->component[i].limit_n))
			json_array_append_new(list, json_string(plan->component[i].name));
	return list;
}

static json_t *notes(const struct rv_plan *plan)
{
	json_t *list = json_array();

	for (int i = 0; i < plan->notes; i++) {
		json_t *object = json_object();
		char code[RV_PLAN_JSON_CODE];

		rv_plan_json_capitals(plan->note[i].code, code);
		put(object, "code", json_string(code));
		put(object, "text", json_string(plan->note[i].text));
		json_array_append_new(list, object);
	}
	return list;
}

json_t *rv_suggest_json_does(const char *file, const struct rv_suggest *reach)
{
	const struct rv_plan *plan = reach->plan;
	const struct rv_plan_drum *drum = &plan->winch[0].drum;
	json_t *object = json_object(), *weakest = json_object();

	put(object, "file", json_string(file));
	put(object, "rig", json_string(reach->rig));
	put_real(object, "line_pull_n", plan->winch[0].line_pull.nominal_n);
	put_real(object, "line_pull_high_n", reach->pull_n);
	put_real(object, "rated_on_layer_n", reach->rated_n);
	put(object, "layer", drum->layer > 0 ? json_integer(drum->layer) : json_null());
	put(weakest, "name", json_string(reach->weakest));
	put_real(weakest, "use_ratio", reach->use_ratio);
	put(object, "weakest", weakest);
	put_real(object, "velocity_ratio", plan->velocity_ratio);
	put_real(object, "line_needed_m", plan->line_needed_m[rv_plan_drum_rope(&plan->rig, 0)]);
	put_real(object, "line_left_m", drum->left_m);
	put_real(object, "keep_clear_m", plan->clear.keep_m);
	put(object, "blocks", json_integer(reach->gear.blocks));
	put(object, "missing", json_integer(reach->gear.missing));
	put(object, "gear", gear(reach));
	put(object, "not_rated", not_rated(plan));
	put(object, "notes", notes(plan));
	return object;
}

json_t *rv_suggest_json_does_not(const char *file, const char *rig, const char *code,
				 const char *text)
{
	json_t *object = json_object();
	char capitals[RV_PLAN_JSON_CODE];

	put(object, "file", json_string(file));
	put(object, "rig", rig ? json_string(rig) : json_null());
	rv_plan_json_capitals(code, capitals);
	put(object, "code", json_string(capitals));
	put(object, "text", json_string(text));
	return object;
}

json_t *rv_suggest_json(const struct rv_rig *hand, double resists_n, json_t *does, json_t *does_not)
{
	json_t *object = json_object(), *winch = json_object();

	put_real(object, "resists_n", resists_n);
	put(winch, "name", json_string(hand->winch[0].name));
	put_real(winch, "rated_n", hand->winch[0].rated_n);
	put(object, "winch", winch);
	put(object, "does", does);
	put(object, "does_not", does_not);
	return object;
}
