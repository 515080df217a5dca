/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What comes in from the readers: messages become values, lost messages are counted, devices come
 * and go.
 */
#ifndef RV_DAEMON_ENGINE_INTAKE_H
#define RV_DAEMON_ENGINE_INTAKE_H

#include "daemon/engine_state.h"

/* Once at start: conversions as the record last applied them. */
void rv_engine_intake_init(struct rv_engine *engine, const struct rv_recorder_start *found);

/* Another rig lies on the ground: which channel moves which line. */
void rv_engine_intake_ropes(struct rv_engine *engine);

/* Any intake but a wish. */
void rv_engine_intake_take(struct rv_engine *engine, const struct rv_intake *intake);

/* Time passes: readings go stale, motions become unknown, what was lost is told to the record. */
void rv_engine_intake_tick(struct rv_engine *engine, int64_t mono_ns);
void rv_engine_intake_tell_lost(struct rv_engine *engine);

#endif
