/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_scenario.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "tools/rehearse_instruments.h"
#include "tools/rehearse_yaml.h"

/* What each fault takes besides at. */
enum { TAKES_CELL = 1, TAKES_DEVICE = 2, TAKES_FOR = 4, TAKES_SHARE = 8 };
enum { ON_WIRE = TAKES_DEVICE | TAKES_FOR | TAKES_SHARE };

static const struct {
	unsigned takes;
	const char *own; /* a key of its own, needed */
	enum rv_rehearse_measure measure;
} kinds[] = {
    [RV_REHEARSE_PARTS] = {0, "by", RV_REHEARSE_LENGTH},
    [RV_REHEARSE_DEAD_CELL] = {TAKES_CELL | TAKES_FOR, NULL, RV_REHEARSE_PLAIN},
    [RV_REHEARSE_CREEPS] = {TAKES_FOR, "speed", RV_REHEARSE_SPEED},
    [RV_REHEARSE_ZEROED] = {TAKES_CELL | TAKES_FOR, NULL, RV_REHEARSE_PLAIN},
    [RV_REHEARSE_OVERLOAD] = {TAKES_FOR, "by", RV_REHEARSE_RATIO},
    [RV_REHEARSE_SURGES] = {TAKES_FOR, "by", RV_REHEARSE_RATIO},
    [RV_REHEARSE_SILENT] = {ON_WIRE, NULL, RV_REHEARSE_PLAIN},
    [RV_REHEARSE_LATE] = {ON_WIRE, "by", RV_REHEARSE_TIME},
    [RV_REHEARSE_GARBAGE] = {ON_WIRE, NULL, RV_REHEARSE_PLAIN},
    [RV_REHEARSE_HALF] = {ON_WIRE, NULL, RV_REHEARSE_PLAIN},
    [RV_REHEARSE_EXCEPTION] = {ON_WIRE, "code", RV_REHEARSE_WHOLE},
    [RV_REHEARSE_WRONG_UNIT] = {ON_WIRE, "unit", RV_REHEARSE_PLAIN},
    [RV_REHEARSE_UNPLUGGED] = {TAKES_DEVICE | TAKES_FOR, NULL, RV_REHEARSE_PLAIN},
};

/* A number of a map, if it is there. */
static void take(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map, const char *key,
		 enum rv_rehearse_measure measure, double *value)
{
	rv_rehearse_yaml_number(yaml, rv_rehearse_yaml_get(yaml, map, key), measure, value);
}

/* A number that must be there and not below a bound. */
static void take_least(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		       const char *key, enum rv_rehearse_measure measure, double *value)
{
	const struct rv_yaml_node *node = rv_rehearse_yaml_need(yaml, map, key);

	rv_rehearse_yaml_number(yaml, node, measure, value);
	if (!(*value > 0))
		rv_rehearse_yaml_fault(yaml, node, "%s must be above 0", key);
}

/* {size: 2 %, over: 0.5 m}: how much something varies, and over which length. */
static void take_variation(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
			   double *ratio, double *over_m)
{
	static const char *const known[] = {"size", "over", NULL};

	if (!map)
		return;
	rv_rehearse_yaml_keys(yaml, map, known);
	take_least(yaml, map, "size", RV_REHEARSE_RATIO, ratio);
	take_least(yaml, map, "over", RV_REHEARSE_LENGTH, over_m);
}

static void read_legs(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *list,
		      struct rv_rehearse_line *line)
{
	static const char *const known[] = {"length", "pulls_load", NULL};
	bool pulls = false;

	line->legs = rv_rehearse_yaml_count(yaml, list);
	if (line->legs < 1 || line->legs > RV_REHEARSE_LEGS) {
		rv_rehearse_yaml_fault(yaml, list, "1 to %d legs", RV_REHEARSE_LEGS);
		return;
	}
	for (int i = 0; i < line->legs; i++) {
		const struct rv_yaml_node *map = rv_rehearse_yaml_at(list, i);
		rv_rehearse_yaml_keys(yaml, map, known);
		take_least(yaml, map, "length", RV_REHEARSE_LENGTH, &line->leg_m[i]);
		rv_rehearse_yaml_flag(yaml, rv_rehearse_yaml_get(yaml, map, "pulls_load"),
				      &line->on_load[i]);
		pulls = pulls || line->on_load[i];
	}
	if (!pulls)
		rv_rehearse_yaml_fault(yaml, list, "no leg pulls the load");
}

