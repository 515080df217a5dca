/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/estimate_json.h"

#include <math.h>

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
	put(object, key, rv_json_text(text && text[0] ? text : NULL));
}

static json_t *interval(const struct rv_estimate_interval *of)
{
	if (isnan(of->ratio))
		return json_null();
	json_t *object = json_object();
	put_real(object, "ratio", of->ratio);
	put_real(object, "low_ratio", of->low_ratio);
	put_real(object, "high_ratio", of->high_ratio);
	return object;
}

static json_t *efficiency(const struct rv_estimate *estimate)
{
	json_t *object = interval(&estimate->efficiency);

	if (json_is_object(object)) {
		put_real(object, "coverage", 0.95);
		put_real(object, "dof", estimate->efficiency.dof);
	}
	return object;
}

static json_t *by_direction(const struct rv_estimate *estimate)
{
	if (isnan(estimate->in.ratio) && isnan(estimate->out.ratio) && isnan(estimate->mean.ratio))
		return json_null();
	json_t *object = json_object();
	put(object, "in", interval(&estimate->in));
	put(object, "out", interval(&estimate->out));
	put(object, "mean", interval(&estimate->mean));
	put(object, "excess", interval(&estimate->excess));
	return object;
}

static json_t *declared(const struct rv_estimate_setup *setup)
{
	if (isnan(setup->declared_low_ratio) || isnan(setup->declared_high_ratio))
		return json_null();
	json_t *object = json_object();
	put_real(object, "low_ratio", setup->declared_low_ratio);
	put_real(object, "high_ratio", setup->declared_high_ratio);
	return object;
}

static json_t *refusal(const struct rv_estimate *estimate)
{
	if (!estimate->refused)
		return json_null();
	json_t *object = json_object();
	put_text(object, "code", estimate->refusal.code);
	put_text(object, "text", estimate->refusal.text);
	put_text(object, "cure", estimate->refusal.cure);
	return object;
}

