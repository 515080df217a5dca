/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/engine_wish.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/engine_alarms.h"
#include "daemon/engine_rig.h"
#include "daemon/engine_runs.h"

/* How long a person waits for the disk before hearing "taken, but not yet on disk". */
static const int64_t patience_ns = 5000000000;

static enum rv_err mark(struct rv_engine *engine, const struct rv_wish *wish,
			struct rv_error *error)
{
	struct rv_entry entry = {
	    .kind = RV_ENTRY_MARK,
	    .t_us = rv_clock_row_us(rv_clock_mono_ns()),
	    .ticket = wish->ticket,
	};

	entry.mark.travel_m = wish->travel_m;
	snprintf(entry.mark.text, sizeof entry.mark.text, "%s", wish->text);
	snprintf(entry.mark.by_whom, sizeof entry.mark.by_whom, "%s", wish->by_whom);
	if (rv_engine_put(engine, &entry) != RV_OK)
		return rv_err_set(error, RV_ERR_STORE, "the record cannot take it now");
	return RV_OK;
}

/* Nothing live depends on it: it only goes to the record, after all that came before. */
static enum rv_err strike(struct rv_engine *engine, const struct rv_wish *wish,
			  struct rv_error *error)
{
	struct rv_entry entry = {
	    .kind = RV_ENTRY_STRIKE,
	    .t_us = rv_clock_row_us(rv_clock_mono_ns()),
	    .ticket = wish->ticket,
	    .strike = *wish->strike,
	};

	entry.strike.t_us = entry.t_us;
	if (rv_engine_put(engine, &entry) != RV_OK)
		return rv_err_set(error, RV_ERR_STORE, "the record cannot take it now");
	return RV_OK;
}

static enum rv_err stop_run(struct rv_engine *engine, const struct rv_wish *wish,
			    struct rv_error *error)
{
	if (engine->run.number == 0)
		return rv_err_refuse(error, "no_run", "no run is open");
	if (engine->run.number != wish->number)
		return rv_err_refuse(error, "stale", "run %lld is open, not %lld",
				     (long long)engine->run.number, (long long)wish->number);
	enum rv_err err = rv_engine_runs_close(engine, "by hand", wish->ticket);
	engine->stopped_under_load |= err == RV_OK;
	return err;
}

static enum rv_err start_run(struct rv_engine *engine, struct rv_wish *wish, struct rv_error *error)
{
	enum rv_err err = rv_engine_runs_open(engine, wish->name, false, wish->ticket, error);

	wish->number = engine->run.number;
	return err;
}

static enum rv_err set_rig(struct rv_engine *engine, struct rv_wish *wish, struct rv_error *error)
{
	enum rv_err err = rv_engine_rig_set(engine, wish->ground, wish->ticket, error);

	if (err == RV_OK)
		wish->ground = NULL;
	return err;
}

static enum rv_err fulfil(struct rv_engine *engine, struct rv_wish *wish, struct rv_error *error)
{
	switch (wish->kind) {
	case RV_WISH_START_RUN:
		return start_run(engine, wish, error);
	case RV_WISH_STOP_RUN:
		return stop_run(engine, wish, error);
	case RV_WISH_MARK:
		return mark(engine, wish, error);
	case RV_WISH_ACKNOWLEDGE:
	case RV_WISH_RESET:
		return rv_engine_alarms_answer(engine, wish->name, wish->kind == RV_WISH_RESET,
					       wish->by_whom, wish->ticket, error);
	case RV_WISH_SET_RIG:
		return set_rig(engine, wish, error);
	case RV_WISH_STRIKE:
		return strike(engine, wish, error);
	case RV_WISH_STOP_ENGINE:
		engine->stopping = true;
		return RV_OK;
	}
	return RV_ERR_UNKNOWN;
}

void rv_engine_wish_answer(struct rv_engine *engine, struct rv_wish *wish)
{
	struct rv_error error = {0};

	engine->ticket_used = false;
	enum rv_err err = fulfil(engine, wish, &error);

	pthread_mutex_lock(&wish->lock);
	wish->err = err;
	wish->error = error;
	wish->carried = engine->ticket_used;
	wish->answered = true;
	pthread_cond_signal(&wish->change);
	pthread_mutex_unlock(&wish->lock);
}

