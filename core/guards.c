/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/guards.h"

#include <math.h>
#include <stdio.h>

#define NS_PER_S 1e9
#define START_S 3.0	 /* from the start, for the first reading to come */
#define TELL_APART_S 0.4 /* cells differ in delay by up to 0.3 s */
#define LOST_STANDS_S 10.0
#define STAYS_RATIO 0.7
#define BACK_RATIO 0.5

static double since_s(int64_t then_ns, int64_t mono_ns)
{
	return (double)(mono_ns - then_ns) / NS_PER_S;
}

bool rv_guards_doubts(const struct rv_guards *guards, int channel)
{
	return guards->channel[channel].stuck.is_stuck || guards->channel[channel].is_zeroed;
}

static bool is_neighbour(const struct rv_guards *guards, int c, int other)
{
	const struct rv_guard_channel *channel = guards->channel;

	return other != c && channel[other].is_tension && channel[other].line == channel[c].line &&
	       channel[other].is_live;
}

/* A live tension of the line that can be believed, other than channel c. */
static bool line_is_seen(const struct rv_guards *guards, int line, int c)
{
	for (int i = 0; i < guards->station->channels; i++)
		if (i != c && guards->channel[i].is_tension && guards->channel[i].line == line &&
		    guards->channel[i].is_live && !rv_guards_doubts(guards, i))
			return true;
	return false;
}

/* How bad it is to lose this channel. */
static enum rv_alarm_level level_of(const struct rv_guards *guards, int c)
{
	const struct rv_guard_channel *channel = &guards->channel[c];

	if (channel->is_ruled)
		return RV_LEVEL_DANGER;
	if (channel->line < 0 || line_is_seen(guards, channel->line, c))
		return RV_LEVEL_WARNING;
	return RV_LEVEL_DANGER;
}

static bool put(struct rv_guard *guard, bool is_true, enum rv_alarm_level level, double value)
{
	bool changed = guard->is_true != is_true || (is_true && guard->level != level);

	guard->is_true = is_true;
	guard->level = level;
	guard->value = value;
	return changed;
}

static bool put_channel(struct rv_guards *guards, int c, int64_t mono_ns)
{
	const struct rv_guard_channel *channel = &guards->channel[c];
	struct rv_guard *guard = &guards->guard[channel->first_guard];
	enum rv_alarm_level level = level_of(guards, c);
	double age_s = since_s(channel->good_ns, mono_ns);
	bool frozen = channel->stuck.is_stuck ||
		      (channel->quality == RV_BAD && channel->cause == RV_CAUSE_FROZEN);
	bool lost = !frozen && age_s > (channel->ever ? channel->stale_s : START_S);
	bool beyond = channel->quality != RV_GOOD && channel->cause == RV_CAUSE_OUT_OF_RANGE;
	bool changed = false;

	changed |= put(&guard[RV_GUARD_LOST], lost, level, age_s);
	changed |= put(&guard[RV_GUARD_FROZEN], frozen, level, channel->value);
	changed |= put(&guard[RV_GUARD_OUT_OF_RANGE], beyond, level, channel->value);
	if (channel->is_tension)
		changed |= put(&guard[RV_GUARD_ZEROED], channel->is_zeroed, RV_LEVEL_DANGER,
			       channel->value);
	return changed;
}

/* Which cell of the line gives way while it holds, or -1. */
static int creeping_channel(const struct rv_guards *guards, int l)
{
	for (int c = 0; c < guards->station->channels; c++)
		if (guards->channel[c].is_tension && guards->channel[c].line == l &&
		    guards->channel[c].is_live && guards->channel[c].creep.creeps)
			return c;
	return -1;
}

static bool put_line(struct rv_guards *guards, int l)
{
	struct rv_guard_line *line = &guards->line[l];
	struct rv_guard *guard = &guards->guard[line->first_guard];
	bool changed = false;
	double value = line->creep.crept_m;

	line->creep_channel = line->creep.creeps ? -1 : creeping_channel(guards, l);
	if (line->creep_channel >= 0)
		value = guards->channel[line->creep_channel].creep.moved_n;
	changed |=
	    put(&guard[0], line->lost_ns != 0, RV_LEVEL_DANGER,
		line->lost_channel < 0 ? (double)NAN : guards->channel[line->lost_channel].value);
	changed |=
	    put(&guard[1], line->creep.creeps || line->creep_channel >= 0, RV_LEVEL_DANGER, value);
	return changed;
}

