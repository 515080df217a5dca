/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/engine_runs.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/engine_loads.h"

/* A load is there while it was seen within this time. */
static const int64_t short_ns = 500000000;

void rv_engine_runs_init(struct rv_engine *engine, const struct rv_recorder_start *found)
{
	const char *was = found->open_run_rig;
	const char *is = engine->ground ? engine->ground->text : NULL;
	bool same_rig = was && is ? strcmp(was, is) == 0 : was == is;

	engine->last_run = found->last_run;
	if (found->ended_run != 0)
		rv_log(RV_LOG_NOTICE, "record", "run %lld was ended at its last reading: %s",
		       (long long)found->ended_run, found->ended_why);
	if (found->open_run == 0)
		return;
	engine->run.number = found->open_run;
	engine->run.from_us = found->open_run_from_us;
	engine->run.by_itself = strcmp(found->open_run_how, "by itself") == 0;
	memcpy(engine->run.name, found->open_run_name, sizeof engine->run.name);
	/* Nobody knows for how long the load has been gone: it counts from now. */
	engine->loaded_ns = rv_clock_mono_ns() - short_ns;
	if (same_rig) {
		rv_log(RV_LOG_NOTICE, "record", "run %lld goes on", (long long)found->open_run);
		return;
	}
	struct rv_entry entry = {.kind = RV_ENTRY_RUN_CLOSE, .t_us = found->newest_us + 1};
	entry.run_close.number = found->open_run;
	snprintf(entry.run_close.why, sizeof entry.run_close.why, "another rig at the next start");
	if (rv_engine_put(engine, &entry) == RV_OK)
		engine->run.number = 0;
}

static bool is_all_digits(const char *name)
{
	for (; *name; name++)
		if (!isdigit((unsigned char)*name))
			return false;
	return true;
}

static enum rv_err check_name(struct rv_engine *engine, const char *name, struct rv_error *error)
{
	if (name[0] == '\0' || strlen(name) >= sizeof engine->run.name || is_all_digits(name))
		return rv_err_refuse(error, "bad_name",
				     "a run's name has 1 to %zu letters and is not all digits",
				     sizeof engine->run.name - 1);
	if (rv_recorder_knows_run(engine->recorder, name))
		return rv_err_refuse(error, "name_taken",
				     "the record has a run named %s; names are never used twice",
				     name);
	return RV_OK;
}

enum rv_err rv_engine_runs_open(struct rv_engine *engine, const char *name, bool by_itself,
				struct rv_ticket *ticket, struct rv_error *error)
{
	int64_t number = engine->last_run + 1;
	struct rv_entry entry = {
	    .kind = RV_ENTRY_RUN_OPEN,
	    .t_us = rv_clock_row_us(by_itself ? engine->loaded_ns : rv_clock_mono_ns()),
	    .ticket = ticket,
	};

	if (engine->run.number != 0)
		return rv_err_refuse(error, "run_open", "run %lld, %s, is open: stop it first",
				     (long long)engine->run.number, engine->run.name);
	if (name && name[0]) {
		enum rv_err err = check_name(engine, name, error);
		if (err != RV_OK)
			return err;
		snprintf(entry.run_open.name, sizeof entry.run_open.name, "%s", name);
	} else {
		int again = 1;
		snprintf(entry.run_open.name, sizeof entry.run_open.name, "run %lld",
			 (long long)number);
		while (rv_recorder_knows_run(engine->recorder, entry.run_open.name))
			snprintf(entry.run_open.name, sizeof entry.run_open.name, "run %lld-%d",
				 (long long)number, ++again);
	}
	entry.run_open.number = number;
	snprintf(entry.run_open.how, sizeof entry.run_open.how, "%s",
		 by_itself ? "by itself" : "by hand");
	if (engine->ground) {
		entry.run_open.rig_text = strdup(engine->ground->text);
		if (!entry.run_open.rig_text)
			return rv_err_set(error, RV_ERR_NOMEM, "no memory for the run's rig");
		snprintf(entry.run_open.rig_name, sizeof entry.run_open.rig_name, "%s",
			 engine->ground->rig.name);
	}
	enum rv_err err = rv_engine_put(engine, &entry);
	if (err != RV_OK)
		return rv_err_set(error, err, "the record cannot take it now: it is full or stuck");
	engine->last_run = number;
	engine->run.number = number;
	engine->run.from_us = entry.t_us;
	engine->run.by_itself = by_itself;
	memcpy(engine->run.name, entry.run_open.name, sizeof engine->run.name);
	for (int i = 0; i < engine->station->channels; i++)
		engine->channel[i].peak = (double)NAN;
	engine->news = true;
	return RV_OK;
}

enum rv_err rv_engine_runs_close(struct rv_engine *engine, const char *why,
				 struct rv_ticket *ticket)
{
	struct rv_entry entry = {
	    .kind = RV_ENTRY_RUN_CLOSE,
	    .t_us = rv_clock_row_us(rv_clock_mono_ns()),
	    .ticket = ticket,
	};

	entry.run_close.number = engine->run.number;
	snprintf(entry.run_close.why, sizeof entry.run_close.why, "%s", why);
	enum rv_err err = rv_engine_put(engine, &entry);
	if (err != RV_OK)
		return err;
	engine->run.number = 0;
	engine->news = true;
	return RV_OK;
}

/* A run stopped by hand under load stays stopped until the load has gone once. */
static bool should_open(const struct rv_engine *engine)
{
	return engine->run.number == 0 && !engine->stopped_under_load;
}

static bool is_loaded(const struct rv_engine *engine, int64_t mono_ns)
{
	return engine->loaded_ns != 0 && mono_ns - engine->loaded_ns < short_ns;
}

void rv_engine_runs_loaded(struct rv_engine *engine, int64_t mono_ns)
{
	bool was_loaded = is_loaded(engine, mono_ns);

	engine->loaded_ns = mono_ns;
	/* Where it fails the tick says so and tries again. */
	if (!was_loaded && should_open(engine))
		(void)rv_engine_runs_open(engine, NULL, true, NULL, NULL);
}

/* Whether anything could tell of a load. */
static bool sees_tension(const struct rv_engine *engine, int64_t mono_ns)
{
	for (int i = 0; i < engine->station->channels; i++)
		if (engine->station->channel[i].quantity == RV_TENSION &&
		    rv_engine_loads_is_live(&engine->channel[i], mono_ns))
			return true;
	return false;
}

void rv_engine_runs_tick(struct rv_engine *engine, int64_t mono_ns)
{
	const struct rv_station *station = engine->station;
	struct rv_error error;

	if (isnan(station->open_above_n))
		return;
	bool loaded = is_loaded(engine, mono_ns);
	double idle_s = rv_engine_seconds(mono_ns - engine->loaded_ns);
	if (loaded && should_open(engine))
		if (rv_engine_runs_open(engine, NULL, true, NULL, &error) != RV_OK)
			rv_log(RV_LOG_ERROR, "record", "no run opened: %s", error.text);
	bool sees = sees_tension(engine, mono_ns);
	if (!loaded && sees)
		engine->stopped_under_load = false;
	if (engine->run.number != 0 && engine->run.by_itself && idle_s >= station->close_after_s)
		if (rv_engine_runs_close(engine, sees ? "no load" : "no readings", NULL) != RV_OK)
			engine->news = true;
}
