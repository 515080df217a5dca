/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/engine_rig.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/engine_alarms.h"
#include "daemon/engine_geometry.h"
#include "daemon/engine_intake.h"
#include "daemon/engine_loads.h"
#include "daemon/engine_pull.h"
#include "daemon/engine_runs.h"

/* Everything that follows from which rig lies on the ground. */
static void arrange(struct rv_engine *engine)
{
	rv_engine_loads_init(engine);
	rv_engine_intake_ropes(engine);
	rv_engine_pull_init(engine);
	rv_conditions_forget_parts(&engine->conditions);
	rv_engine_alarms_init(engine, rv_clock_mono_ns());
	rv_engine_geometry_init(engine);
	if (engine->ground && !engine->ground->predictor)
		rv_log(RV_LOG_WARNING, "config",
		       "rig %s cannot be solved, so none of its parts is watched, only the "
		       "channels are: %s",
		       engine->ground->rig.name, engine->ground->why);
}

static enum rv_err tell_record(struct rv_engine *engine, const struct rv_ground *ground,
			       bool by_page, struct rv_ticket *ticket)
{
	struct rv_entry entry = {
	    .kind = RV_ENTRY_RIG,
	    .t_us = rv_clock_row_us(rv_clock_mono_ns()),
	    .ticket = ticket,
	};

	entry.rig.by_page = by_page;
	if (ground) {
		entry.rig.text = strdup(ground->text);
		if (!entry.rig.text)
			return RV_ERR_NOMEM;
		snprintf(entry.rig.name, sizeof entry.rig.name, "%s", ground->rig.name);
	}
	return rv_engine_put(engine, &entry);
}

/* The rig that was set from the page, or the station's own when there is none or it no longer
 * reads. */
static struct rv_ground *first_rig(const struct rv_engine_setup *setup, bool *by_page)
{
	const struct rv_recorder_start *found = &setup->found;
	struct rv_ground *ground = NULL;
	struct rv_error error = {0};

	*by_page = false;
	if (!found->rig_is_set)
		return setup->rig;
	if (found->rig_text && rv_ground_from_text(found->rig_text, &ground, &error) != RV_OK) {
		rv_log(RV_LOG_ERROR, "record",
		       "the rig set from the page, %s, no longer reads (line %d: %s): using the "
		       "station's own",
		       found->rig_name, error.line, error.text);
		return setup->rig;
	}
	rv_log(RV_LOG_NOTICE, "record", "using the rig set from the page: %s", found->rig_name);
	*by_page = true;
	return ground;
}

void rv_engine_rig_init(struct rv_engine *engine, const struct rv_engine_setup *setup)
{
	bool by_page;

	engine->ground = first_rig(setup, &by_page);
	engine->own_ground = setup->rig;
	arrange(engine);
	if (!by_page && tell_record(engine, engine->ground, false, NULL) != RV_OK)
		rv_log(RV_LOG_ERROR, "record", "the rig could not be written");
}

/* Under rig_lock: nobody will look at it again, so it goes as soon as the last looker has left. */
static void retire(struct rv_engine *engine, struct rv_ground *ground)
{
	for (int i = 0; i < RV_RETIRED; i++) {
		if (!engine->retired[i]) {
			engine->retired[i] = ground;
			return;
		}
	}
}

static void free_retired(struct rv_engine *engine)
{
	for (int i = 0; i < RV_RETIRED; i++) {
		rv_ground_free(engine->retired[i]);
		engine->retired[i] = NULL;
	}
}

static bool has_room(const struct rv_engine *engine)
{
	for (int i = 0; i < RV_RETIRED; i++)
		if (!engine->retired[i])
			return true;
	return false;
}

enum rv_err rv_engine_rig_set(struct rv_engine *engine, struct rv_ground *ground,
			      struct rv_ticket *ticket, struct rv_error *error)
{
	bool by_page = ground != NULL;

	pthread_mutex_lock(&engine->rig_lock);
	bool room = has_room(engine);
	pthread_mutex_unlock(&engine->rig_lock);
	if (!room)
		return rv_err_refuse(error, "busy", "the rig was changed too often just now");
	if (engine->run.number != 0 &&
	    rv_engine_runs_close(engine, "another rig was set", NULL) != RV_OK)
		return rv_err_set(error, RV_ERR_STORE, "the record cannot end the run now");
	/* Told before it is done: what the record does not take is not done. */
	struct rv_ground *next = by_page ? ground : engine->own_ground;
	if (tell_record(engine, next, by_page, ticket) != RV_OK)
		return rv_err_set(error, RV_ERR_STORE, "the record cannot take the rig now");
	pthread_mutex_lock(&engine->rig_lock);
	if (engine->ground && engine->ground != engine->own_ground)
		retire(engine, engine->ground);
	engine->ground = next;
	engine->rig_number++;
	if (engine->lookers == 0)
		free_retired(engine);
	pthread_mutex_unlock(&engine->rig_lock);
	arrange(engine);
	engine->news = true;
	return RV_OK;
}

const struct rv_ground *rv_engine_rig(struct rv_engine *engine, int *number)
{
	pthread_mutex_lock(&engine->rig_lock);
	const struct rv_ground *ground = engine->ground;
	*number = engine->rig_number;
	engine->lookers++;
	pthread_mutex_unlock(&engine->rig_lock);
	return ground;
}

void rv_engine_rig_done(struct rv_engine *engine, const struct rv_ground *ground)
{
	(void)ground;
	pthread_mutex_lock(&engine->rig_lock);
	if (--engine->lookers == 0)
		free_retired(engine);
	pthread_mutex_unlock(&engine->rig_lock);
}

void rv_engine_rig_free(struct rv_engine *engine)
{
	free_retired(engine);
	if (engine->ground != engine->own_ground)
		rv_ground_free(engine->ground);
	rv_ground_free(engine->own_ground);
}
