/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/engine_publish.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/engine_alarms.h"
#include "daemon/engine_loads.h"
#include "daemon/engine_pull.h"

static void fill_channels(struct rv_engine *engine, int64_t mono_ns)
{
	for (int i = 0; i < engine->station->channels; i++) {
		const struct rv_engine_channel *state = &engine->channel[i];
		struct rv_live_channel *live = &engine->live.channel[i];
		bool is_live = rv_engine_loads_is_live(state, mono_ns);
		live->value = is_live ? state->last.value : (double)NAN;
		live->raw = state->last.raw;
		live->quality = state->last.quality;
		live->cause = state->last.cause;
		live->age_s =
		    state->good_ns ? rv_engine_seconds(mono_ns - state->good_ns) : (double)NAN;
		live->rate_hz = state->rate_hz;
		live->peak = state->peak;
	}
}

static void fill_devices(struct rv_engine *engine)
{
	for (int i = 0; i < engine->station->devices; i++) {
		const struct rv_engine_device *state = &engine->device[i];
		struct rv_live_device *live = &engine->live.device[i];
		live->is_open = state->is_open;
		live->fault = state->fault;
		live->messages = state->messages;
		live->lost = state->lost;
		memcpy(live->text, state->text, sizeof live->text);
	}
}

static void fill_ropes(struct rv_engine *engine, int64_t mono_ns)
{
	const struct rv_rig *rig = engine->ground ? &engine->ground->rig : NULL;

	for (int i = 0; i < engine->ropes; i++) {
		const struct rv_engine_rope *rope = &engine->rope[i];
		struct rv_live_rope *live = &engine->live.winch[i];
		int encoder = rope->encoder;
		bool is_live =
		    encoder >= 0 && rv_engine_loads_is_live(&engine->channel[encoder], mono_ns);
		live->motion = rope->now.motion;
		live->payout_m = is_live ? rope->now.payout_m : (double)NAN;
		live->speed_mps = is_live ? rope->now.speed_mps : (double)NAN;
		live->left_m = (double)NAN;
		if (!rig || i >= rig->winches)
			continue;
		for (int k = 0; k < rig->ropes; k++) {
			const struct rv_rope *line = &rig->rope[k];
			const struct rv_step *end = &line->path[0];
			const struct rv_step *other = &line->path[line->steps - 1];
			bool its = (end->kind == RV_STEP_WINCH && end->index == i) ||
				   (other->kind == RV_STEP_WINCH && other->index == i);
			/* NaN where the length was not declared. */
			if (its)
				live->left_m = line->length_m - live->payout_m;
		}
	}
}

static void fill_cells(struct rv_engine *engine, int64_t mono_ns)
{
	int cells = engine->ground ? engine->ground->rig.cells : 0;

	for (int i = 0; i < cells; i++) {
		struct rv_live_cell *live = &engine->live.cell[i];
		live->channel = rv_engine_loads_channel(engine, i);
		live->measured_n = rv_engine_loads_measured(engine, i, mono_ns);
		live->predicted = rv_engine_loads_elsewhere(engine, i, mono_ns);
	}
}

static void find_weakest(struct rv_engine *engine)
{
	const struct rv_predictor *predictor = engine->ground ? engine->ground->predictor : NULL;
	double most = -1.0;

	engine->live.weakest = -1;
	for (int i = 0; predictor && i < rv_predictor_components(predictor); i++) {
		double use = engine->live.component[i].load.high_n /
			     rv_predictor_component(predictor, i)->limit_n;
		if (!isnan(use) && use > most) {
			most = use;
			engine->live.weakest = i;
		}
	}
}

static int newest_first(const void *a, const void *b)
{
	const struct rv_live_alarm *left = a, *right = b;

	if (left->since_ns == right->since_ns)
		return strcmp(left->name, right->name);
	return left->since_ns < right->since_ns ? 1 : -1;
}

static void fill_alarms(struct rv_engine *engine, int64_t mono_ns)
{
	struct rv_live *live = &engine->live;

	live->state = RV_STATE_NORMAL;
	live->alarms = 0;
	for (int i = 0; i < RV_ENGINE_ALARMS; i++) {
		const struct rv_engine_alarm *alarm = &engine->alarm[i];
		if (!alarm->is_listed || alarm->alarm.state == RV_ALARM_NORMAL)
			continue;
		bool is_data = rv_engine_alarms_is_data(engine, i);
		/* Danger counts whatever it tells of; a warning that tells of lost data has its
		 * place in `data`, so that it cannot be taken for one about the load. */
		if (rv_engine_alarms_counts(alarm)) {
			if (alarm->level == RV_LEVEL_DANGER)
				live->state = RV_STATE_DANGER;
			else if (!is_data && live->state == RV_STATE_NORMAL)
				live->state = RV_STATE_WARNING;
		}
		if (live->alarms == RV_LIVE_ALARMS)
			continue;
		struct rv_live_alarm *out = &live->alarm[live->alarms++];
		snprintf(out->name, sizeof out->name, "%s", rv_engine_alarms_name(engine, i));
		out->level = alarm->level;
		out->state = alarm->alarm.state;
		out->is_data = is_data;
		out->since_ns = alarm->alarm.since_ns;
		out->since_us = rv_clock_mono_to_utc_us(alarm->alarm.since_ns);
		rv_engine_alarms_text(engine, i, mono_ns, out->text, sizeof out->text);
		snprintf(out->action, sizeof out->action, "%s", rv_engine_alarms_action(engine, i));
	}
	qsort(live->alarm, (size_t)live->alarms, sizeof live->alarm[0], newest_first);
}

/* Of the channels that measure: all, some or none give live good values. */
static enum rv_data data_of(const struct rv_engine *engine, int64_t mono_ns)
{
	int good = 0;

	for (int i = 0; i < engine->station->channels; i++)
		good += rv_engine_loads_is_live(&engine->channel[i], mono_ns) &&
			engine->channel[i].last.quality == RV_GOOD;
	if (good == engine->station->channels)
		return RV_DATA_ALL;
	return good == 0 ? RV_DATA_NONE : RV_DATA_SOME;
}

static void fill_record(struct rv_engine *engine)
{
	struct rv_live *live = &engine->live;
	int64_t lost = engine->record.lost;

	for (int i = 0; i < engine->station->devices; i++)
		lost += engine->device[i].lost;
	live->record.readings = engine->record.readings;
	live->record.lost = lost;
	live->record.last_commit_mono_ns = engine->record.last_commit_mono_ns;
	live->record.failing = engine->record.failing;
	live->run.number = engine->run.number;
	memcpy(live->run.name, engine->run.name, sizeof live->run.name);
	live->run.started_us = engine->run.from_us + engine->anchored_us;
}

void rv_engine_publish(struct rv_engine *engine, int64_t mono_ns)
{
	struct rv_live *live = &engine->live;

	live->mono_ns = mono_ns;
	live->clock_trusted = rv_clock_is_trusted();
	live->simulated = engine->station->rehearsal;
	live->data = data_of(engine, mono_ns);
	live->rig_number = engine->rig_number;
	fill_channels(engine, mono_ns);
	fill_devices(engine);
	fill_ropes(engine, mono_ns);
	fill_cells(engine, mono_ns);
	find_weakest(engine);
	fill_alarms(engine, mono_ns);
	fill_record(engine);
	rv_engine_pull_publish(engine);
	rv_live_publish(engine->board, live);
	engine->news = false;
}
