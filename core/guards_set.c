/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which guards there are: made from the station and the rig on the ground.
 */
#include "core/guards.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define STALE_S 1.0
#define STALE_OTHER_POLLS 3.0
#define DEPTH 4 /* of fittings that hold fittings */

/* The line that a block, a point, or a fitting round them bears, or -1. */
static int line_on(const struct rv_rig *rig, enum rv_step_kind kind, int index)
{
	for (int r = 0; r < rig->ropes; r++)
		for (int i = 0; i < rig->rope[r].steps; i++)
			if (rig->rope[r].path[i].kind == kind &&
			    rig->rope[r].path[i].index == index)
				return r;
	return -1;
}

static int line_of_point(const struct rv_rig *rig, int point)
{
	int line = line_on(rig, RV_STEP_POINT, point);

	for (int b = 0; line < 0 && b < rig->blocks; b++)
		if (rig->block[b].point == point)
			line = line_on(rig, RV_STEP_BLOCK, b);
	for (int w = 0; line < 0 && w < rig->winches; w++)
		if (rig->winch[w].point == point)
			line = line_on(rig, RV_STEP_WINCH, w);
	return line;
}

int rv_guards_line_of_cell(const struct rv_rig *rig, int cell)
{
	if (rig->cell[cell].in_leg)
		return rig->cell[cell].rope;
	struct rv_held held = rig->cell[cell].holds;
	for (int depth = 0; depth < DEPTH; depth++) {
		switch (held.kind) {
		case RV_HELD_LINE_END:
			return held.index;
		case RV_HELD_POINT:
			return line_of_point(rig, held.index);
		case RV_HELD_BLOCK:
			return line_on(rig, RV_STEP_BLOCK, held.index);
		case RV_HELD_FITTING:
			if (rig->fitting[held.index].count == 0)
				return -1;
			held = rig->fitting[held.index].holds[0];
			break;
		}
	}
	return -1;
}

static int add_line(struct rv_guards *guards, const char *name)
{
	struct rv_guard_line *line = &guards->line[guards->lines];

	snprintf(line->name, sizeof line->name, "%s", name);
	line->winch = line->creep_channel = line->lost_channel = -1;
	line->stiffness_npm = NAN;
	line->now = (struct rv_motion_now){.payout_m = NAN, .speed_mps = NAN, .travelled_m = NAN};
	rv_creep_line_init(&line->creep);
	return guards->lines++;
}

static void add_ropes(struct rv_guards *guards, const struct rv_rig *rig)
{
	for (int r = 0; r < rig->ropes; r++) {
		const struct rv_rope *rope = &rig->rope[r];
		struct rv_guard_line *line = &guards->line[add_line(guards, rope->name)];

		line->stiffness_npm = rope->stiffness_n / rope->length_m;
		for (int i = 0; i < rope->steps; i++)
			if (rope->path[i].kind == RV_STEP_WINCH) {
				line->winch = rope->path[i].index;
				line->is_wound = true;
			}
	}
}

/* The rope on the winch a payout or turns channel names; its own line where there is no rig. */
static int line_of_winch(struct rv_guards *guards, const struct rv_channel *channel,
			 const struct rv_rig *rig)
{
	if (!rig) {
		int line = add_line(guards, channel->name);

		guards->line[line].winch = 0;
		guards->line[line].is_wound = true;
		return line;
	}
	int winch = rig->winches == 1 ? 0 : -1;
	if (channel->winch[0] != '\0')
		winch = rv_rig_find_winch(rig, channel->winch);
	return winch < 0 ? -1 : line_on(rig, RV_STEP_WINCH, winch);
}

static int line_of_channel(struct rv_guards *guards, const struct rv_channel *channel,
			   const struct rv_rig *rig)
{
	if (channel->quantity == RV_PAYOUT || channel->quantity == RV_TURNS)
		return line_of_winch(guards, channel, rig);
	if (channel->quantity != RV_TENSION)
		return -1;
	int cell = rig && channel->cell[0] != '\0' ? rv_rig_find_cell(rig, channel->cell) : -1;
	int line = cell < 0 ? -1 : rv_guards_line_of_cell(rig, cell);
	return line < 0 ? add_line(guards, channel->name) : line;
}

static void add_channel(struct rv_guards *guards, int c, const struct rv_rig *rig, int64_t mono_ns)
{
	const struct rv_station *station = guards->station;
	const struct rv_channel *declared = &station->channel[c];
	struct rv_guard_channel *channel = &guards->channel[c];

	channel->line = line_of_channel(guards, declared, rig);
	channel->is_tension = declared->quantity == RV_TENSION;
	for (int i = 0; i < station->alarms; i++)
		channel->is_ruled |= station->alarm[i].channel == c;
	channel->quality = RV_BAD;
	channel->value = channel->fell_from_n = channel->standing_n = NAN;
	channel->good_ns = mono_ns;
	channel->stale_s = STALE_S;
	if (declared->quantity == RV_OTHER && declared->device >= 0)
		channel->stale_s =
		    fmax(/* a NaN gives way */
			 STALE_S, STALE_OTHER_POLLS * station->device[declared->device].every_s);
	rv_loss_init(&channel->loss, declared);
	rv_stuck_init(&channel->stuck, channel->loss.floor_n);
	rv_creep_force_init(&channel->creep, channel->loss.floor_n);
}

