/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The recorder thread.  Entries wait in the backlog until the commit that holds them has succeeded
 * and the file was still the one at its path; until then nothing of them is given up.
 *
 *   all is well   wait for an urgent entry or the end of the period; write what waits; commit
 *   it failed     the batch was rolled back and still waits; a second later open the record again
 *                 by a new connection and write it from the start
 */
#include "daemon/recorder.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/backlog.h"
#include "daemon/batch.h"
#include "daemon/clock.h"
#include "daemon/ledger.h"

enum {
	ROOM = 65536,	  /* entries: a minute at 1 kHz */
	LOG_PAGES = 1000, /* then the log is moved into the file */
	LAST_TRIES = 3,	  /* when stopping with a disk that fails */
};

/* A reading is in a commit within a second of its coming: period + the commit itself. */
#define PERIOD_NS INT64_C(800000000)
#define RETRY_NS INT64_C(1000000000)
#define CHECKPOINT_NS INT64_C(30000000000)
#define LATE_NS INT64_C(3000000000)

struct run_name {
	struct run_name *next;
	char name[2 * RV_NAME_SIZE];
};

struct rv_recorder {
	struct rv_ledger ledger;
	struct rv_backlog *backlog;
	pthread_t thread;
	bool started;

	/* The thread's own. */
	struct rv_batch batch;
	int64_t checkpoint_ns, retry_ns;
	int64_t readings; /* committed */
	bool failed;

	pthread_mutex_t lock; /* of what follows */
	struct rv_recorder_state state;
	struct run_name *names;
};

static void say_state(struct rv_recorder *recorder, bool failing, const char *text)
{
	pthread_mutex_lock(&recorder->lock);
	recorder->state.failing = failing;
	recorder->state.readings = recorder->readings;
	snprintf(recorder->state.text, sizeof recorder->state.text, "%.*s",
		 (int)sizeof recorder->state.text - 1, text);
	if (!failing)
		recorder->state.last_commit_mono_ns = rv_clock_mono_ns();
	pthread_mutex_unlock(&recorder->lock);
}

static enum rv_err checkpoint_if_due(struct rv_recorder *recorder, struct rv_error *error)
{
	int64_t now_ns = rv_clock_mono_ns();

	if (now_ns < recorder->checkpoint_ns &&
	    rv_store_log_pages(recorder->ledger.store) < LOG_PAGES)
		return RV_OK;
	recorder->checkpoint_ns = now_ns + CHECKPOINT_NS;
	enum rv_err err = rv_store_checkpoint(recorder->ledger.store, false, error);
	/* A reader in its way: the log stays as it is, the next one moves it. */
	return err == RV_ERR_BUSY ? RV_OK : err;
}

/* From when on a record that is opened again has to know the station. */
static int64_t oldest_us(struct rv_recorder *recorder, size_t count)
{
	int64_t oldest = rv_clock_row_us(rv_clock_mono_ns());

	for (size_t i = 0; i < count; i++) {
		int64_t t_us = rv_backlog_at(recorder->backlog, i)->t_us;
		oldest = t_us < oldest ? t_us : oldest;
	}
	return oldest;
}

static void fail(struct rv_recorder *recorder, const struct rv_error *error)
{
	recorder->failed = true;
	recorder->retry_ns = rv_clock_mono_ns() + RETRY_NS;
	say_state(recorder, true, error->text);
	rv_ledger_close(&recorder->ledger);
}

static enum rv_err write_batch(struct rv_recorder *recorder, struct rv_error *error)
{
	struct rv_batch *batch = &recorder->batch;
	struct rv_ledger *ledger = &recorder->ledger;

	batch->keep_count = rv_clock_mono_ns() >= recorder->checkpoint_ns;
	batch->lost = rv_backlog_take_lost(recorder->backlog);
	if (!batch->count && !batch->lost) {
		if (rv_store_has_moved(ledger->store))
			return rv_err_set(error, RV_ERR_STORE,
					  "the record was deleted, renamed or replaced");
		say_state(recorder, false, "");
		return RV_OK;
	}
	enum rv_err err = rv_batch_write(batch, ledger, recorder->backlog, error);
	if (err != RV_OK) {
		rv_backlog_give_back_lost(recorder->backlog, batch->lost);
		return err;
	}
	recorder->readings += batch->readings;
	/* Before a ticket is answered: whoever waited for it may look at the state next. */
	say_state(recorder, false, "");
	rv_batch_finish(batch, ledger, recorder->backlog);
	return RV_OK;
}

