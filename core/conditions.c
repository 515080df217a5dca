/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/conditions.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define DEADBAND_RATIO 0.02
#define DEADBAND_RATE_RATIO 0.10
#define NS_PER_S 1e9
/* Points kept for a rate are at least this share of its stretch apart. */
#define POINTS_IN_STRETCH 32.0

void rv_conditions_init(struct rv_conditions *conditions, const struct rv_station *station)
{
	memset(conditions, 0, sizeof *conditions);
	conditions->station = station;
	for (int i = 0; i < station->alarms; i++) {
		conditions->rule[i].value = conditions->rule[i].load_n = NAN;
		conditions->rule[i].part = -1;
	}
}

static bool is_rate(enum rv_alarm_condition condition)
{
	return condition == RV_ALARM_RISES_FASTER || condition == RV_ALARM_FALLS_FASTER ||
	       condition == RV_ALARM_SPEED_ABOVE;
}

double rv_conditions_deadband(const struct rv_alarm_rule *rule)
{
	if (!isnan(rule->deadband))
		return rule->deadband;
	return fabs(rule->limit) *
	       (is_rate(rule->condition) ? DEADBAND_RATE_RATIO : DEADBAND_RATIO);
}

/* Whether the condition is true after the value was seen: beyond the limit it becomes true, back
 * by more than the deadband it ends, between it stays. */
static bool decide(const struct rv_alarm_rule *rule, bool was, double value)
{
	double deadband = rv_conditions_deadband(rule);

	if (rule->condition == RV_ALARM_BELOW)
		return value < rule->limit || (was && value <= rule->limit + deadband);
	return value > rule->limit || (was && value >= rule->limit - deadband);
}

/* Change per second over the shortest stretch of at least within_s; NaN at the first reading. */
static double rate(struct rv_condition *rule, double value, double within_s, int64_t mono_ns)
{
	double found = NAN;

	for (int i = 0; i < rule->count; i++) {
		int at = (rule->head - i + RV_CONDITIONS_POINTS) % RV_CONDITIONS_POINTS;
		double dt_s = (double)(mono_ns - rule->at_ns[at]) / NS_PER_S;

		if (dt_s <= 0.0)
			return NAN;
		if (dt_s >= within_s) {
			found = (value - rule->at[at]) / dt_s;
			break;
		}
	}
	double newest_s = (double)(mono_ns - rule->at_ns[rule->head]) / NS_PER_S;
	if (rule->count == 0 || newest_s >= within_s / POINTS_IN_STRETCH) {
		rule->head = (rule->head + 1) % RV_CONDITIONS_POINTS;
		rule->count += rule->count < RV_CONDITIONS_POINTS;
		rule->at_ns[rule->head] = mono_ns;
		rule->at[rule->head] = value;
	}
	return found;
}

static double measure(const struct rv_alarm_rule *declared, struct rv_condition *rule,
		      const struct rv_reading *reading, int64_t mono_ns)
{
	if (reading->restarted)
		rule->count = 0;
	switch (declared->condition) {
	case RV_ALARM_RISES_FASTER:
		return rate(rule, reading->value, RV_CONDITIONS_RATE_S, mono_ns);
	case RV_ALARM_FALLS_FASTER:
		return -rate(rule, reading->value, RV_CONDITIONS_RATE_S, mono_ns);
	case RV_ALARM_SPEED_ABOVE:
		return fabs(rate(rule, reading->value, RV_CONDITIONS_SPEED_S, mono_ns));
	case RV_ALARM_ABOVE:
	case RV_ALARM_BELOW:
		break;
	}
	return reading->value;
}

static void look(const struct rv_alarm_rule *declared, struct rv_condition *rule,
		 const struct rv_reading *reading, int64_t mono_ns)
{
	if (reading->quality == RV_BAD) {
		rule->count = 0; /* no rate across missing readings */
		rule->is_known = false;
		return;
	}
	double value = measure(declared, rule, reading, mono_ns);
	rule->is_known = !isnan(value);
	if (!rule->is_known)
		return;
	bool is_true = decide(declared, rule->is_true, value);
	bool at_least = reading->cause == RV_CAUSE_OUT_OF_RANGE && reading->value > 0.0 &&
			declared->condition == RV_ALARM_ABOVE;
	if (!at_least || is_true || !rule->is_true) {
		rule->is_true = is_true;
		rule->value = value;
	}
	if (at_least && !is_true)
		rule->is_known = false; /* the force may be higher */
}

uint64_t rv_conditions_reading(struct rv_conditions *conditions, int channel,
			       const struct rv_reading *reading, int64_t mono_ns)
{
	uint64_t seen = 0;

	if (reading->repeat) /* neither new nor bad */
		return 0;
	for (int i = 0; i < conditions->station->alarms; i++) {
		const struct rv_alarm_rule *declared = &conditions->station->alarm[i];

		if (declared->channel != channel)
			continue;
		look(declared, &conditions->rule[i], reading, mono_ns);
		seen |= UINT64_C(1) << i;
	}
	return seen;
}

static bool is_meant(const struct rv_alarm_rule *declared, const struct rv_part_load *part)
{
	return strcmp(declared->component, "any") == 0 ||
	       strcmp(declared->component, part->name) == 0;
}

/* What a look at all parts found. */
struct parts_seen {
	int over, most;		    /* -1 = none */
	int rated, unknown, unseen; /* parts; unseen: were over, load not known now */
	double most_use;
};

