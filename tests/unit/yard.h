/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A yard for the tests of the guards: two cells on one line, an encoder, a wind gauge and a spare
 * cell, played at 50 Hz.
 */
#ifndef RV_TESTS_UNIT_YARD_H
#define RV_TESTS_UNIT_YARD_H

#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "core/guards.h"

#define NS(t) ((int64_t)((t)*1e9) + INT64_C(10000000000))
#define YARD(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

enum { LEAD, ANCHOR, PAYOUT, WIND, SPARE };

struct yard {
	struct rv_station station;
	struct rv_rig rig;
	struct rv_guards guards;
};

static inline void name_channel(struct rv_station *station, int c, const char *name,
				enum rv_quantity quantity, const char *unit)
{
	struct rv_channel *channel = &station->channel[c];

	strcpy(channel->name, name);
	strcpy(channel->unit, unit);
	channel->quantity = quantity;
	channel->capacity = quantity == RV_TENSION ? 50e3 : (double)NAN;
	channel->calibration.zero.value = NAN;
	channel->device = c == WIND ? 1 : 0;
}

/* Winch - block - dead end at an oak; a cell in leg 1, one at the block's shackle. */
static inline void make_rig(struct rv_rig *rig)
{
	rig->points = 2;
	strcpy(rig->point[0].name, "truck");
	strcpy(rig->point[1].name, "oak");
	rig->winches = 1;
	strcpy(rig->winch[0].name, "drum");
	rig->blocks = 1;
	rig->block[0].point = 1;
	rig->ropes = 1;
	strcpy(rig->rope[0].name, "main");
	rig->rope[0].steps = 3;
	rig->rope[0].path[0] = (struct rv_step){RV_STEP_WINCH, 0, -1};
	rig->rope[0].path[1] = (struct rv_step){RV_STEP_BLOCK, 0, 0};
	rig->rope[0].path[2] = (struct rv_step){RV_STEP_POINT, 0, -1};
	rig->rope[0].stiffness_n = 1e6;
	rig->rope[0].length_m = 30.0;
	rig->fittings = 1;
	rig->fitting[0].count = 1;
	rig->fitting[0].holds[0] = (struct rv_held){RV_HELD_BLOCK, 0};
	rig->cells = 2;
	strcpy(rig->cell[0].name, "lead");
	rig->cell[0].in_leg = true;
	rig->cell[0].leg = 1;
	strcpy(rig->cell[1].name, "anchor");
	rig->cell[1].holds = (struct rv_held){RV_HELD_FITTING, 0};
}

static inline int set_up(void **state)
{
	struct yard *yard = calloc(1, sizeof *yard);

	if (!yard)
		return -1;
	yard->station.unit = RV_FORCE_KN;
	yard->station.devices = 2;
	strcpy(yard->station.device[0].name, "cells");
	strcpy(yard->station.device[1].name, "weather");
	yard->station.device[0].every_s = 0.02;
	yard->station.device[1].every_s = 2.0;
	yard->station.channels = 5;
	name_channel(&yard->station, LEAD, "lead", RV_TENSION, "N");
	name_channel(&yard->station, ANCHOR, "anchor", RV_TENSION, "N");
	name_channel(&yard->station, PAYOUT, "payout", RV_PAYOUT, "m");
	name_channel(&yard->station, WIND, "wind", RV_OTHER, "m/s");
	name_channel(&yard->station, SPARE, "spare", RV_TENSION, "N");
	strcpy(yard->station.channel[LEAD].cell, "lead");
	strcpy(yard->station.channel[ANCHOR].cell, "anchor");
	yard->station.outputs = 1;
	strcpy(yard->station.output[0].name, "horn");
	make_rig(&yard->rig);
	rv_guards_init(&yard->guards, &yard->station, &yard->rig, NS(0));
	*state = yard;
	return 0;
}

static inline int tear_down(void **state)
{
	free(*state);
	return 0;
}

static inline int find(const struct rv_guards *guards, const char *name)
{
	for (int i = 0; i < guards->guards; i++)
		if (strcmp(guards->guard[i].name, name) == 0)
			return i;
	fail_msg("no guard is called \"%s\"", name);
	return -1;
}

static inline const struct rv_guard *guard_of(const struct yard *yard, const char *name)
{
	return &yard->guards.guard[find(&yard->guards, name)];
}

/* Names of all that is true, with a "!" where it is danger. */
static inline const char *standing(const struct yard *yard)
{
	static char names[1000];

	names[0] = '\0';
	for (int i = 0; i < yard->guards.guards; i++) {
		const struct rv_guard *guard = &yard->guards.guard[i];

		if (!guard->is_true)
			continue;
		if (names[0])
			strcat(names, ", ");
		strcat(names, guard->name);
		if (guard->level == RV_LEVEL_DANGER)
			strcat(names, "!");
	}
	return names;
}

static inline void see(struct yard *yard, int channel, double value, double t)
{
	struct rv_reading reading = {.value = value, .raw = value};

	if (isnan(value)) {
		reading.quality = RV_BAD;
		reading.cause = RV_CAUSE_NO_COMMUNICATION;
	}
	rv_guards_reading(&yard->guards, channel, &reading, NS(t));
}

/* A living force: it never gives the same number twice. */
static inline double alive(double force_n, double t)
{
	return force_n * (1.0 + 0.002 * sin(37.0 * t) + 0.001 * sin(91.0 * t));
}

/* From one time to another at 50 Hz; lead and anchor as given (NaN = silent, not bad). */
static inline void play(struct yard *yard, double from, double to, double lead_n, double anchor_n,
			enum rv_motion motion, double payout_m)
{
	for (double t = from; t < to - 1e-9; t += 0.02) {
		struct rv_motion_now now = {.motion = motion,
					    .payout_m = payout_m,
					    .step_m = 0.001,
					    .window_s = 0.4,
					    .mono_ns = NS(t)};

		if (!isnan(lead_n))
			see(yard, LEAD, alive(lead_n, t), t);
		if (!isnan(anchor_n))
			see(yard, ANCHOR, alive(anchor_n, t), t);
		see(yard, PAYOUT, payout_m, t);
		see(yard, WIND, 3.0, t);
		see(yard, SPARE, alive(100.0, t), t);
		rv_guards_motion(&yard->guards, 0, &now, RV_MOTION_UNKNOWN, NS(t));
		rv_guards_tick(&yard->guards, NS(t));
	}
}

#endif