static void read_line(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		      struct rv_rehearse_line *line)
{
	static const char *const known[] = {
	    "stiffness",    "legs",	    "sheaves",	 "turn_over",
	    "pull_scatter", "irregularity", "each_turn", NULL};
	line->turn_over_m = 0.003;
	line->irregularity_m = line->circumference_m = 1;
	rv_rehearse_yaml_keys(yaml, map, known);
	take_least(yaml, map, "stiffness", RV_REHEARSE_FORCE, &line->stiffness_n);
	take(yaml, map, "turn_over", RV_REHEARSE_LENGTH, &line->turn_over_m);
	take(yaml, map, "pull_scatter", RV_REHEARSE_RATIO, &line->pull_scatter_ratio);
	take_variation(yaml, rv_rehearse_yaml_get(yaml, map, "irregularity"),
		       &line->irregularity_ratio, &line->irregularity_m);
	take_variation(yaml, rv_rehearse_yaml_get(yaml, map, "each_turn"), &line->each_turn_ratio,
		       &line->circumference_m);
	read_legs(yaml, rv_rehearse_yaml_need(yaml, map, "legs"), line);

	const struct rv_yaml_node *sheaves = rv_rehearse_yaml_need(yaml, map, "sheaves");
	int count = rv_rehearse_yaml_count(yaml, sheaves);
	if (count != line->legs - 1)
		rv_rehearse_yaml_fault(yaml, sheaves,
				       "%d legs have %d sheaves between them, found %d", line->legs,
				       line->legs - 1, count);
	for (int i = 0; i < count && i < RV_REHEARSE_LEGS; i++) {
		const struct rv_yaml_node *node = rv_rehearse_yaml_at(sheaves, i);
		rv_rehearse_yaml_number(yaml, node, RV_REHEARSE_RATIO, &line->efficiency[i]);
		if (!(line->efficiency[i] > 0.4 && line->efficiency[i] < 1))
			rv_rehearse_yaml_fault(yaml, node,
					       "an efficiency is above 0.4 and below 1");
	}
	if (!(line->turn_over_m > 0))
		rv_rehearse_yaml_fault(yaml, map, "turn_over must be above 0");
}

static void read_load(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		      struct rv_rehearse_load *load)
{
	static const char *const known[] = {"mass",  "pulls_back", "resists",	  "grows",
					    "noise", "sticks",	   "stop_behind", NULL};
	load->noise_m = 1;
	load->stop_behind_m = 3;
	rv_rehearse_yaml_keys(yaml, map, known);
	take_least(yaml, map, "mass", RV_REHEARSE_MASS, &load->mass_kg);
	take_least(yaml, map, "pulls_back", RV_REHEARSE_FORCE, &load->pulls_back_n);
	take(yaml, map, "resists", RV_REHEARSE_FORCE, &load->resists_n);
	take(yaml, map, "grows", RV_REHEARSE_SLOPE, &load->grows_npm);
	take_variation(yaml, rv_rehearse_yaml_get(yaml, map, "noise"), &load->noise_ratio,
		       &load->noise_m);
	take(yaml, map, "sticks", RV_REHEARSE_RATIO, &load->sticks_ratio);
	take(yaml, map, "stop_behind", RV_REHEARSE_LENGTH, &load->stop_behind_m);
}