static void see_part(const struct rv_alarm_rule *declared, struct rv_condition *rule, int i,
		     double use, struct parts_seen *seen)
{
	/* A part that is over keeps its place, with the deadband, until it is seen to be back. */
	bool held = rule->is_true && i == rule->part;

	rule->over[i] |= held;
	seen->rated++;
	if (isnan(use)) {
		seen->unknown++;
		seen->unseen += rule->over[i];
		return;
	}
	if (seen->most < 0 || use > seen->most_use) {
		seen->most = i;
		seen->most_use = use;
	}
	bool was_over = rule->over[i];
	rule->over[i] = decide(declared, was_over, use);
	rule->joined |= rule->is_true && rule->over[i] && !was_over;
	if (rule->over[i] && (seen->over < 0 || held))
		seen->over = i;
}

static void look_at_parts(const struct rv_alarm_rule *declared, struct rv_condition *rule,
			  const struct rv_part_load *parts, int count)
{
	struct parts_seen seen = {.over = -1, .most = -1};

	rule->joined = false;
	for (int i = 0; i < count && i < RV_COMPONENTS; i++)
		if (!isnan(parts[i].limit_n) && is_meant(declared, &parts[i]))
			see_part(declared, rule, i, parts[i].load_n / parts[i].limit_n, &seen);
	if (seen.rated == 0 && count > 0)
		rule->is_true = false; /* the rig has no such part */
	bool unseen = seen.unseen > 0 || (rule->is_true && rule->part < 0 && seen.unknown > 0);
	rule->is_known = seen.over >= 0 || (seen.most >= 0 && !unseen);
	if (!rule->is_known)
		return;
	rule->is_true = seen.over >= 0;
	rule->part = seen.over >= 0 ? seen.over : seen.most;
	rule->load_n = parts[rule->part].load_n;
	rule->value = rule->load_n / parts[rule->part].limit_n;
}

uint64_t rv_conditions_loads(struct rv_conditions *conditions, const struct rv_part_load *parts,
			     int count)
{
	uint64_t seen = 0;

	for (int i = 0; i < conditions->station->alarms; i++) {
		const struct rv_alarm_rule *declared = &conditions->station->alarm[i];
		struct rv_condition *rule = &conditions->rule[i];
		int was = rule->part;

		if (declared->component[0] == '\0')
			continue;
		look_at_parts(declared, rule, parts, count);
		if (rule->part != was && rule->part >= 0)
			snprintf(conditions->part_name[i], sizeof conditions->part_name[i], "%s",
				 parts[rule->part].name);
		seen |= UINT64_C(1) << i;
	}
	return seen;
}

void rv_conditions_forget_parts(struct rv_conditions *conditions)
{
	for (int i = 0; i < conditions->station->alarms; i++) {
		struct rv_condition *rule = &conditions->rule[i];

		if (conditions->station->alarm[i].component[0] == '\0')
			continue;
		rule->is_known = false;
		rule->part = -1;
		memset(rule->over, 0, sizeof rule->over);
		rule->value = rule->load_n = NAN;
		conditions->part_name[i][0] = '\0';
	}
}

const char *rv_conditions_unit(const struct rv_conditions *conditions, int i, char *unit,
			       size_t size)
{
	const struct rv_alarm_rule *declared = &conditions->station->alarm[i];

	if (declared->component[0] != '\0')
		snprintf(unit, size, "1");
	else
		snprintf(unit, size, "%s%s", conditions->station->channel[declared->channel].unit,
			 is_rate(declared->condition) ? "/s" : "");
	return unit;
}

/* A quantity as people read it: forces in the station's unit, all else in the channel's own. */
struct shown {
	double per_unit;
	int places;
	const char *unit;
};

static struct shown shown_as(const struct rv_station *station, const struct rv_channel *channel)
{
	if (channel && channel->quantity != RV_TENSION)
		return (struct shown){1.0, 2, channel->unit};
	return (struct shown){rv_units_force_n(station->unit), rv_units_force_places(station->unit),
			      rv_units_force_name(station->unit)};
}

void rv_conditions_text(const struct rv_conditions *conditions, int i, char *text, size_t size)
{
	static const char *const verb[] = {
	    [RV_ALARM_ABOVE] = "above",
	    [RV_ALARM_BELOW] = "below",
	    [RV_ALARM_RISES_FASTER] = "rises faster than",
	    [RV_ALARM_FALLS_FASTER] = "falls faster than",
	    [RV_ALARM_SPEED_ABOVE] = "speed above",
	};
	const struct rv_station *station = conditions->station;
	const struct rv_alarm_rule *declared = &station->alarm[i];
	const struct rv_condition *rule = &conditions->rule[i];

	if (declared->component[0] != '\0') {
		struct shown as = shown_as(station, NULL);

		if (isnan(rule->value))
			snprintf(text, size, "%s: load not known", declared->component);
		else
			snprintf(text, size, "%s %.0f %% of its limit (%.*f %s), above %.0f %%",
				 conditions->part_name[i], 100.0 * rule->value, as.places,
				 rule->load_n / as.per_unit, as.unit, 100.0 * declared->limit);
		return;
	}
	const struct rv_channel *channel = &station->channel[declared->channel];
	struct shown as = shown_as(station, channel);
	const char *per = is_rate(declared->condition) ? "/s" : "";

	if (isnan(rule->value))
		snprintf(text, size, "%s: no reading yet", channel->name);
	else
		snprintf(text, size, "%s %.*f %s%s, %s %.*f %s%s", channel->name, as.places,
			 rule->value / as.per_unit, as.unit, per, verb[declared->condition],
			 as.places, declared->limit / as.per_unit, as.unit, per);
}