/* Whether a neighbour of a channel that fell kept its force. */
static bool neighbour_stays(const struct rv_guards *guards, int c)
{
	for (int i = 0; i < guards->station->channels; i++) {
		const struct rv_guard_channel *other = &guards->channel[i];

		if (is_neighbour(guards, c, i) && other->standing_n > other->loss.floor_n &&
		    other->value > STAYS_RATIO * other->standing_n)
			return true;
	}
	return false;
}

static void lose_tension(struct rv_guards *guards, int c, int64_t mono_ns)
{
	struct rv_guard_line *line = &guards->line[guards->channel[c].line];

	guards->channel[c].fell_ns = 0;
	if (line->lost_ns != 0)
		return; /* the first to tell of it stands for it */
	line->lost_ns = mono_ns;
	line->lost_channel = c;
	line->lost_from_n = guards->channel[c].fell_from_n;
}

/* A fall that waits: a lost tension, a zeroed instrument, or nothing. */
static void tell_apart(struct rv_guards *guards, int c, int64_t mono_ns)
{
	struct rv_guard_channel *channel = &guards->channel[c];

	if (channel->fell_ns == 0)
		return;
	if (!neighbour_stays(guards, c)) {
		lose_tension(guards, c, mono_ns);
		return;
	}
	if (since_s(channel->fell_ns, mono_ns) < TELL_APART_S)
		return;
	if (channel->value > BACK_RATIO * channel->fell_from_n)
		channel->fell_ns = 0; /* a spike: alone, and back at once */
	else if (channel->stepped) {
		channel->fell_ns = 0;
		channel->is_zeroed = true;
	} else
		lose_tension(guards, c, mono_ns);
}

/* A zeroed instrument is believed again when it stands to a neighbour about as it did before, or
 * when the neighbours are unloaded. */
static void see_zeroed(struct rv_guards *guards, int c)
{
	struct rv_guard_channel *channel = &guards->channel[c];
	double most_ratio = NAN;
	bool loaded = false;

	if (!channel->is_zeroed)
		return;
	for (int i = 0; i < guards->station->channels; i++) {
		const struct rv_guard_channel *other = &guards->channel[i];

		if (!is_neighbour(guards, c, i) || !(other->standing_n > other->loss.floor_n))
			continue;
		loaded |= other->value > other->loss.floor_n;
		most_ratio = fmax(most_ratio, other->value / other->standing_n);
	}
	if (isnan(most_ratio)) /* nobody left to compare with */
		return;
	if (!loaded || channel->value / channel->fell_from_n > STAYS_RATIO * most_ratio)
		channel->is_zeroed = false;
}

static void see_lost_tension(struct rv_guards *guards, int l, int64_t mono_ns)
{
	struct rv_guard_line *line = &guards->line[l];

	if (line->lost_ns != 0 &&
	    (since_s(line->lost_ns, mono_ns) >= LOST_STANDS_S ||
	     guards->channel[line->lost_channel].value > BACK_RATIO * line->lost_from_n))
		line->lost_ns = 0;
}

static void see_fall(struct rv_guards *guards, int c, double force_n, int64_t mono_ns)
{
	struct rv_guard_channel *channel = &guards->channel[c];
	const struct rv_guard_line *line = &guards->line[channel->line];
	struct rv_loss_line moved = {
	    .payout_m = line->now.payout_m,
	    .stiffness_npm = line->stiffness_npm,
	    .step_m = line->now.step_m,
	    .paying_out = line->now.motion == RV_MOTION_OUT || line->commanded == RV_MOTION_OUT,
	};
	enum rv_loss_seen seen = rv_loss_see(&channel->loss, force_n, mono_ns, &moved);

	if (seen == RV_LOSS_NOTHING)
		return;
	channel->fell_ns = mono_ns;
	channel->stepped = seen == RV_LOSS_STEPPED;
	channel->fell_from_n = channel->loss.before_n;
	for (int i = 0; i < guards->station->channels; i++)
		if (is_neighbour(guards, c, i))
			guards->channel[i].standing_n =
			    rv_loss_most_n(&guards->channel[i].loss, mono_ns);
}

static void see_tension(struct rv_guards *guards, int c, const struct rv_reading *reading,
			int64_t mono_ns)
{
	struct rv_guard_channel *channel = &guards->channel[c];
	const struct rv_guard_line *line = &guards->line[channel->line];

	see_fall(guards, c, reading->value, mono_ns);
	rv_stuck_see(&channel->stuck, reading->raw, reading->value, line->now.motion, mono_ns);
	rv_creep_force_see(&channel->creep, reading->value, mono_ns);
	for (int i = 0; i < guards->station->channels; i++)
		if (is_neighbour(guards, c, i))
			rv_stuck_neighbour(&guards->channel[i].stuck, reading->value,
					   channel->loss.floor_n);
	tell_apart(guards, c, mono_ns);
	see_zeroed(guards, c);
	see_lost_tension(guards, channel->line, mono_ns);
}