/* Asking thread: hands the wish in and waits for the engine's answer. */
static enum rv_err hand_in(struct rv_engine *engine, struct rv_wish *wish)
{
	struct rv_intake intake = {.kind = RV_INTAKE_WISH, .wish = wish};

	pthread_mutex_init(&wish->lock, NULL);
	pthread_cond_init(&wish->change, NULL);
	enum rv_err err = rv_ring_put(engine->intake, &intake);
	if (err == RV_OK) {
		pthread_mutex_lock(&wish->lock);
		while (!wish->answered)
			pthread_cond_wait(&wish->change, &wish->lock);
		pthread_mutex_unlock(&wish->lock);
		err = wish->err;
	} else {
		err = rv_err_set(&wish->error, RV_ERR_BUSY, "reeve is flooded with readings");
	}
	pthread_cond_destroy(&wish->change);
	pthread_mutex_destroy(&wish->lock);
	return err;
}

void rv_engine_wish_stop(struct rv_engine *engine)
{
	struct rv_wish wish = {.kind = RV_WISH_STOP_ENGINE};

	/* The readers have stopped: a full ring empties. */
	while (hand_in(engine, &wish) == RV_ERR_BUSY)
		rv_clock_sleep_until(rv_clock_mono_ns() + 1000000);
}

static enum rv_err ask(struct rv_engine *engine, struct rv_wish *wish, struct rv_error *error)
{
	enum rv_err err = rv_ticket_new(&wish->ticket);

	if (err != RV_OK)
		return rv_err_set(error, err, "no memory");
	err = hand_in(engine, wish);
	if (err != RV_OK) {
		if (!wish->carried)
			rv_ticket_drop(wish->ticket);
		else if (rv_ticket_wait(wish->ticket, 0) == RV_OK)
			return RV_OK; /* the entry is in the record after all */
		if (error)
			*error = wish->error;
		return err;
	}
	err = rv_ticket_wait(wish->ticket, rv_clock_mono_ns() + patience_ns);
	if (err == RV_ERR_AGAIN)
		return rv_err_set(error, err, "taken, but not yet on disk: the disk is slow");
	if (err != RV_OK)
		return rv_err_set(error, err, "the record refused it");
	return RV_OK;
}

enum rv_err rv_engine_start_run(struct rv_engine *engine, const char *name, int64_t *number,
				struct rv_error *error)
{
	struct rv_wish wish = {.kind = RV_WISH_START_RUN, .name = name};
	enum rv_err err = ask(engine, &wish, error);

	if (err == RV_OK || err == RV_ERR_AGAIN)
		*number = wish.number;
	return err;
}

enum rv_err rv_engine_stop_run(struct rv_engine *engine, int64_t number, struct rv_error *error)
{
	struct rv_wish wish = {.kind = RV_WISH_STOP_RUN, .number = number};

	return ask(engine, &wish, error);
}

enum rv_err rv_engine_mark(struct rv_engine *engine, const char *text, double travel_m,
			   const char *by_whom, struct rv_error *error)
{
	struct rv_wish wish = {
	    .kind = RV_WISH_MARK,
	    .text = text,
	    .travel_m = travel_m,
	    .by_whom = by_whom,
	};

	return ask(engine, &wish, error);
}

enum rv_err rv_engine_acknowledge(struct rv_engine *engine, const char *alarm, const char *by_whom,
				  struct rv_error *error)
{
	struct rv_wish wish = {.kind = RV_WISH_ACKNOWLEDGE, .name = alarm, .by_whom = by_whom};

	return ask(engine, &wish, error);
}

enum rv_err rv_engine_reset(struct rv_engine *engine, const char *alarm, const char *by_whom,
			    struct rv_error *error)
{
	struct rv_wish wish = {.kind = RV_WISH_RESET, .name = alarm, .by_whom = by_whom};

	return ask(engine, &wish, error);
}

enum rv_err rv_engine_set_rig(struct rv_engine *engine, struct rv_ground *rig,
			      struct rv_error *error)
{
	struct rv_wish wish = {.kind = RV_WISH_SET_RIG, .ground = rig};
	enum rv_err err = ask(engine, &wish, error);

	rv_ground_free(wish.ground);
	return err;
}

enum rv_err rv_engine_strike(struct rv_engine *engine, const struct rv_store_strike *strike,
			     struct rv_error *error)
{
	struct rv_wish wish = {.kind = RV_WISH_STRIKE, .strike = strike};

	return ask(engine, &wish, error);
}