static void add_guard(struct rv_guards *guards, enum rv_guard_kind kind, int index,
		      const char *name)
{
	static const char *const ending[RV_GUARD_KINDS] = {
	    [RV_GUARD_LOST] = " lost",
	    [RV_GUARD_FROZEN] = " frozen",
	    [RV_GUARD_OUT_OF_RANGE] = " out of range",
	    [RV_GUARD_ZEROED] = " zeroed",
	    [RV_GUARD_TENSION_LOST] = " tension lost",
	    [RV_GUARD_CREEPS] = " creeps",
	    [RV_GUARD_DEVICE_LOST] = " lost",
	    [RV_GUARD_OUTPUT_FAILED] = " failed",
	    [RV_GUARD_RECORD] = "",
	};
	struct rv_guard *guard = &guards->guard[guards->guards++];

	guard->kind = kind;
	guard->index = index;
	guard->value = NAN;
	guard->is_data = kind <= RV_GUARD_OUT_OF_RANGE || kind == RV_GUARD_DEVICE_LOST;
	guard->level =
	    kind == RV_GUARD_ZEROED || kind == RV_GUARD_TENSION_LOST || kind == RV_GUARD_CREEPS
		? RV_LEVEL_DANGER
		: RV_LEVEL_WARNING;
	snprintf(guard->name, sizeof guard->name, "%s%s", name, ending[kind]);
}

static void add_guards(struct rv_guards *guards)
{
	const struct rv_station *station = guards->station;

	for (int c = 0; c < station->channels; c++) {
		const char *name = station->channel[c].name;

		guards->channel[c].first_guard = guards->guards;
		for (int kind = RV_GUARD_LOST; kind <= RV_GUARD_OUT_OF_RANGE; kind++)
			add_guard(guards, (enum rv_guard_kind)kind, c, name);
		if (guards->channel[c].is_tension)
			add_guard(guards, RV_GUARD_ZEROED, c, name);
	}
	for (int l = 0; l < guards->lines; l++) {
		guards->line[l].first_guard = guards->guards;
		add_guard(guards, RV_GUARD_TENSION_LOST, l, guards->line[l].name);
		add_guard(guards, RV_GUARD_CREEPS, l, guards->line[l].name);
	}
	for (int d = 0; d < station->devices; d++)
		add_guard(guards, RV_GUARD_DEVICE_LOST, d, station->device[d].name);
	for (int o = 0; o < station->outputs; o++)
		add_guard(guards, RV_GUARD_OUTPUT_FAILED, o, station->output[o].name);
	add_guard(guards, RV_GUARD_RECORD, 0, "record");
}

/* Lines, channels and guards as the rig has them. */
static void make(struct rv_guards *guards, const struct rv_rig *rig, int64_t mono_ns)
{
	memset(guards->channel, 0, sizeof guards->channel);
	memset(guards->line, 0, sizeof guards->line);
	memset(guards->guard, 0, sizeof guards->guard);
	guards->lines = guards->guards = 0;
	if (rig)
		add_ropes(guards, rig);
	for (int c = 0; c < guards->station->channels; c++)
		add_channel(guards, c, rig, mono_ns);
	/* Where there is one winch, all that hangs together holds when it holds. */
	for (int l = 0; l < guards->lines; l++)
		if (guards->line[l].winch < 0 && (!rig || rig->winches == 1))
			guards->line[l].winch = 0;
	add_guards(guards);
}

void rv_guards_init(struct rv_guards *guards, const struct rv_station *station,
		    const struct rv_rig *rig, int64_t mono_ns)
{
	memset(guards, 0, sizeof *guards);
	guards->station = station;
	guards->started_ns = mono_ns;
	make(guards, rig, mono_ns);
}

/* What is known of an instrument, whatever it is hung in. */
struct instrument {
	bool ever, is_live, is_zeroed;
	enum rv_quality quality;
	enum rv_cause cause;
	double value, fell_from_n, standing_n;
	int64_t good_ns;
	char line[RV_NAME_SIZE];
};

static const char *line_name(const struct rv_guards *guards, int c)
{
	int line = guards->channel[c].line;

	return line < 0 ? "" : guards->line[line].name;
}

void rv_guards_set_rig(struct rv_guards *guards, const struct rv_rig *rig, int64_t mono_ns)
{
	struct instrument was[RV_CHANNELS];
	int channels = guards->station->channels;

	for (int c = 0; c < channels; c++) {
		const struct rv_guard_channel *channel = &guards->channel[c];
		was[c] = (struct instrument){channel->ever,	   channel->is_live,
					     channel->is_zeroed,   channel->quality,
					     channel->cause,	   channel->value,
					     channel->fell_from_n, channel->standing_n,
					     channel->good_ns,	   ""};
		snprintf(was[c].line, sizeof was[c].line, "%s", line_name(guards, c));
	}
	make(guards, rig, mono_ns);
	for (int c = 0; c < channels; c++) {
		struct rv_guard_channel *channel = &guards->channel[c];
		channel->ever = was[c].ever;
		channel->is_live = was[c].is_live;
		channel->quality = was[c].quality;
		channel->cause = was[c].cause;
		channel->value = was[c].value;
		channel->good_ns = was[c].good_ns;
		/* On another line its neighbours are others: nothing there could take it back. */
		if (strcmp(was[c].line, line_name(guards, c)) != 0)
			continue;
		channel->is_zeroed = was[c].is_zeroed;
		channel->fell_from_n = was[c].fell_from_n;
		channel->standing_n = was[c].standing_n;
	}
	(void)rv_guards_tick(guards, mono_ns);
}

void rv_guards_stiffness(struct rv_guards *guards, int line, double stiffness_npm)
{
	guards->line[line].stiffness_npm = stiffness_npm;
}
