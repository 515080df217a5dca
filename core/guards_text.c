/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the guards say to people.
 */
#include "core/guards.h"

#include <math.h>
#include <stdio.h>

/* A force in the station's unit; in a buffer of its own, so that a sentence may hold several. */
struct force_text {
	char data[32];
};

static struct force_text force(const struct rv_guards *guards, double force_n)
{
	enum rv_force_unit unit = guards->station->unit;
	struct force_text text;

	snprintf(text.data, sizeof text.data, "%.*f %s", rv_units_force_places(unit),
		 force_n / rv_units_force_n(unit), rv_units_force_name(unit));
	return text;
}

static void channel_text(const struct rv_guards *guards, const struct rv_guard *guard,
			 int64_t mono_ns, char *text, size_t size)
{
	const struct rv_channel *declared = &guards->station->channel[guard->index];
	const struct rv_guard_channel *channel = &guards->channel[guard->index];
	const char *cause = rv_sample_cause_name(channel->cause);
	double age_s = (double)(mono_ns - channel->good_ns) * 1e-9;

	if (guard->kind == RV_GUARD_LOST)
		snprintf(text, size, "%s: no good reading %s %.1f s%s%s", declared->name,
			 channel->ever ? "for" : "in the first", age_s, *cause ? ": " : "", cause);
	else if (guard->kind == RV_GUARD_FROZEN)
		snprintf(text, size, "%s repeats its last value%s", declared->name,
			 channel->stuck.is_stuck ? " while the line lives" : " behind its gateway");
	else if (guard->kind == RV_GUARD_ZEROED)
		snprintf(text, size,
			 "%s stepped from %s to about zero while the line stayed loaded",
			 declared->name, force(guards, channel->fell_from_n).data);
	else if (!channel->is_tension || isnan(channel->value))
		snprintf(text, size, "%s: a number its instrument cannot give", declared->name);
	else if (channel->value < 0.0)
		snprintf(text, size, "%s %s: below zero, check wires and zero", declared->name,
			 force(guards, channel->value).data);
	else
		snprintf(text, size, "%s at least %s: beyond its instrument", declared->name,
			 force(guards, channel->value).data);
}

static void line_text(const struct rv_guards *guards, const struct rv_guard *guard, char *text,
		      size_t size)
{
	const struct rv_guard_line *line = &guards->line[guard->index];

	if (guard->kind == RV_GUARD_TENSION_LOST && line->lost_channel >= 0) {
		int c = line->lost_channel;

		snprintf(text, size, "%s fell from %s to %s", guards->station->channel[c].name,
			 force(guards, line->lost_from_n).data,
			 force(guards, guards->channel[c].value).data);
	} else if (guard->kind == RV_GUARD_TENSION_LOST) {
		snprintf(text, size, "%s: no tension was lost", line->name);
	} else if (line->creep_channel >= 0) {
		const struct rv_creep_force *creep = &guards->channel[line->creep_channel].creep;

		snprintf(text, size, "%s %s by %s in %.0f s while holding",
			 guards->station->channel[line->creep_channel].name,
			 creep->moved_n < 0.0 ? "fell" : "rose",
			 force(guards, fabs(creep->moved_n)).data, creep->within_s);
	} else {
		snprintf(text, size, "%s ran out by %.3f m while holding", line->name,
			 line->creep.crept_m);
	}
}

void rv_guards_text(const struct rv_guards *guards, int i, int64_t mono_ns, char *text, size_t size)
{
	const struct rv_guard *guard = &guards->guard[i];

	switch (guard->kind) {
	case RV_GUARD_LOST:
	case RV_GUARD_FROZEN:
	case RV_GUARD_OUT_OF_RANGE:
	case RV_GUARD_ZEROED:
		channel_text(guards, guard, mono_ns, text, size);
		return;
	case RV_GUARD_TENSION_LOST:
	case RV_GUARD_CREEPS:
		line_text(guards, guard, text, size);
		return;
	case RV_GUARD_DEVICE_LOST:
		snprintf(text, size, "%s", guards->device_text[guard->index]);
		return;
	case RV_GUARD_OUTPUT_FAILED:
		snprintf(text, size, "%s", guards->output_text[guard->index]);
		return;
	case RV_GUARD_RECORD:
	case RV_GUARD_KINDS:
		break;
	}
	snprintf(text, size, "%s", guards->record_text);
}

const char *rv_guards_action(const struct rv_guards *guards, int i)
{
	static const char *const actions[RV_GUARD_KINDS] = {
	    [RV_GUARD_LOST] = "Do not count on it. Hold; check wire and instrument.",
	    [RV_GUARD_FROZEN] = "Do not count on it. Hold; check the instrument.",
	    [RV_GUARD_OUT_OF_RANGE] = "Hold. The force may be higher than shown.",
	    [RV_GUARD_ZEROED] = "Stop. The load is still there; check the instrument unloaded.",
	    [RV_GUARD_TENSION_LOST] = "Stop. Keep clear of the line.",
	    [RV_GUARD_CREEPS] = "Keep clear. Brake or anchor gives way: secure the load.",
	    [RV_GUARD_DEVICE_LOST] = "Check its wire and supply.",
	    [RV_GUARD_OUTPUT_FAILED] = "It will not call you. Watch the page.",
	    [RV_GUARD_RECORD] = "Readings are not kept. Check the disk.",
	};

	return actions[guards->guard[i].kind];
}

const char *rv_guards_unit(const struct rv_guards *guards, int i)
{
	const struct rv_guard *guard = &guards->guard[i];

	switch (guard->kind) {
	case RV_GUARD_LOST:
		return "s";
	case RV_GUARD_FROZEN:
	case RV_GUARD_OUT_OF_RANGE:
	case RV_GUARD_ZEROED:
		return guards->station->channel[guard->index].unit;
	case RV_GUARD_TENSION_LOST:
		return "N";
	case RV_GUARD_CREEPS:
		return guards->line[guard->index].creep_channel >= 0 ? "N" : "m";
	case RV_GUARD_DEVICE_LOST:
	case RV_GUARD_OUTPUT_FAILED:
	case RV_GUARD_RECORD:
	case RV_GUARD_KINDS:
		break;
	}
	return "";
}