static void go_dark(struct rv_guard_channel *channel)
{
	channel->is_live = false;
	channel->fell_ns = 0;
	rv_loss_break(&channel->loss);
	rv_stuck_break(&channel->stuck);
}

bool rv_guards_reading(struct rv_guards *guards, int channel, const struct rv_reading *reading,
		       int64_t mono_ns)
{
	struct rv_guard_channel *at = &guards->channel[channel];

	if (reading->repeat)
		return false;
	at->quality = reading->quality;
	at->cause = reading->cause;
	if (reading->quality == RV_BAD) {
		go_dark(at);
	} else {
		at->value = reading->value;
		at->good_ns = mono_ns;
		at->is_live = at->ever = true;
		if (at->is_tension)
			see_tension(guards, channel, reading, mono_ns);
	}
	bool changed = put_channel(guards, channel, mono_ns);
	if (at->line >= 0)
		changed |= put_line(guards, at->line);
	return changed;
}

bool rv_guards_motion(struct rv_guards *guards, int winch, const struct rv_motion_now *now,
		      enum rv_motion commanded, int64_t mono_ns)
{
	bool changed = false;

	for (int l = 0; l < guards->lines; l++) {
		struct rv_guard_line *line = &guards->line[l];

		if (line->winch != winch)
			continue;
		line->now = *now;
		line->commanded = commanded;
		if (line->is_wound)
			rv_creep_line_see(&line->creep, now, commanded, mono_ns);
		changed |= put_line(guards, l);
	}
	return changed;
}

/* Whether the line holds: by its contactors where they say so, else by its own motion; a line that
 * creeps still counts as held. */
static bool line_holds(const struct rv_guard_line *line)
{
	if (line->commanded != RV_MOTION_UNKNOWN)
		return line->commanded == RV_MOTION_HOLD;
	return line->now.motion == RV_MOTION_HOLD || line->creep.creeps;
}

static void tick_channel(struct rv_guards *guards, int c, int64_t mono_ns)
{
	struct rv_guard_channel *channel = &guards->channel[c];

	if (channel->is_live && since_s(channel->good_ns, mono_ns) > channel->stale_s)
		go_dark(channel);
	if (!channel->is_tension)
		return;
	rv_creep_force_motion(&channel->creep, line_holds(&guards->line[channel->line]), mono_ns);
	tell_apart(guards, c, mono_ns);
	see_zeroed(guards, c);
}

static bool put_rest(struct rv_guards *guards)
{
	const struct rv_station *station = guards->station;
	struct rv_guard *guard =
	    &guards->guard[guards->guards - 1 - station->outputs - station->devices];
	bool changed = false;

	for (int d = 0; d < station->devices; d++, guard++) {
		enum rv_alarm_level level = RV_LEVEL_WARNING;

		for (int c = 0; c < station->channels; c++)
			if (station->channel[c].device == d &&
			    level_of(guards, c) == RV_LEVEL_DANGER)
				level = RV_LEVEL_DANGER;
		changed |= put(guard, guards->device_lost[d], level, NAN);
	}
	for (int o = 0; o < station->outputs; o++, guard++)
		changed |= put(guard, guards->output_failed[o], RV_LEVEL_WARNING, NAN);
	return put(guard, guards->record_fails, RV_LEVEL_WARNING, NAN) || changed;
}

bool rv_guards_tick(struct rv_guards *guards, int64_t mono_ns)
{
	bool changed = false;

	for (int c = 0; c < guards->station->channels; c++)
		tick_channel(guards, c, mono_ns);
	for (int l = 0; l < guards->lines; l++)
		see_lost_tension(guards, l, mono_ns);
	for (int c = 0; c < guards->station->channels; c++)
		changed |= put_channel(guards, c, mono_ns);
	for (int l = 0; l < guards->lines; l++)
		changed |= put_line(guards, l);
	return put_rest(guards) || changed;
}

void rv_guards_device(struct rv_guards *guards, int device, bool lost, const char *text)
{
	guards->device_lost[device] = lost;
	snprintf(guards->device_text[device], sizeof guards->device_text[device], "%s", text);
}

void rv_guards_output(struct rv_guards *guards, int output, bool failed, const char *text)
{
	guards->output_failed[output] = failed;
	snprintf(guards->output_text[output], sizeof guards->output_text[output], "%s", text);
}

void rv_guards_record(struct rv_guards *guards, bool failing, const char *text)
{
	guards->record_fails = failing;
	snprintf(guards->record_text, sizeof guards->record_text, "%s", text);
}