static void read_move(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		      struct rv_rehearse_move *move)
{
	static const char *const known[] = {"hold", "haul", "pay", "speed", NULL};
	int given = 0;

	rv_rehearse_yaml_keys(yaml, map, known);
	for (int i = 0; i < 3; i++)
		given += rv_rehearse_yaml_get(yaml, map, known[i]) != 0;
	if (given != 1)
		rv_rehearse_yaml_fault(yaml, map, "one of hold, haul and pay is expected here");
	if (rv_rehearse_yaml_get(yaml, map, "hold")) {
		take_least(yaml, map, "hold", RV_REHEARSE_TIME, &move->wait_s);
		return;
	}
	bool hauls = rv_rehearse_yaml_get(yaml, map, "haul") != 0;
	take_least(yaml, map, hauls ? "haul" : "pay", RV_REHEARSE_LENGTH, &move->distance_m);
	take_least(yaml, map, "speed", RV_REHEARSE_SPEED, &move->speed_mps);
	if (!hauls)
		move->distance_m = -move->distance_m;
}

static void read_winch(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		       struct rv_rehearse_winch *winch)
{
	static const char *const known[] = {"line_out", "ramp", "moves", NULL};
	const struct rv_yaml_node *moves = rv_rehearse_yaml_need(yaml, map, "moves");

	rv_rehearse_yaml_keys(yaml, map, known);
	take(yaml, map, "line_out", RV_REHEARSE_LENGTH, &winch->line_out_m);
	take_least(yaml, map, "ramp", RV_REHEARSE_TIME, &winch->ramp_s);
	winch->moves = rv_rehearse_yaml_count(yaml, moves);
	if (winch->moves < 1 || winch->moves > RV_REHEARSE_MOVES) {
		rv_rehearse_yaml_fault(yaml, moves, "1 to %d moves", RV_REHEARSE_MOVES);
		return;
	}
	for (int i = 0; i < winch->moves; i++)
		read_move(yaml, rv_rehearse_yaml_at(moves, i), &winch->move[i]);
}

static void read_cell(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		      const struct rv_rehearse_line *line, struct rv_rehearse_cell *cell)
{
	static const char *const known[] = {"legs",  "gain_error", "offset",	 "noise",
					    "delay", "filter",	   "resolution", NULL};
	const struct rv_yaml_node *legs = rv_rehearse_yaml_need(yaml, map, "legs");
	int count = rv_rehearse_yaml_count(yaml, legs);

	rv_rehearse_yaml_keys(yaml, map, known);
	for (int i = 0; i < count; i++) {
		double leg = 0;
		const struct rv_yaml_node *node = rv_rehearse_yaml_at(legs, i);
		rv_rehearse_yaml_number(yaml, node, RV_REHEARSE_WHOLE, &leg);
		if (leg < 1 || leg > line->legs)
			rv_rehearse_yaml_fault(yaml, node, "the line has legs 1 to %d", line->legs);
		else
			cell->leg[(int)leg - 1] = true;
	}
	take(yaml, map, "gain_error", RV_REHEARSE_RATIO, &cell->gain_error_ratio);
	take(yaml, map, "offset", RV_REHEARSE_FORCE, &cell->offset_n);
	take(yaml, map, "noise", RV_REHEARSE_FORCE, &cell->noise_n);
	take(yaml, map, "delay", RV_REHEARSE_TIME, &cell->delay_s);
	take(yaml, map, "filter", RV_REHEARSE_TIME, &cell->filter_s);
	take(yaml, map, "resolution", RV_REHEARSE_FORCE, &cell->resolution_n);
	if (cell->delay_s < 0 || cell->delay_s > 1)
		rv_rehearse_yaml_fault(yaml, map, "a delay is 0 s to 1 s");
}

static void read_cells(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		       struct rv_rehearse_scenario *scenario)
{
	scenario->cells = rv_rehearse_yaml_count(yaml, map);
	if (scenario->cells > RV_REHEARSE_CELLS) {
		rv_rehearse_yaml_fault(yaml, map, "at most %d cells", RV_REHEARSE_CELLS);
		scenario->cells = 0;
	}
	for (int i = 0; i < scenario->cells; i++) {
		struct rv_rehearse_cell *cell = &scenario->cell[i];
		snprintf(cell->name, sizeof cell->name, "%s", rv_rehearse_yaml_at(map, i)->key);
		read_cell(yaml, rv_rehearse_yaml_at(map, i), &scenario->line, cell);
	}
}

