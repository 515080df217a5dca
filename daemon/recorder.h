/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The recorder thread: takes entries from its ring and commits them to the record, at most 1 s
 * apart, alarm events and awaited entries at once.  It is the only writer of the store, so a slow
 * disk can delay nobody else.
 */
#ifndef RV_DAEMON_RECORDER_H
#define RV_DAEMON_RECORDER_H

#include <stdint.h>

#include "core/station.h"
#include "daemon/entry.h"
#include "daemon/ticket.h"

struct rv_recorder;

/* Opens (or makes) the record at path and finds out where it left off.  station is borrowed until
 * rv_recorder_stop.  The thread is not started yet: rv_clock_fix comes between. */
enum rv_err rv_recorder_open(const char *path, const struct rv_station *station,
			     const char *station_text, struct rv_recorder **recorder,
			     struct rv_recorder_start *found, struct rv_error *error);

/* Declares the station, writes the device event "start" and the clock anchor of the start, and
 * starts the thread. */
enum rv_err rv_recorder_start(struct rv_recorder *recorder, struct rv_error *error);

/* Never waits.  RV_ERR_AGAIN: the ring (60 s at 1 kHz) is full; the entry was counted as lost, its
 * texts were freed and its ticket completed as failed. */
enum rv_err rv_recorder_put(struct rv_recorder *recorder, const struct rv_entry *entry);

struct rv_recorder_state {
	int64_t readings; /* committed, including earlier ones */
	int64_t lost;	  /* entries the ring had no room for */
	int64_t last_commit_mono_ns;
	bool failing; /* the last commit failed, or none has come for 3 s although there is work */
	char text[160];
};
void rv_recorder_state(struct rv_recorder *recorder, struct rv_recorder_state *state);

/* Whether a run of that name is or was in the record (names are never used twice).  Knows a run
 * from the moment its RV_ENTRY_RUN_OPEN was put. */
bool rv_recorder_knows_run(struct rv_recorder *recorder, const char *name);

/* Commits what waits, writes the device event "stop", checkpoints, closes, frees. */
void rv_recorder_stop(struct rv_recorder *recorder);

#endif
