/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Runs open and close: by hand, or by themselves when a load comes on and has gone.
 */
#ifndef RV_DAEMON_ENGINE_RUNS_H
#define RV_DAEMON_ENGINE_RUNS_H

#include "daemon/engine_state.h"

/* Once at start: goes on with the run that the last stop left open, unless another rig lies on the
 * ground now. */
void rv_engine_runs_init(struct rv_engine *engine, const struct rv_recorder_start *found);

/* Opens a run now.  name NULL or "" = "run N". */
enum rv_err rv_engine_runs_open(struct rv_engine *engine, const char *name, bool by_itself,
				struct rv_ticket *ticket, struct rv_error *error);

/* Closes the open run now. */
enum rv_err rv_engine_runs_close(struct rv_engine *engine, const char *why,
				 struct rv_ticket *ticket);

/* A tension above runs.open_above came: the run begins with it, so that a snatch and the alarm it
 * raises lie inside. */
void rv_engine_runs_loaded(struct rv_engine *engine, int64_t mono_ns);

void rv_engine_runs_tick(struct rv_engine *engine, int64_t mono_ns);

#endif
