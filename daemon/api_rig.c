/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/api_rig.h"

#include <math.h>

static bool point_moves(const struct rv_rig *rig, int point)
{
	return point >= 0 && rig->point[point].kind != RV_POINT_FIXED;
}

/* The other blocks at a point: what a line hangs on there, or what hangs on it. */
static json_t *neighbours(const struct rv_rig *rig, int point, int block)
{
	json_t *list = json_array();

	for (int b = 0; b < rig->blocks; b++)
		if (b != block && rig->block[b].point == point)
			json_array_append_new(list, json_string(rig->block[b].name));
	return list;
}

static json_t *step(const struct rv_rig *rig, const struct rv_step *step)
{
	static const char *const kinds[] = {"point", "block", "winch", "tail"};
	bool is_block = step->kind == RV_STEP_BLOCK;
	int point = rv_rig_step_point(rig, step);
	bool floats = point >= 0 && rig->point[point].kind == RV_POINT_FLOATS;

	return json_pack("{s:s,s:s?,s:b,s:b,s:i,s:i,s:o}", "kind", kinds[step->kind], "name",
			 point >= 0 ? rv_reeve_name(rig, *step) : NULL, "moves",
			 (int)point_moves(rig, point), "floats", (int)floats, "sheave",
			 is_block ? step->sheave + 1 : 0, "sheaves",
			 is_block ? rig->block[step->index].sheaves : 0, "with",
			 neighbours(rig, point, is_block ? step->index : -1));
}

static json_t *legs(const struct rv_ground *ground, int rope)
{
	json_t *list = json_array();
	int count = ground->predictor ? rv_predictor_legs(ground->predictor) : 0;

	for (int i = 0; i < count; i++) {
		const struct rv_leg *leg = rv_predictor_leg(ground->predictor, i);
		if (leg->rope == rope)
			json_array_append_new(list,
					      json_pack("{s:i,s:s,s:s,s:o}", "leg", leg->leg,
							"from", leg->from, "to", leg->to,
							"length_m", rv_json_real(leg->length_m)));
	}
	return list;
}

static json_t *path(const struct rv_ground *ground, int rope)
{
	const struct rv_rig *rig = &ground->rig;
	const struct rv_rope *line = &rig->rope[rope];
	const struct rv_step *last = &line->path[line->steps - 1];
	const char *winch = NULL;
	json_t *steps = json_array();
	bool backwards = line->path[0].kind != RV_STEP_WINCH && last->kind == RV_STEP_WINCH;

	for (int i = 0; i < line->steps; i++) {
		const struct rv_step *at = &line->path[backwards ? line->steps - 1 - i : i];
		json_array_append_new(steps, step(rig, at));
		if (at->kind == RV_STEP_WINCH)
			winch = rig->winch[at->index].name;
	}
	return json_pack("{s:s,s:s?,s:o,s:o}", "line", line->name, "winch", winch, "steps", steps,
			 "legs", legs(ground, rope));
}

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
		return rig->rope[held.index].name;
	}
	return NULL;
}

static json_t *cells(const struct rv_rig *rig)
{
	json_t *list = json_array();

	for (int i = 0; i < rig->cells; i++) {
		const struct rv_cell *cell = &rig->cell[i];
		json_t *one = NULL;
		if (cell->in_leg)
			one = json_pack("{s:s,s:s,s:i,s:n}", "name", cell->name, "line",
					rig->rope[cell->rope].name, "leg", cell->leg, "holds");
		else
			one = json_pack("{s:s,s:n,s:n,s:s?}", "name", cell->name, "line", "leg",
					"holds", held_name(rig, cell->holds));
		json_array_append_new(list, one);
	}
	return list;
}

static double warning_ratio(const struct rv_station *station)
{
	double lowest = (double)NAN;

	for (int i = 0; i < station->alarms; i++) {
		const struct rv_alarm_rule *rule = &station->alarm[i];
		if (rule->component[0] && rule->condition == RV_ALARM_ABOVE)
			lowest = fmin(lowest, rule->limit);
	}
	return lowest;
}

json_t *rv_api_rig_json(const struct rv_ground *ground, int number,
			const struct rv_station *station)
{
	json_t *paths = json_array(), *components = json_array(), *not_rated = json_array();
	int count = ground && ground->predictor ? rv_predictor_components(ground->predictor) : 0;

	if (!ground) {
		return json_pack("{s:n,s:i,s:n,s:n,s:n,s:o,s:[],s:o,s:o,s:n}", "name", "number",
				 number, "text", "haul", "why", "paths", paths, "cells",
				 "components", components, "not_rated", not_rated, "warning_ratio");
	}
	for (int i = 0; i < ground->rig.ropes; i++)
		json_array_append_new(paths, path(ground, i));
	for (int i = 0; i < count; i++) {
		const struct rv_component *part = rv_predictor_component(ground->predictor, i);
		json_array_append_new(components, json_pack("{s:s,s:s,s:o}", "name", part->name,
							    "kind", part->kind, "limit_n",
							    rv_json_real(part->limit_n)));
		if (isnan(part->limit_n))
			json_array_append_new(not_rated, json_string(part->name));
	}
	return json_pack("{s:s,s:i,s:o,s:s,s:s?,s:o,s:o,s:o,s:o,s:o}", "name", ground->rig.name,
			 "number", number, "text", rv_json_text(ground->text), "haul",
			 ground->rig.haul_out ? "out" : "in", "why",
			 ground->predictor ? NULL : ground->why, "paths", paths, "cells",
			 cells(&ground->rig), "components", components, "not_rated", not_rated,
			 "warning_ratio", rv_json_real(warning_ratio(station)));
}
