/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Evaluates the declared alarm rules of a station: is the condition true now, what value, and in
 * words.  Delays and states are core/alarm's.  Streaming, time is an argument, nothing is
 * allocated, cheap enough for every reading.
 *
 * above         true when value > limit, false again when value < limit - deadband
 * below         true when value < limit, false again when value > limit + deadband
 * rises_faster  rate over at least RV_CONDITIONS_RATE_S (neighbouring readings where they are
 *               further apart), true when > limit; falls_faster the same downwards
 * speed_above   |rate| over at least RV_CONDITIONS_SPEED_S
 * component     use = load / limit of that component, or of any that is rated; above only
 * Deadband not given: 2 % of the limit, 10 % for rates and speeds (common practice, no source;
 * starting values of 2 % of range for pressures are those of ISA-18.2 as remembered).
 *
 * A bad reading decides nothing: a condition that was true stays true until a good reading ends it.
 * An uncertain one beyond the instrument's range counts as at least that high: it can raise `above`
 * and cannot end it.  A component whose load is unknown (NaN) neither raises nor ends: each one that
 * was over holds its rule until its own load was seen to be back.
 */
#ifndef RV_CORE_CONDITIONS_H
#define RV_CORE_CONDITIONS_H

#include "core/component.h"
#include "core/convert.h"
#include "core/station.h"

#define RV_CONDITIONS_RATE_S 0.1
#define RV_CONDITIONS_SPEED_S 0.5

enum { RV_CONDITIONS_POINTS = 64, RV_FINDING_TEXT = 160 };

/* Load of one component, in the order of the predictor's components. */
struct rv_part_load {
	const char *name; /* borrowed */
	double limit_n;	  /* NaN = not rated */
	double load_n;	  /* measured, else the high end of what is predicted; NaN = unknown */
};

struct rv_condition {
	bool is_true;
	bool is_known;	     /* the last look could decide */
	double value;	     /* what was compared with the limit, in the limit's unit; NaN = none yet */
	double load_n;	     /* component rules: of the part that is furthest over */
	int part;	     /* component rules: first part over, else the one with most use; -1 */
	bool over[RV_COMPONENTS]; /* component rules: when it was last seen */
	bool joined; /* component rules: by the last look another part is over as well */
	int count, head;     /* rates: readings of the last stretch */
	int64_t at_ns[RV_CONDITIONS_POINTS];
	double at[RV_CONDITIONS_POINTS];
};

struct rv_conditions {
	const struct rv_station *station; /* borrowed */
	char part_name[RV_ALARMS][2 * RV_NAME_SIZE + 8];
	struct rv_condition rule[RV_ALARMS]; /* as in station->alarm */
};

/* station is borrowed for as long as the struct is used. */
void rv_conditions_init(struct rv_conditions *conditions, const struct rv_station *station);

/* A reading of a channel.  Bit i of the answer: rule i was looked at. */
uint64_t rv_conditions_reading(struct rv_conditions *conditions, int channel,
			       const struct rv_reading *reading, int64_t mono_ns);

/* The loads of all components as they are now.  Bit i of the answer: rule i was looked at. */
uint64_t rv_conditions_loads(struct rv_conditions *conditions, const struct rv_part_load *parts,
			     int count);

/* Another rig lies on the ground: what was found of components is void.  A rule that is true stays so
 * until every part of the new rig that it means has been seen. */
void rv_conditions_forget_parts(struct rv_conditions *conditions);

/* The rule's deadband, its default put in. */
double rv_conditions_deadband(const struct rv_alarm_rule *rule);

/* What there is to say of rule i, as of the last look, in the station's unit:
 * "lead 12.40 kN, above 12.00 kN", "shackle 104 % of its limit (31.20 kN), above 100 %". */
void rv_conditions_text(const struct rv_conditions *conditions, int i, char *text, size_t size);

/* The unit of rv_condition.value of rule i: "N", "m", "N/s", "1" ... */
const char *rv_conditions_unit(const struct rv_conditions *conditions, int i, char *unit,
			       size_t size);

#endif
