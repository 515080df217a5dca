/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/engine_alarms.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static bool is_rule(int alarm)
{
	return alarm < RV_ALARMS;
}

bool rv_engine_alarms_counts(const struct rv_engine_alarm *alarm)
{
	return rv_alarm_is_active(&alarm->alarm) ||
	       alarm->alarm.state == RV_ALARM_LATCHED_UNACKNOWLEDGED ||
	       alarm->alarm.state == RV_ALARM_LATCHED_ACKNOWLEDGED;
}

const char *rv_engine_alarms_name(const struct rv_engine *engine, int alarm)
{
	if (is_rule(alarm))
		return engine->station->alarm[alarm].name;
	return engine->guards.guard[alarm - RV_ALARMS].name;
}

bool rv_engine_alarms_is_data(const struct rv_engine *engine, int alarm)
{
	return !is_rule(alarm) && engine->guards.guard[alarm - RV_ALARMS].is_data;
}

void rv_engine_alarms_text(const struct rv_engine *engine, int alarm, int64_t mono_ns, char *text,
			   size_t size)
{
	if (is_rule(alarm))
		rv_conditions_text(&engine->conditions, alarm, text, size);
	else
		rv_guards_text(&engine->guards, alarm - RV_ALARMS, mono_ns, text, size);
}

const char *rv_engine_alarms_action(const struct rv_engine *engine, int alarm)
{
	if (is_rule(alarm))
		return engine->station->alarm[alarm].action;
	return rv_guards_action(&engine->guards, alarm - RV_ALARMS);
}

/* Writes the change into the journal. */
static enum rv_err journal(struct rv_engine *engine, int at, int64_t mono_ns, const char *by_whom,
			   struct rv_ticket *ticket)
{
	const struct rv_engine_alarm *alarm = &engine->alarm[at];
	struct rv_entry entry = {
	    .kind = RV_ENTRY_ALARM,
	    .t_us = rv_clock_row_us(mono_ns),
	    .ticket = ticket,
	};

	snprintf(entry.alarm.name, sizeof entry.alarm.name, "%s",
		 rv_engine_alarms_name(engine, at));
	entry.alarm.level = alarm->level;
	entry.alarm.state = alarm->alarm.state;
	rv_engine_alarms_text(engine, at, mono_ns, entry.alarm.text, sizeof entry.alarm.text);
	snprintf(entry.alarm.by_whom, sizeof entry.alarm.by_whom, "%s", by_whom ? by_whom : "");
	if (is_rule(at)) {
		entry.alarm.value = engine->conditions.rule[at].value;
		rv_conditions_unit(&engine->conditions, at, entry.alarm.unit,
				   sizeof entry.alarm.unit);
	} else {
		entry.alarm.value = engine->guards.guard[at - RV_ALARMS].value;
		snprintf(entry.alarm.unit, sizeof entry.alarm.unit, "%s",
			 rv_guards_unit(&engine->guards, at - RV_ALARMS));
	}
	engine->news = true;
	return rv_engine_put(engine, &entry);
}

static void list_rules(struct rv_engine *engine)
{
	for (int i = 0; i < engine->station->alarms; i++) {
		const struct rv_alarm_rule *rule = &engine->station->alarm[i];
		struct rv_engine_alarm *alarm = &engine->alarm[i];
		alarm->is_listed = true;
		alarm->level = rule->level;
		alarm->alarm.delay_s = rule->delay_s;
		alarm->alarm.clear_delay_s = rule->clear_delay_s;
		alarm->alarm.latch = rule->latch;
	}
}

/* Another rig has other guards at other places: an alarm keeps its state by its name. */
static void list_guard(struct rv_engine *engine, int guard)
{
	struct rv_engine_alarm *alarm = &engine->alarm[RV_ALARMS + guard];

	*alarm = (struct rv_engine_alarm){.is_listed = true};
	for (int i = 0; i < RV_GUARDS; i++) {
		struct rv_engine_alarm *was = &engine->was[i].alarm;
		if (was->is_listed &&
		    strcmp(engine->was[i].name, engine->guards.guard[guard].name) == 0) {
			*alarm = *was;
			was->is_listed = false;
		}
	}
	alarm->level = engine->guards.guard[guard].level;
	/* A line that parted does not mend itself: calm comes back when a person says so. */
	alarm->alarm.latch = engine->guards.guard[guard].kind == RV_GUARD_TENSION_LOST;
}

/* An alarm of a line that is no more. */
static void journal_end(struct rv_engine *engine, const char *name, enum rv_alarm_level level,
			int64_t mono_ns)
{
	struct rv_entry entry = {.kind = RV_ENTRY_ALARM, .t_us = rv_clock_row_us(mono_ns)};

	snprintf(entry.alarm.name, sizeof entry.alarm.name, "%s", name);
	entry.alarm.level = level;
	entry.alarm.state = RV_ALARM_NORMAL;
	entry.alarm.value = (double)NAN;
	snprintf(entry.alarm.text, sizeof entry.alarm.text, "another rig was set");
	engine->news = true;
	(void)rv_engine_put(engine, &entry); /* the recorder counts what it could not take */
}

