/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The engine thread, sole owner of all live state: intake -> value -> motion, pulls, alarms ->
 * snapshot and entries for the recorder.  It waits for nobody but its own intake.
 */
#ifndef RV_DAEMON_ENGINE_H
#define RV_DAEMON_ENGINE_H

#include "core/station.h"
#include "daemon/ground.h"
#include "daemon/live.h"
#include "daemon/recorder.h"
#include "daemon/ring.h"

struct rv_engine;
struct rv_outputs;

struct rv_engine_setup {
	const struct rv_station *station; /* borrowed */
	struct rv_ground *rig;		  /* taken over; NULL = no rig declared */
	struct rv_recorder *recorder;
	struct rv_live_board *board;
	struct rv_ring *intake; /* of struct rv_intake; the readers put into it */
	struct rv_outputs *outputs; /* borrowed; NULL where the station has none */
	struct rv_recorder_start found;
};

enum rv_err rv_engine_start(const struct rv_engine_setup *setup, struct rv_engine **engine,
			    struct rv_error *error);
void rv_engine_stop(struct rv_engine *engine);

/* What a person asks for.  Each call hands the wish to the engine thread and waits until the entry
 * it makes is committed, at most 5 s: RV_ERR_AGAIN = taken, but not yet on disk.
 * RV_ERR_REFUSED: error's tag says why ("run_open", "no_run", "name_taken", "alarm_unknown",
 * "stale"). */
/* name NULL or "" = "run N". */
enum rv_err rv_engine_start_run(struct rv_engine *engine, const char *name, int64_t *number,
				struct rv_error *error);
enum rv_err rv_engine_stop_run(struct rv_engine *engine, int64_t number, struct rv_error *error);
enum rv_err rv_engine_mark(struct rv_engine *engine, const char *text, double travel_m,
			   const char *by_whom, struct rv_error *error);
enum rv_err rv_engine_acknowledge(struct rv_engine *engine, const char *alarm, const char *by_whom,
				  struct rv_error *error);
enum rv_err rv_engine_reset(struct rv_engine *engine, const char *alarm, const char *by_whom,
			    struct rv_error *error);
/* strike's t_us is set by the engine. */
enum rv_err rv_engine_strike(struct rv_engine *engine, const struct rv_store_strike *strike,
			     struct rv_error *error);
/* Takes rig over, whatever the answer.  NULL goes back to the station's own.  Closes an open run. */
enum rv_err rv_engine_set_rig(struct rv_engine *engine, struct rv_ground *rig,
			      struct rv_error *error);

/* The rig on the ground (NULL = none) and how many were set before it; borrowed until
 * rv_engine_rig_done, also when another rig is set meanwhile. */
const struct rv_ground *rv_engine_rig(struct rv_engine *engine, int *number);
void rv_engine_rig_done(struct rv_engine *engine, const struct rv_ground *ground);

#endif