/* Writes up to `waiting` entries; true if something is left that can be written at once. */
static bool work(struct rv_recorder *recorder, size_t waiting)
{
	struct rv_error error = {0};
	struct rv_batch *batch = &recorder->batch;
	enum rv_err err = RV_OK;

	batch->count = waiting < RV_BATCH_ROOM ? waiting : RV_BATCH_ROOM;
	if (!recorder->ledger.store)
		err = rv_ledger_reopen(&recorder->ledger, oldest_us(recorder, waiting), &error);
	if (err == RV_OK)
		err = write_batch(recorder, &error);
	if (err == RV_OK) {
		recorder->failed = false;
		err = checkpoint_if_due(recorder, &error);
	}
	if (err != RV_OK)
		fail(recorder, &error);
	return err == RV_OK && waiting > batch->count;
}

static void give_up_rest(struct rv_recorder *recorder)
{
	size_t waiting = rv_backlog_wait(recorder->backlog, 0, false);

	for (size_t i = 0; i < waiting; i++)
		rv_ledger_let_go(rv_backlog_at(recorder->backlog, i), RV_ERR_STORE);
	rv_backlog_drop(recorder->backlog, waiting);
}

/* The next start takes a record without it for one that was cut off. */
static void write_stop(struct rv_recorder *recorder)
{
	struct rv_ledger *ledger = &recorder->ledger;
	enum rv_err err = rv_store_begin(ledger->store, NULL);

	if (err != RV_OK)
		return;
	err = rv_ledger_event(ledger, rv_clock_row_us(rv_clock_mono_ns()), "stop", "", NULL);
	if (err == RV_OK)
		err = rv_store_keep_count(ledger->store, NULL);
	if (err == RV_OK)
		err = rv_store_commit(ledger->store, NULL);
	if (err != RV_OK)
		rv_store_rollback(ledger->store);
}

static void *run(void *to)
{
	struct rv_recorder *recorder = to;
	bool more = false;

	while (!rv_backlog_is_closed(recorder->backlog)) {
		int64_t until_ns = rv_clock_mono_ns() + (more ? 0 : PERIOD_NS);
		if (recorder->failed)
			until_ns = recorder->retry_ns;
		size_t waiting = rv_backlog_wait(recorder->backlog, until_ns, !recorder->failed);
		more = work(recorder, waiting);
	}
	for (int tries = 0; tries < LAST_TRIES;) {
		size_t waiting = rv_backlog_wait(recorder->backlog, 0, false);
		if (!waiting)
			break;
		if (!work(recorder, waiting) && recorder->failed && ++tries < LAST_TRIES)
			rv_clock_sleep_until(recorder->retry_ns);
	}
	if (!recorder->failed)
		write_stop(recorder);
	give_up_rest(recorder);
	return NULL;
}

/* ---- opening ----------------------------------------------------------------------------- */

static bool add_name(struct rv_recorder *recorder, const char *name)
{
	struct run_name *added = calloc(1, sizeof *added);

	if (!added)
		return false;
	snprintf(added->name, sizeof added->name, "%s", name);
	pthread_mutex_lock(&recorder->lock);
	added->next = recorder->names;
	recorder->names = added;
	pthread_mutex_unlock(&recorder->lock);
	return true;
}

static enum rv_err read_names(struct rv_recorder *recorder, struct rv_error *error)
{
	struct rv_store_run *runs = NULL;
	size_t count = 0;
	enum rv_err err = rv_store_runs(recorder->ledger.store, &runs, &count, error);

	for (size_t i = 0; err == RV_OK && i < count; i++)
		if (!add_name(recorder, runs[i].name))
			err = rv_err_set(error, RV_ERR_NOMEM, "no memory for the names of runs");
	free(runs);
	return err;
}

static enum rv_err find_start(struct rv_recorder *recorder, struct rv_recorder_start *found,
			      struct rv_error *error)
{
	struct rv_ledger *ledger = &recorder->ledger;
	struct rv_store_found there = {0};
	struct rv_store_match match;
	enum rv_err err = rv_store_find(ledger->store, &there, error);

	if (err != RV_OK)
		return err;
	found->newest_us = there.newest_us;
	found->latest_us = there.latest_us;
	found->last_run = there.last_run;
	found->open_run = there.open_run;
	found->rig_is_set = there.rig_is_set;
	found->rig_text = there.rig_text.data;
	snprintf(found->rig_name, sizeof found->rig_name, "%s", there.rig_name);
	found->readings = there.readings;
	found->unclean = there.unclean;
	recorder->readings = there.readings;
	err = rv_store_match_station(ledger->store, ledger->station, &match, error);
	if (err == RV_OK && found->open_run)
		err = rv_ledger_take_up_run(ledger, &match, found, error);
	if (err == RV_OK)
		err = read_names(recorder, error);
	if (err == RV_OK) {
		memcpy(found->in_force, match.in_force, sizeof found->in_force);
		memcpy(ledger->in_force, match.in_force, sizeof ledger->in_force);
	}
	return err;
}

static void free_recorder(struct rv_recorder *recorder)
{
	while (recorder->names) {
		struct run_name *next = recorder->names->next;
		free(recorder->names);
		recorder->names = next;
	}
	rv_ledger_close(&recorder->ledger);
	rv_ledger_free_texts(&recorder->ledger);
	rv_backlog_free(recorder->backlog);
	pthread_mutex_destroy(&recorder->lock);
	free(recorder);
}

