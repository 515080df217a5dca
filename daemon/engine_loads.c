/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/engine_loads.h"

#include "daemon/engine_alarms.h"

#include <math.h>
#include <string.h>

static const struct rv_span no_span = {(double)NAN, (double)NAN, (double)NAN};

bool rv_engine_loads_is_live(const struct rv_engine_channel *channel, int64_t mono_ns)
{
	return channel->good_ns != 0 && channel->last.quality != RV_BAD &&
	       rv_engine_seconds(mono_ns - channel->good_ns) <= channel->stale_s;
}

int rv_engine_loads_channel(const struct rv_engine *engine, int cell)
{
	for (int i = 0; i < engine->station->channels; i++)
		if (engine->channel[i].cell == cell)
			return i;
	return -1;
}

double rv_engine_loads_measured(const struct rv_engine *engine, int cell, int64_t mono_ns)
{
	int channel = cell < 0 ? -1 : rv_engine_loads_channel(engine, cell);

	if (channel < 0 || !rv_engine_loads_is_live(&engine->channel[channel], mono_ns))
		return (double)NAN;
	return engine->channel[channel].last.value;
}

enum rv_motion rv_engine_loads_motion(const struct rv_engine *engine)
{
	/* With one winch its line is the one that moves.  With several, which of them moves the
	 * cell's line is not told apart: the loads then span both directions. */
	return engine->ropes == 1 ? engine->rope[0].now.motion : RV_MOTION_UNKNOWN;
}

/* The load by the cell itself, NaN when it is not live or not to be believed: a cell that was
 * zeroed or is frozen must not hide what the part it sits in carries. */
static double believed(const struct rv_engine *engine, int cell, int64_t mono_ns)
{
	double measured_n = rv_engine_loads_measured(engine, cell, mono_ns);

	if (!isnan(measured_n) &&
	    rv_guards_doubts(&engine->guards, rv_engine_loads_channel(engine, cell)))
		return (double)NAN;
	return measured_n;
}

/* The live cell nearest the winch, leaving one out and those that cannot be believed; -1 = none.
 * Cells that no line joins to the winch come last, and behind them those that are not good. */
static int nearest_cell(const struct rv_engine *engine, int but, int64_t mono_ns)
{
	const struct rv_predictor *predictor = engine->ground->moving;
	int best = -1, best_distance = 0;

	for (int cell = 0; cell < engine->ground->rig.cells; cell++) {
		if (cell == but || isnan(believed(engine, cell, mono_ns)))
			continue;
		int distance = rv_predictor_cell_distance(predictor, cell);
		if (distance < 0)
			distance = RV_RIG_LEGS;
		/* One that is beyond its instrument says less than any that is not. */
		if (engine->channel[rv_engine_loads_channel(engine, cell)].last.quality != RV_GOOD)
			distance += RV_RIG_LEGS + 1;
		if (best < 0 || distance < best_distance) {
			best = cell;
			best_distance = distance;
		}
	}
	return best;
}

static bool predict(const struct rv_engine *engine, int cell, int64_t mono_ns,
		    struct rv_loads *loads)
{
	return cell >= 0 && rv_predictor_loads(engine->ground->moving, cell,
					       rv_engine_loads_measured(engine, cell, mono_ns),
					       rv_engine_loads_motion(engine), loads) == RV_OK;
}

struct rv_span rv_engine_loads_elsewhere(const struct rv_engine *engine, int cell, int64_t mono_ns)
{
	struct rv_loads loads;

	if (!engine->ground || !engine->ground->moving)
		return no_span;
	if (engine->given >= 0 && engine->given != cell)
		return engine->loads.cell[cell];
	if (!predict(engine, nearest_cell(engine, cell, mono_ns), mono_ns, &loads))
		return no_span;
	return loads.cell[cell];
}

static bool same(double a, double b)
{
	return fabs(a - b) <= 1e-9 * fabs(b);
}

static bool is_just(struct rv_span span, double force_n)
{
	return same(span.low_n, force_n) && same(span.high_n, force_n);
}

/* A part is measured by a cell when its load is the cell's, whatever the friction and whichever
 * way the line moves: found by asking the predictor, so that no case has to be listed. */
