/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/engine.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/engine_alarms.h"
#include "daemon/engine_intake.h"
#include "daemon/engine_outputs.h"
#include "daemon/engine_publish.h"
#include "daemon/engine_rig.h"
#include "daemon/engine_runs.h"
#include "daemon/engine_state.h"
#include "daemon/engine_wish.h"

static const int64_t tick_ns = 50000000; /* 20 snapshots a second */
static const int64_t second_ns = 1000000000;
static const int64_t drift_us = 20000; /* a new clock anchor when the wall clock is off by this */
static const int64_t step_us = 500000; /* and from here on it is called a step */

/* The wall clock against row time: an anchor for each change, an event for a step. */
static void watch_clock(struct rv_engine *engine, int64_t mono_ns)
{
	int64_t t_us = rv_clock_row_us(mono_ns), utc_us = rv_clock_mono_to_utc_us(mono_ns);
	int64_t moved_us = utc_us - t_us - engine->anchored_us;
	bool stepped = llabs(moved_us) >= step_us;
	struct rv_entry entry = {.kind = RV_ENTRY_ANCHOR, .t_us = t_us};

	bool trusted = rv_clock_is_trusted();
	if (llabs(moved_us) < drift_us && trusted == engine->anchored_trusted)
		return;
	entry.anchor.mono_ns = mono_ns;
	entry.anchor.utc_us = utc_us;
	entry.anchor.trusted = trusted;
	snprintf(entry.anchor.why, sizeof entry.anchor.why, "%s",
		 stepped		      ? "step"
		 : llabs(moved_us) < drift_us ? "trust"
					      : "drift");
	if (rv_engine_put(engine, &entry) != RV_OK)
		return; /* tried again in a second */
	engine->anchored_us = utc_us - t_us;
	engine->anchored_trusted = trusted;
	if (!stepped)
		return;
	struct rv_entry event = {.kind = RV_ENTRY_DEVICE, .t_us = t_us};
	event.device.device = -1;
	event.device.until_us = t_us;
	strcpy(event.device.what, "clock step");
	snprintf(event.device.text, sizeof event.device.text, "by %.3f s", (double)moved_us / 1e6);
	if (rv_engine_put(engine, &event) == RV_OK)
		rv_log(RV_LOG_NOTICE, "system", "the wall clock stepped %s", event.device.text);
}

static void each_second(struct rv_engine *engine, int64_t mono_ns)
{
	watch_clock(engine, mono_ns);
	rv_engine_intake_tell_lost(engine);
	rv_recorder_state(engine->recorder, &engine->record);
	rv_guards_record(&engine->guards, engine->record.failing, engine->record.text);
}

/* After a suspend or a stopped process missed ticks are not made up for. */
static int64_t next_after(int64_t due_ns, int64_t now_ns, int64_t period_ns)
{
	return due_ns + period_ns > now_ns ? due_ns + period_ns : now_ns + period_ns;
}

static void tick(struct rv_engine *engine, int64_t mono_ns)
{
	if (mono_ns >= engine->second_ns) {
		each_second(engine, mono_ns);
		engine->second_ns = next_after(engine->second_ns, mono_ns, second_ns);
	}
	rv_engine_intake_tick(engine, mono_ns);
	rv_engine_alarms_tick(engine, mono_ns);
	rv_engine_runs_tick(engine, mono_ns);
	rv_engine_outputs_drive(engine);
	rv_engine_publish(engine, mono_ns);
	engine->tick_ns = next_after(engine->tick_ns, mono_ns, tick_ns);
}

static void take(struct rv_engine *engine, const struct rv_intake *intake)
{
	switch (intake->kind) {
	case RV_INTAKE_WISH:
		rv_engine_wish_answer(engine, intake->wish);
		break;
	case RV_INTAKE_OUTPUT_FAILED:
	case RV_INTAKE_OUTPUT_WORKS:
		rv_engine_outputs_take(engine, intake);
		break;
	case RV_INTAKE_MESSAGE:
	case RV_INTAKE_LOST:
	case RV_INTAKE_OPENED:
	case RV_INTAKE_CLOSED:
		rv_engine_intake_take(engine, intake);
		break;
	}
	if (engine->news)
		rv_engine_outputs_drive(engine);
}

static void *run(void *context)
{
	struct rv_engine *engine = context;

	while (!engine->stopping) {
		size_t count =
		    rv_ring_take(engine->intake, engine->batch, RV_ENGINE_BATCH, engine->tick_ns);
		for (size_t i = 0; i < count; i++) {
			const struct rv_intake *intake = &engine->batch[i];
			take(engine, intake);
			if (engine->news)
				rv_engine_publish(engine, rv_clock_mono_ns());
		}
		int64_t now_ns = rv_clock_mono_ns();
		if (now_ns >= engine->tick_ns)
			tick(engine, now_ns);
	}
	rv_engine_intake_tell_lost(engine);
	return NULL;
}

enum rv_err rv_engine_start(const struct rv_engine_setup *setup, struct rv_engine **engine,
			    struct rv_error *error)
{
	struct rv_engine *made = calloc(1, sizeof *made);

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the engine");
	made->station = setup->station;
	made->recorder = setup->recorder;
	made->board = setup->board;
	made->intake = setup->intake;
	made->outputs = setup->outputs;
	pthread_mutex_init(&made->rig_lock, NULL);
	int64_t now_ns = rv_clock_mono_ns();
	made->tick_ns = made->second_ns = now_ns;
	made->anchored_us = rv_clock_mono_to_utc_us(now_ns) - rv_clock_row_us(now_ns);
	made->anchored_trusted = rv_clock_is_trusted();
	rv_conditions_init(&made->conditions, made->station);
	rv_engine_intake_init(made, &setup->found);
	rv_engine_rig_init(made, setup);
	rv_engine_runs_init(made, &setup->found);
	rv_recorder_state(made->recorder, &made->record);
	rv_engine_publish(made, now_ns);
	if (pthread_create(&made->thread, NULL, run, made) != 0) {
		rv_engine_rig_free(made);
		free(made);
		return rv_err_set(error, RV_ERR_SYSTEM, "cannot start the engine's thread");
	}
	*engine = made;
	return RV_OK;
}

void rv_engine_stop(struct rv_engine *engine)
{
	if (!engine)
		return;
	rv_engine_wish_stop(engine);
	pthread_join(engine->thread, NULL);
	rv_engine_rig_free(engine);
	pthread_mutex_destroy(&engine->rig_lock);
	free(engine);
}
