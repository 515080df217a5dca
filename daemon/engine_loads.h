/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What every part carries now: measured where a cell reads just that load, else predicted from the
 * good cell nearest the winch.
 */
#ifndef RV_DAEMON_ENGINE_LOADS_H
#define RV_DAEMON_ENGINE_LOADS_H

#include "daemon/engine_state.h"

/* Another rig lies on the ground: which channel reads which cell, which cell reads which part. */
void rv_engine_loads_init(struct rv_engine *engine);

/* The coefficients are others: which cell reads which part. */
void rv_engine_loads_measures(struct rv_engine *engine);

/* Works all loads out anew and lets the component rules see them. */
void rv_engine_loads_update(struct rv_engine *engine, int64_t mono_ns);

/* The channel that reads a cell of the rig on the ground, or -1. */
int rv_engine_loads_channel(const struct rv_engine *engine, int cell);

/* Load by the cell itself; NaN when it is not live. */
double rv_engine_loads_measured(const struct rv_engine *engine, int cell, int64_t mono_ns);

/* What the rest of the rig says of a cell; all NaN when there is nothing to go by. */
struct rv_span rv_engine_loads_elsewhere(const struct rv_engine *engine, int cell,
					 int64_t mono_ns);

/* How the line whose cell is the given moves. */
enum rv_motion rv_engine_loads_motion(const struct rv_engine *engine);

/* A reading this young, of good or uncertain quality, is live. */
bool rv_engine_loads_is_live(const struct rv_engine_channel *channel, int64_t mono_ns);

#endif
