/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The engine's list of alarms: lets each see its condition, writes every change into the journal.
 */
#ifndef RV_DAEMON_ENGINE_ALARMS_H
#define RV_DAEMON_ENGINE_ALARMS_H

#include "daemon/engine_state.h"

/* Once at start, and again when another rig lies on the ground: alarms stay as they stand, but for
 * those of lines that are no more; their end goes into the journal. */
void rv_engine_alarms_init(struct rv_engine *engine, int64_t mono_ns);

/* The rules whose bits are set were looked at. */
void rv_engine_alarms_rules(struct rv_engine *engine, uint64_t looked, int64_t mono_ns);

/* The guards may have changed. */
void rv_engine_alarms_guards(struct rv_engine *engine, int64_t mono_ns);

/* Time passes: delays run out. */
void rv_engine_alarms_tick(struct rv_engine *engine, int64_t mono_ns);

/* A person acknowledges or resets the alarm of that name.  The journal entry carries the ticket. */
enum rv_err rv_engine_alarms_answer(struct rv_engine *engine, const char *name, bool reset,
				    const char *by_whom, struct rv_ticket *ticket,
				    struct rv_error *error);

/* It stands, or is latched: it counts for the state shown and for the outputs. */
bool rv_engine_alarms_counts(const struct rv_engine_alarm *alarm);

const char *rv_engine_alarms_name(const struct rv_engine *engine, int alarm);
bool rv_engine_alarms_is_data(const struct rv_engine *engine, int alarm);
void rv_engine_alarms_text(const struct rv_engine *engine, int alarm, int64_t mono_ns, char *text,
			   size_t size);
const char *rv_engine_alarms_action(const struct rv_engine *engine, int alarm);

#endif