enum rv_err rv_recorder_open(const char *path, const struct rv_station *station,
			     const char *station_text, struct rv_recorder **recorder,
			     struct rv_recorder_start *found, struct rv_error *error)
{
	struct rv_recorder_start start = {0};
	struct rv_recorder *made = calloc(1, sizeof *made);

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the recorder");
	pthread_mutex_init(&made->lock, NULL);
	made->ledger.station = station;
	made->ledger.station_text = strdup(station_text);
	enum rv_err err = rv_text_copy(made->ledger.path, sizeof made->ledger.path, path);
	if (err != RV_OK)
		err = rv_err_set(error, err, "the path of the record is too long");
	if (err == RV_OK &&
	    (!made->ledger.station_text || rv_backlog_new(ROOM, &made->backlog) != RV_OK))
		err = rv_err_set(error, RV_ERR_NOMEM, "no memory for the recorder");
	if (err == RV_OK)
		err = rv_store_open_writer(path, &made->ledger.store, error);
	if (err == RV_OK)
		err = find_start(made, &start, error);
	if (err != RV_OK) {
		free(start.rig_text);
		free(start.open_run_rig);
		free_recorder(made);
		return err;
	}
	*found = start;
	*recorder = made;
	return RV_OK;
}

static enum rv_err write_start(struct rv_recorder *recorder, struct rv_error *error)
{
	struct rv_ledger *ledger = &recorder->ledger;
	int64_t now_ns = rv_clock_mono_ns();
	int64_t now_us = rv_clock_row_us(now_ns);
	enum rv_err err = rv_store_set_station(ledger->store, ledger->station, ledger->station_text,
					       now_us, error);

	if (err == RV_OK)
		err = rv_store_begin(ledger->store, error);
	if (err == RV_OK)
		err = rv_ledger_event(ledger, now_us, "start", "reeve " RV_VERSION, error);
	if (err == RV_OK)
		err = rv_ledger_anchor(ledger, now_ns, "start", error);
	if (err == RV_OK)
		err = rv_store_commit(ledger->store, error);
	return err;
}

enum rv_err rv_recorder_start(struct rv_recorder *recorder, struct rv_error *error)
{
	enum rv_err err = write_start(recorder, error);

	if (err != RV_OK)
		return err;
	recorder->checkpoint_ns = rv_clock_mono_ns() + CHECKPOINT_NS;
	say_state(recorder, false, "");
	if (pthread_create(&recorder->thread, NULL, run, recorder) != 0)
		return rv_err_set(error, RV_ERR_SYSTEM, "cannot start the recorder's thread");
	recorder->started = true;
	return RV_OK;
}

/* ---- what others call -------------------------------------------------------------------- */

enum rv_err rv_recorder_put(struct rv_recorder *recorder, const struct rv_entry *entry)
{
	struct rv_entry copy = *entry;
	bool urgent = entry->ticket || entry->kind == RV_ENTRY_ALARM;

	enum rv_err err = rv_backlog_put(recorder->backlog, &copy, urgent);
	if (err != RV_OK)
		rv_ledger_let_go(&copy, RV_ERR_STORE);
	else if (entry->kind == RV_ENTRY_RUN_OPEN)
		(void)add_name(recorder, entry->run_open.name);
	return err;
}

void rv_recorder_state(struct rv_recorder *recorder, struct rv_recorder_state *state)
{
	int64_t since_ns = rv_backlog_since_ns(recorder->backlog);
	int64_t lost = (int64_t)rv_backlog_lost(recorder->backlog);

	pthread_mutex_lock(&recorder->lock);
	*state = recorder->state;
	pthread_mutex_unlock(&recorder->lock);
	state->lost = lost;
	/* What has just been committed still waits for a moment to be taken off. */
	int64_t quiet_ns =
	    since_ns > state->last_commit_mono_ns ? since_ns : state->last_commit_mono_ns;
	if (!state->failing && since_ns && rv_clock_mono_ns() - quiet_ns > LATE_NS) {
		state->failing = true;
		snprintf(state->text, sizeof state->text, "the disk does not answer");
	}
}

bool rv_recorder_knows_run(struct rv_recorder *recorder, const char *name)
{
	bool known = false;

	pthread_mutex_lock(&recorder->lock);
	for (const struct run_name *at = recorder->names; at && !known; at = at->next)
		known = strcmp(at->name, name) == 0;
	pthread_mutex_unlock(&recorder->lock);
	return known;
}

void rv_recorder_stop(struct rv_recorder *recorder)
{
	if (!recorder)
		return;
	if (recorder->started) {
		rv_backlog_close(recorder->backlog);
		pthread_join(recorder->thread, NULL);
	}
	free_recorder(recorder);
}