void rv_engine_alarms_init(struct rv_engine *engine, int64_t mono_ns)
{
	const struct rv_rig *rig = engine->ground ? &engine->ground->rig : NULL;

	for (int i = 0; i < engine->guards.guards; i++) {
		snprintf(engine->was[i].name, sizeof engine->was[i].name, "%s",
			 engine->guards.guard[i].name);
		engine->was[i].alarm = engine->alarm[RV_ALARMS + i];
	}
	if (engine->guards.station)
		rv_guards_set_rig(&engine->guards, rig, mono_ns);
	else
		rv_guards_init(&engine->guards, engine->station, rig, mono_ns);
	list_rules(engine);
	memset(&engine->alarm[RV_ALARMS], 0, RV_GUARDS * sizeof engine->alarm[0]);
	for (int i = 0; i < engine->guards.guards; i++)
		list_guard(engine, i);
	for (int i = 0; i < RV_GUARDS; i++) {
		struct rv_engine_alarm *was = &engine->was[i].alarm;
		if (was->is_listed && was->alarm.state != RV_ALARM_NORMAL)
			journal_end(engine, engine->was[i].name, was->level, mono_ns);
		was->is_listed = false;
	}
}

static void see(struct rv_engine *engine, int at, bool condition, int64_t mono_ns)
{
	struct rv_engine_alarm *alarm = &engine->alarm[at];

	if (!rv_alarm_see(&alarm->alarm, condition, mono_ns))
		return;
	if (journal(engine, at, mono_ns, NULL, NULL) != RV_OK)
		engine->news = true; /* the recorder counts what it could not take */
	if (rv_alarm_is_active(&alarm->alarm)) {
		char text[160];
		rv_engine_alarms_text(engine, at, mono_ns, text, sizeof text);
		rv_log(RV_LOG_WARNING, "alarm", "%s: %s", rv_engine_alarms_name(engine, at), text);
	}
}

void rv_engine_alarms_rules(struct rv_engine *engine, uint64_t looked, int64_t mono_ns)
{
	for (int i = 0; looked != 0; i++, looked >>= 1) {
		if (!(looked & 1))
			continue;
		/* Acknowledged was the overload of another part. */
		if (engine->conditions.rule[i].joined &&
		    rv_alarm_renew(&engine->alarm[i].alarm, mono_ns) &&
		    journal(engine, i, mono_ns, NULL, NULL) != RV_OK)
			engine->news = true;
		see(engine, i, engine->conditions.rule[i].is_true, mono_ns);
	}
}

void rv_engine_alarms_guards(struct rv_engine *engine, int64_t mono_ns)
{
	for (int i = 0; i < engine->guards.guards; i++) {
		const struct rv_guard *guard = &engine->guards.guard[i];
		struct rv_engine_alarm *alarm = &engine->alarm[RV_ALARMS + i];
		bool worse = guard->level > alarm->level;
		if (guard->level != alarm->level && alarm->alarm.state != RV_ALARM_NORMAL)
			engine->news = true;
		alarm->level = guard->level;
		if (worse && rv_alarm_renew(&alarm->alarm, mono_ns) &&
		    journal(engine, RV_ALARMS + i, mono_ns, NULL, NULL) != RV_OK)
			engine->news = true;
		see(engine, RV_ALARMS + i, guard->is_true, mono_ns);
	}
}

void rv_engine_alarms_tick(struct rv_engine *engine, int64_t mono_ns)
{
	for (int i = 0; i < engine->station->alarms; i++)
		see(engine, i, engine->conditions.rule[i].is_true, mono_ns);
	rv_engine_alarms_guards(engine, mono_ns);
}

enum rv_err rv_engine_alarms_answer(struct rv_engine *engine, const char *name, bool reset,
				    const char *by_whom, struct rv_ticket *ticket,
				    struct rv_error *error)
{
	int64_t mono_ns = rv_clock_mono_ns();

	for (int i = 0; i < RV_ENGINE_ALARMS; i++) {
		struct rv_engine_alarm *alarm = &engine->alarm[i];
		if (!alarm->is_listed || strcmp(rv_engine_alarms_name(engine, i), name) != 0)
			continue;
		bool changed = reset ? rv_alarm_reset(&alarm->alarm, mono_ns)
				     : rv_alarm_acknowledge(&alarm->alarm, mono_ns);
		if (!changed)
			return rv_err_refuse(error, "stale",
					     "alarm %s is %s: there is nothing to %s", name,
					     rv_alarm_state_name(alarm->alarm.state),
					     reset ? "reset" : "acknowledge");
		return journal(engine, i, mono_ns, by_whom, ticket);
	}
	return rv_err_refuse(error, "alarm_unknown", "there is no alarm named %s", name);
}