static json_t *sheaves(const struct rv_estimate_told *told)
{
	json_t *list = json_array();

	for (int i = 0; i < told->sheaves; i++) {
		json_t *object = json_object();

		put_text(object, "block", told->sheave[i].block);
		put(object, "sheave", json_integer(told->sheave[i].sheave));
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *per_sheave(const struct rv_estimate *estimate)
{
	json_t *list = json_array();

	for (int i = 0; i < estimate->per_sheaves; i++) {
		const struct rv_estimate_per_sheave *of = &estimate->per_sheave[i];
		json_t *object = interval(&of->efficiency);

		if (!json_is_object(object)) {
			json_decref(object);
			continue;
		}
		put_text(object, "block", of->block);
		put(object, "sheave", json_integer(of->sheave));
		json_array_append_new(list, object);
	}
	if (json_array_size(list) > 0)
		return list;
	json_decref(list);
	return json_null();
}

static json_t *pulls(const struct rv_estimate_setup *setup, const struct rv_estimate_told *told)
{
	json_t *list = json_array();

	for (int i = 0; i < told->pulls; i++) {
		const struct rv_estimate_pull *pull = &told->pull[i];
		bool kept = pull->why == RV_PULL_KEPT && !pull->struck;
		json_t *object = json_object();

		put(object, "run", json_integer(setup->run[pull->run].number));
		put(object, "index", json_integer(pull->index));
		put_text(object, "direction", rv_station_motion_name(pull->direction));
		put_real(object, "start_s", pull->start_s);
		put_real(object, "end_s", pull->end_s);
		put_real(object, "mean_tension_n", pull->near_n);
		put_real(object, "log_ratio", pull->log_ratio);
		put(object, "kept", json_boolean(kept));
		put(object, "struck", json_boolean(pull->struck != NULL));
		put_text(object, "why", pull->struck ? pull->struck : rv_pull_why_name(pull->why));
		put(object, "exchanged", json_boolean(pull->exchanged));
		put_real(object, "turning_ratio", pull->mobilised_ratio);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *loss(const struct rv_estimate *estimate)
{
	const struct rv_estimate_loss *of = &estimate->loss;

	if (!of->known)
		return json_null();
	json_t *object = json_object();
	put_text(object, "model", of->has_constant ? "with constant" : "proportional");
	put_real(object, "constant_n", of->constant_n);
	put_real(object, "low_n", of->low_n);
	put_real(object, "high_n", of->high_n);
	return object;
}

static json_t *agreement(const struct rv_estimate *estimate)
{
	static const char *const verdicts[] = {
	    [RV_ESTIMATE_CONFIRMED] = "confirmed",
	    [RV_ESTIMATE_NOT_RESOLVED] = "not resolved",
	    [RV_ESTIMATE_CONTRADICTED] = "contradicted",
	};
	const struct rv_estimate_agreement *of = &estimate->agreement;

	if (of->verdict == RV_ESTIMATE_NOT_ASKED)
		return json_null();
	json_t *object = json_object(), *list = json_array();
	for (int i = 0; i < of->parts; i++)
		json_array_append_new(list, json_integer(of->parts_of_line[i]));
	put_text(object, "verdict", verdicts[of->verdict]);
	put(object, "compatible_parts_of_line", list);
	return object;
}

static json_t *budget(const struct rv_estimate *estimate)
{
	json_t *list = json_array();

	for (int i = 0; i < estimate->sources; i++) {
		const struct rv_estimate_source_entry *source = &estimate->source[i];
		const char kind[2] = {source->kind, '\0'};
		json_t *object = json_object();

		put_text(object, "source", source->source);
		put_text(object, "kind", kind);
		put_real(object, "u_ratio", source->u_ratio);
		put_real(object, "dof", source->dof);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *warnings(const struct rv_estimate *estimate)
{
	json_t *list = json_array();

	for (int i = 0; i < estimate->warnings; i++) {
		json_t *object = json_object();

		put_text(object, "code", estimate->warning[i].code);
		put_text(object, "text", estimate->warning[i].text);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *drift(const struct rv_estimate *estimate)
{
	if (isnan(estimate->drift_ph))
		return json_null();
	json_t *object = json_object();
	put_real(object, "per_hour", estimate->drift_ph);
	put_real(object, "low", estimate->drift_low_ph);
	put_real(object, "high", estimate->drift_high_ph);
	return object;
}

static json_t *runs(const struct rv_estimate_setup *setup)
{
	json_t *list = json_array();

	for (int i = 0; i < setup->runs; i++)
		if (setup->run[i].number > 0)
			json_array_append_new(list, json_integer(setup->run[i].number));
	return list;
}

static json_t *cells(const struct rv_estimate_told *told)
{
	json_t *object = json_object();

	put_text(object, "near", told->near);
	put_text(object, "far", told->far);
	return object;
}

json_t *rv_estimate_json(const struct rv_estimate_setup *setup, const struct rv_estimate *estimate,
			 const struct rv_estimate_told *told)
{
	json_t *object = json_object();

	if (!object)
		return NULL;
	put(object, "runs", runs(setup));
	put_text(object, "rig", told->rig);
	put_text(object, "mode", rv_estimate_mode_name(estimate->mode));
	put_text(object, "unit", rv_estimate_unit_name(estimate->unit));
	put(object, "refused", refusal(estimate));
	put(object, "cells", cells(told));
	put(object, "sheaves", sheaves(told));
	put_real(object, "sheaves_effective", estimate->sheaves_effective);
	put(object, "efficiency", efficiency(estimate));
	put(object, "relative_gain", interval(&estimate->relative_gain));
	put(object, "declared", declared(setup));
	put(object, "by_direction", by_direction(estimate));
	put(object, "per_sheave", per_sheave(estimate));
	put(object, "with_struck", interval(&estimate->with_struck));
	put(object, "another_day", interval(&estimate->another_day));
	put(object, "pulls", pulls(setup, told));
	put_text(object, "motion_source", rv_estimate_source_name(setup->motion));
	put(object, "loss", loss(estimate));
	put(object, "rig_agreement", agreement(estimate));
	put(object, "drift", drift(estimate));
	put(object, "budget", budget(estimate));
	put(object, "warnings", warnings(estimate));
	put_text(object, "estimand", estimate->estimand);
	return object;
}