/* The cell or the device a fault is about. */
static void read_target(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
			const struct rv_rehearse_scenario *scenario,
			struct rv_rehearse_fault *fault)
{
	fault->cell = fault->instrument = -1;
	if (kinds[fault->kind].takes & TAKES_CELL) {
		const struct rv_yaml_node *node = rv_rehearse_yaml_need(yaml, map, "cell");
		for (int i = 0; i < scenario->cells; i++)
			if (strcmp(scenario->cell[i].name, rv_rehearse_yaml_text(yaml, node)) == 0)
				fault->cell = i;
		if (fault->cell < 0)
			rv_rehearse_yaml_fault(yaml, node, "there is no such cell");
	}
	if (kinds[fault->kind].takes & TAKES_DEVICE) {
		const struct rv_yaml_node *node = rv_rehearse_yaml_need(yaml, map, "device");
		for (int i = 0; i < scenario->instruments; i++)
			if (strcmp(scenario->instrument[i].name,
				   rv_rehearse_yaml_text(yaml, node)) == 0)
				fault->instrument = i;
		if (fault->instrument < 0)
			rv_rehearse_yaml_fault(yaml, node, "there is no such instrument");
	}
}

/* What only this kind of fault says. */
static void read_own(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		     struct rv_rehearse_fault *fault)
{
	const char *own = kinds[fault->kind].own;
	double value = 0;

	if (!own)
		return;
	const struct rv_yaml_node *node = rv_rehearse_yaml_need(yaml, map, own);
	if (fault->kind == RV_REHEARSE_WRONG_UNIT) {
		const char *unit = rv_rehearse_yaml_text(yaml, node);
		if (!(rv_rehearse_script_unit(unit) > 0))
			rv_rehearse_yaml_fault(yaml, node, "there is no unit \"%s\"", unit);
		snprintf(fault->unit, sizeof fault->unit, "%s", unit);
		return;
	}
	rv_rehearse_yaml_number(yaml, node, kinds[fault->kind].measure, &value);
	fault->by = value;
	fault->speed_mps = value;
	fault->code = (int)fmax(0, fmin(value, 255));
	if (fault->kind == RV_REHEARSE_SURGES)
		take_least(yaml, map, "every", RV_REHEARSE_TIME, &fault->every_s);
}

static void read_fault(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		       const struct rv_rehearse_scenario *scenario, struct rv_rehearse_fault *fault)
{
	const char *words[RV_REHEARSE_FAULT_KINDS + 1] = {NULL};
	const char *known[10] = {"fault", "at"};
	int count = 2;

	for (int i = 0; i < RV_REHEARSE_FAULT_KINDS; i++)
		words[i] = rv_rehearse_script_fault_name((enum rv_rehearse_fault_kind)i);
	int kind = rv_rehearse_yaml_word(yaml, rv_rehearse_yaml_need(yaml, map, "fault"), words);
	fault->kind = (enum rv_rehearse_fault_kind)kind;
	unsigned takes = kinds[kind].takes;
	if (takes & TAKES_CELL)
		known[count++] = "cell";
	if (takes & TAKES_DEVICE)
		known[count++] = "device";
	if (takes & TAKES_FOR)
		known[count++] = "for";
	if (takes & TAKES_SHARE)
		known[count++] = "share";
	if (kinds[kind].own)
		known[count++] = kinds[kind].own;
	if (kind == RV_REHEARSE_SURGES)
		known[count++] = "every";
	rv_rehearse_yaml_keys(yaml, map, known);

	fault->share = 1;
	fault->for_s = INFINITY;
	rv_rehearse_yaml_number(yaml, rv_rehearse_yaml_need(yaml, map, "at"), RV_REHEARSE_TIME,
				&fault->at_s);
	take(yaml, map, "for", RV_REHEARSE_TIME, &fault->for_s);
	take(yaml, map, "share", RV_REHEARSE_RATIO, &fault->share);
	read_target(yaml, map, scenario, fault);
	read_own(yaml, map, fault);
}

