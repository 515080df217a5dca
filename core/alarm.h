/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The life of one alarm.  States are those of IEC 62682 / ANSI/ISA-18.2 (names from memory of the
 * standards' state diagram, not re-read); the table of transitions stands at the top of alarm.c.
 */
#ifndef RV_CORE_ALARM_H
#define RV_CORE_ALARM_H

#include <stdint.h>

#include "core/station.h"

enum rv_alarm_state {
	RV_ALARM_NORMAL,
	RV_ALARM_UNACKNOWLEDGED,
	RV_ALARM_ACKNOWLEDGED,
	RV_ALARM_RETURNED_UNACKNOWLEDGED,
	RV_ALARM_LATCHED_UNACKNOWLEDGED,
	RV_ALARM_LATCHED_ACKNOWLEDGED,
	RV_ALARM_SHELVED,
	RV_ALARM_OUT_OF_SERVICE,
	RV_ALARM_STATES
};

/* "normal", "unacknowledged", ..., "returned unacknowledged", "latched unacknowledged", ... */
const char *rv_alarm_state_name(enum rv_alarm_state state);

struct rv_alarm {
	double delay_s, clear_delay_s; /* NaN counts as 0 */
	bool latch;
	enum rv_alarm_state state;
	bool holds;	    /* the condition, delays applied; kept up while shelved, too */
	int64_t pending_ns; /* since when the condition differs from `holds`; 0 = it does not */
	int64_t since_ns;   /* when the state was entered */
};

/* The condition now, seen at mono_ns (> 0).  Call it at every reading that bears on it, and at
 * every tick for the delays' sake.  True if the state changed. */
bool rv_alarm_see(struct rv_alarm *alarm, bool condition, int64_t mono_ns);

/* A person has seen it / resets a latched one.  A latched alarm can be reset only after its
 * condition has gone, and never past an acknowledgement.  True if the state changed. */
bool rv_alarm_acknowledge(struct rv_alarm *alarm, int64_t mono_ns);
bool rv_alarm_reset(struct rv_alarm *alarm, int64_t mono_ns);

/* An acknowledged alarm calls again: it got worse.  True if the state changed. */
bool rv_alarm_renew(struct rv_alarm *alarm, int64_t mono_ns);

/* Put aside by a person and taken back.  While it is, the condition is followed but changes no
 * state; taken back with its condition standing, it is unacknowledged.  Out of service wins over
 * shelved.  True if the state changed. */
bool rv_alarm_shelve(struct rv_alarm *alarm, int64_t mono_ns);
bool rv_alarm_unshelve(struct rv_alarm *alarm, int64_t mono_ns);
bool rv_alarm_remove(struct rv_alarm *alarm, int64_t mono_ns);
bool rv_alarm_restore(struct rv_alarm *alarm, int64_t mono_ns);

/* The condition stands, as far as the state says: unacknowledged or acknowledged.  A latched alarm
 * has outlived its condition. */
bool rv_alarm_is_active(const struct rv_alarm *alarm);

#endif
