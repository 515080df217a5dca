/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The pull under way: the two cells that see most sheaves between them, and what their ratio says.
 * Everything shown of it is "this pull, scatter only".
 */
#ifndef RV_DAEMON_ENGINE_PULL_H
#define RV_DAEMON_ENGINE_PULL_H

#include "daemon/engine_state.h"

/* Another rig lies on the ground: chooses the pair. */
void rv_engine_pull_init(struct rv_engine *engine);

void rv_engine_pull_reading(struct rv_engine *engine, int channel, int64_t mono_ns);
/* The encoder of the winch's line has spoken. */
void rv_engine_pull_position(struct rv_engine *engine, int winch, bool restarted, int64_t mono_ns);
void rv_engine_pull_motion(struct rv_engine *engine, int64_t mono_ns);
void rv_engine_pull_publish(struct rv_engine *engine);

#endif