static void read_faults(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *list,
			struct rv_rehearse_scenario *scenario)
{
	scenario->faults = rv_rehearse_yaml_count(yaml, list);
	if (scenario->faults > RV_REHEARSE_FAULTS) {
		rv_rehearse_yaml_fault(yaml, list, "at most %d faults", RV_REHEARSE_FAULTS);
		return;
	}
	for (int i = 0; i < scenario->faults; i++)
		read_fault(yaml, rv_rehearse_yaml_at(list, i), scenario, &scenario->fault[i]);
}

/* Once, or so many rounds, or for ever. */
static void read_rounds(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *root,
			struct rv_rehearse_scenario *scenario)
{
	const struct rv_yaml_node *node = rv_rehearse_yaml_get(yaml, root, "rounds");
	double rounds = 1;
	bool repeat = false;

	rv_rehearse_yaml_number(yaml, node, RV_REHEARSE_WHOLE, &rounds);
	if (rounds < 1 || rounds > 1e6)
		rv_rehearse_yaml_fault(yaml, node, "rounds are 1 to 1000000");
	rv_rehearse_yaml_flag(yaml, rv_rehearse_yaml_get(yaml, root, "repeat"), &repeat);
	if (repeat && node)
		rv_rehearse_yaml_fault(yaml, node, "either rounds or repeat, not both");
	scenario->rounds = repeat ? 0 : (int)rounds;
}

static void read_all(struct rv_rehearse_yaml *yaml, struct rv_rehearse_scenario *scenario)
{
	static const char *const known[] = {"scenario",	   "seed",   "rounds", "repeat", "lasts",
					    "step",	   "line",   "load",   "winch",	 "cells",
					    "instruments", "faults", NULL};
	const struct rv_yaml_node *root = rv_rehearse_yaml_root(yaml);
	double seed = 1;

	rv_rehearse_yaml_keys(yaml, root, known);
	snprintf(scenario->name, sizeof scenario->name, "%s",
		 rv_rehearse_yaml_text(yaml, rv_rehearse_yaml_need(yaml, root, "scenario")));
	take(yaml, root, "seed", RV_REHEARSE_WHOLE, &seed);
	scenario->seed = (uint64_t)fabs(seed);
	read_rounds(yaml, root, scenario);
	scenario->step_s = 0.002;
	take(yaml, root, "step", RV_REHEARSE_TIME, &scenario->step_s);
	if (!(scenario->step_s >= 0.0005 && scenario->step_s <= 0.01))
		rv_rehearse_yaml_fault(yaml, root, "a step is 0.5 ms to 10 ms");
	read_line(yaml, rv_rehearse_yaml_need(yaml, root, "line"), &scenario->line);
	read_load(yaml, rv_rehearse_yaml_need(yaml, root, "load"), &scenario->load);
	read_winch(yaml, rv_rehearse_yaml_need(yaml, root, "winch"), &scenario->winch);
	read_cells(yaml, rv_rehearse_yaml_get(yaml, root, "cells"), scenario);
	rv_rehearse_instruments_read(yaml, rv_rehearse_yaml_need(yaml, root, "instruments"),
				     scenario);
	take_least(yaml, root, "lasts", RV_REHEARSE_TIME, &scenario->lasts_s);
	read_faults(yaml, rv_rehearse_yaml_get(yaml, root, "faults"), scenario);
}

enum rv_err rv_rehearse_scenario_read(const char *text, size_t len,
				      struct rv_rehearse_scenario *scenario, struct rv_error *error)
{
	struct rv_rehearse_yaml *yaml;
	enum rv_err err = rv_rehearse_yaml_open(text, len, &yaml, error);

	if (err != RV_OK)
		return err;
	memset(scenario, 0, sizeof *scenario);
	read_all(yaml, scenario);
	err = rv_rehearse_yaml_failed(yaml);
	rv_rehearse_yaml_close(yaml);
	return err;
}