static void find_measured_by(struct rv_engine *engine, int cell)
{
	static const double probe_n[] = {1000.0, 3000.0};
	const struct rv_predictor *predictor = engine->ground->moving;
	bool part_is[RV_COMPONENTS], leg_is[RV_RIG_LEGS];
	struct rv_loads loads;

	memset(part_is, 1, sizeof part_is);
	memset(leg_is, 1, sizeof leg_is);
	for (size_t k = 0; k < 2; k++) {
		if (rv_predictor_loads(predictor, cell, probe_n[k], RV_MOTION_HOLD, &loads) !=
		    RV_OK)
			memset(&loads, 0, sizeof loads);
		for (int i = 0; i < rv_predictor_components(predictor); i++)
			part_is[i] &= is_just(loads.component[i], probe_n[k]);
		for (int i = 0; i < rv_predictor_legs(predictor); i++)
			leg_is[i] &= is_just(loads.leg[i], probe_n[k]);
	}
	for (int i = 0; i < rv_predictor_components(predictor); i++)
		if (part_is[i] && engine->component_cell[i] < 0)
			engine->component_cell[i] = cell;
	for (int i = 0; i < rv_predictor_legs(predictor); i++)
		if (leg_is[i] && engine->leg_cell[i] < 0)
			engine->leg_cell[i] = cell;
}

void rv_engine_loads_measures(struct rv_engine *engine)
{
	const struct rv_predictor *predictor = engine->ground->moving;

	for (int i = 0; i < RV_COMPONENTS; i++)
		engine->component_cell[i] = -1;
	for (int i = 0; i < RV_RIG_LEGS; i++)
		engine->leg_cell[i] = -1;
	for (int cell = 0; predictor && cell < engine->ground->rig.cells; cell++)
		if (rv_engine_loads_channel(engine, cell) >= 0)
			find_measured_by(engine, cell);
}

void rv_engine_loads_init(struct rv_engine *engine)
{
	const struct rv_rig *rig = engine->ground ? &engine->ground->rig : NULL;

	for (int i = 0; i < engine->station->channels; i++) {
		const struct rv_channel *channel = &engine->station->channel[i];
		struct rv_engine_channel *state = &engine->channel[i];
		state->cell = rig && channel->quantity == RV_TENSION && channel->cell[0]
				  ? rv_rig_find_cell(rig, channel->cell)
				  : -1;
		if (rig && channel->winch[0])
			state->winch = rv_rig_find_winch(rig, channel->winch);
		else
			state->winch = rig && rig->winches > 1 ? -1 : 0;
	}
	engine->given = -1;
	if (engine->ground)
		rv_engine_loads_measures(engine);
}

static struct rv_live_load load_of(const struct rv_engine *engine, int cell, struct rv_span span,
				   int64_t mono_ns)
{
	double measured_n = believed(engine, cell, mono_ns);

	if (!isnan(measured_n))
		return (struct rv_live_load){{measured_n, measured_n, measured_n}, true};
	return (struct rv_live_load){engine->given >= 0 ? span : no_span, false};
}

/* A line's load is that of its heaviest leg, so it is measured when that leg is. */
static struct rv_live_load rope_load(const struct rv_engine *engine, int part)
{
	const struct rv_predictor *predictor = engine->ground->moving;
	const char *name = rv_predictor_component(predictor, part)->name;
	struct rv_live_load heaviest = {no_span, false};

	for (int i = 0; i < rv_predictor_legs(predictor); i++) {
		const struct rv_leg *leg = rv_predictor_leg(predictor, i);
		const struct rv_live_load *load = &engine->live.leg[i];
		if (strcmp(engine->ground->rig.rope[leg->rope].name, name) != 0)
			continue;
		if (isnan(heaviest.load.high_n) || load->load.high_n > heaviest.load.high_n)
			heaviest = *load;
	}
	return heaviest;
}

void rv_engine_loads_update(struct rv_engine *engine, int64_t mono_ns)
{
	const struct rv_predictor *predictor = engine->ground ? engine->ground->moving : NULL;

	if (!predictor)
		return;
	engine->given = nearest_cell(engine, -1, mono_ns);
	if (!predict(engine, engine->given, mono_ns, &engine->loads))
		engine->given = -1;
	for (int i = 0; i < rv_predictor_legs(predictor); i++)
		engine->live.leg[i] =
		    load_of(engine, engine->leg_cell[i], engine->loads.leg[i], mono_ns);
	int parts = rv_predictor_components(predictor);
	for (int i = 0; i < parts; i++) {
		const struct rv_component *part = rv_predictor_component(predictor, i);
		struct rv_live_load *load = &engine->live.component[i];
		*load = strcmp(part->kind, "line") == 0
			    ? rope_load(engine, i)
			    : load_of(engine, engine->component_cell[i], engine->loads.component[i],
				      mono_ns);
		engine->part[i] = (struct rv_part_load){
		    .name = part->name,
		    .limit_n = part->limit_n,
		    .load_n = load->load.high_n,
		};
	}
	uint64_t looked = rv_conditions_loads(&engine->conditions, engine->part, parts);
	rv_engine_alarms_rules(engine, looked, mono_ns);
}
