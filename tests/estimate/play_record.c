/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plays a tackle by its physics (tests/truth/simrig) into a record, as one more run of it, for the
 * commands to be tried on:
 *
 *   play_record RECORD STATION RIG NAME SEED [KEY=VALUE...]
 *
 * KEY: cycles, pays, swap (0 or 1: the cells change places half-way, with a mark), gain_u
 * (standard), first, second (which simulated cell the two channels read: 0 lead, 1 dead end;
 * second=-1: none), marks (1: marks tell the motion), friction (share of the load that turns with
 * the motion), leg_n, constant_n. The station's first tension channel reads cell `first`, its
 * second one `second`; its payout channel, if there is one, the line; its switch channels the
 * motion that they name. Prints {"run","efficiency","gain":[...],"length_s"}: what was true.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/station_read.h"
#include "schema/store.h"
#include "tests/truth/simrig.h"

#define T0_US INT64_C(1767600000000000) /* 2026-01-05T08:00:00Z */

struct play {
	struct rv_store *store;
	struct rv_station station;
	struct sim_setup sim;
	int first, second, marks;
	int tension[2], payout, contact[2]; /* channels; -1 = none */
	int64_t from_us, last_us;
	double gain[2], line_m, line_s;
	int way; /* told by marks and contacts: 1 paying out, -1 hauling in, 0 stopped */
};

static void must(enum rv_err err, const struct rv_error *error)
{
	if (err == RV_OK)
		return;
	fprintf(stderr, "play_record: %d:%d: %s\n", error->line, error->column, error->text);
	exit(1);
}

static char *take(const char *path)
{
	static const size_t most = 65536;
	FILE *file = fopen(path, "rb");
	char *text = calloc(1, most);

	if (!file || !text) {
		fprintf(stderr, "play_record: %s cannot be read\n", path);
		exit(1);
	}
	(void)!fread(text, 1, most - 1, file);
	fclose(file);
	return text;
}

/* One channel's reading, in a message of its device with nothing else in it. */
static void tell(struct play *play, int channel, double value, double t_s)
{
	const struct rv_channel *of = &play->station.channel[channel];
	struct rv_message message = {.device = (uint8_t)of->device};
	struct rv_error error = {0};
	int64_t readings = 0;

	for (int i = 0; i < play->station.channels; i++) {
		if (play->station.channel[i].device != of->device)
			continue;
		struct rv_value *to = &message.values[message.count++];

		*to = (struct rv_value){.raw = {.kind = RV_RAW_NONE}, .quality = RV_BAD};
		if (i == channel)
			*to = (struct rv_value){.raw = {.kind = RV_RAW_REAL, .real = value}};
	}
	play->last_us = play->from_us + llround(t_s * 1e6);
	must(rv_store_add_message(play->store, &message, play->last_us, &readings, &error), &error);
}

static void hear_cell(void *ear, int cell, double value_n, double t_s)
{
	struct play *play = ear;
	int at = cell == play->first ? 0 : cell == play->second ? 1 : -1;

	if (at >= 0 && play->tension[at] >= 0)
		tell(play, play->tension[at], play->gain[at] * value_n, t_s);
}

static void mark(struct play *play, const char *text, double t_s)
{
	struct rv_store_mark made = {.t_us = play->from_us + llround(t_s * 1e6),
				     .travel_m = (double)NAN};
	struct rv_error error = {0};

	snprintf(made.text, sizeof made.text, "%s", text);
	must(rv_store_add_mark(play->store, &made, &error), &error);
}

/* A person with a watch, and the winch's contactors, know which way the line goes. */
static void see_way(struct play *play, double payout_m, double t_s)
{
	static const char *const words[] = {"hauling in", "stopped", "paying out"};
	double speed_mps = (payout_m - play->line_m) / (t_s - play->line_s);
	int way = speed_mps < -0.07 ? -1 : speed_mps > 0.07 ? 1 : 0;

	if (t_s - play->line_s < 0.25)
		return;
	if (play->marks && way != play->way)
		mark(play, words[way + 1], t_s);
	for (int i = 0; i < 2; i++)
		if (play->contact[i] >= 0)
			tell(play, play->contact[i], way == (i ? 1 : -1) ? 1.0 : 0.0, t_s);
	play->way = way;
	play->line_m = payout_m;
	play->line_s = t_s;
}

static void hear_payout(void *ear, double payout_m, double t_s)
{
	struct play *play = ear;

	if (play->payout >= 0)
		tell(play, play->payout, payout_m, t_s);
	if (isnan(play->line_s)) {
		play->line_s = t_s;
		play->line_m = payout_m;
	}
	see_way(play, payout_m, t_s);
}

static void find_channels(struct play *play)
{
	int cells = 0;

	play->tension[0] = play->tension[1] = play->payout = -1;
	play->contact[0] = play->contact[1] = -1;
	for (int i = 0; i < play->station.channels; i++) {
		const struct rv_channel *channel = &play->station.channel[i];

		if (channel->quantity == RV_TENSION && cells < 2)
			play->tension[cells++] = i;
		if (channel->quantity == RV_PAYOUT)
			play->payout = i;
		if (channel->quantity == RV_SWITCH)
			play->contact[channel->motion == RV_MOTION_OUT] = i;
	}
}

static void take_word(struct play *play, const char *word)
{
	const char *equals = strchr(word, '=');
	double value = equals ? strtod(equals + 1, NULL) : (double)NAN;
	size_t len = equals ? (size_t)(equals - word) : 0;
	const struct {
		const char *key;
		double *real;
		int *whole;
	} keys[] = {
	    {"cycles", NULL, &play->sim.cycles},
	    {"pays", NULL, &play->sim.pays},
	    {"first", NULL, &play->first},
	    {"second", NULL, &play->second},
	    {"marks", NULL, &play->marks},
	    {"gain_u", &play->sim.cell[0].u_gain_ratio, NULL},
	    {"friction", &play->sim.load_friction, NULL},
	    {"constant_n", &play->sim.constant_n, NULL},
	    {"leg_n", &play->sim.leg_n[0], NULL},
	    {"load_log", &play->sim.load_log, NULL},
	    {"trend_ps", &play->sim.trend_ps, NULL},
	    {"gain_a", &play->gain[0], NULL},
	    {"gain_b", &play->gain[1], NULL},
	};

	if (len == 4 && strncmp(word, "swap", len) == 0) {
		play->sim.swap = value > 0.5;
		return;
	}
	for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
		if (len != strlen(keys[i].key) || strncmp(word, keys[i].key, len) != 0)
			continue;
		if (keys[i].whole)
			*keys[i].whole = (int)lround(value);
		else
			*keys[i].real = value;
		return;
	}
	fprintf(stderr, "play_record: %s is nothing known\n", word);
	exit(2);
}

/* After all that the record holds, a minute later. */
static int64_t begin(struct play *play, const char *station_text)
{
	struct rv_store_found found = {.newest_us = 0};
	struct rv_error error = {0};

	must(rv_store_find(play->store, &found, &error), &error);
	rv_text_free(&found.rig_text);
	play->from_us = found.latest_us ? found.latest_us + INT64_C(60000000) : T0_US;
	must(rv_store_set_station(play->store, &play->station, station_text, play->from_us, &error),
	     &error);
	return found.last_run + 1;
}

static void play_run(struct play *play, const struct rv_store_opening *opening, uint64_t seed,
		     struct sim_truth *truth)
{
	const struct sim_ears ears = {.cell = hear_cell, .payout = hear_payout, .ear = play};
	struct rv_error error = {0};

	must(rv_store_begin(play->store, &error), &error);
	must(rv_store_open_run(play->store, opening, &error), &error);
	sim_play(&play->sim, seed, &ears, truth);
	if (isfinite(truth->exchanged_s))
		mark(play, "cells exchanged", truth->exchanged_s);
	must(rv_store_close_run(play->store, opening->number, play->last_us + 1, "by hand", &error),
	     &error);
	must(rv_store_commit(play->store, &error), &error);
}

int main(int argc, char **argv)
{
	static struct play play = {.second = 1, .gain = {1.0, 1.0}, .line_s = (double)NAN};
	const struct rv_station_outside outside = {.for_import = false};
	struct rv_error error = {0};
	struct sim_truth truth;

	if (argc < 6) {
		fprintf(stderr, "usage: play_record RECORD STATION RIG NAME SEED [KEY=VALUE...]\n");
		return 2;
	}
	play.sim = sim_base();
	for (int i = 6; i < argc; i++)
		take_word(&play, argv[i]);
	play.sim.cell[1].u_gain_ratio = play.sim.cell[0].u_gain_ratio;
	play.sim.leg_n[1] = play.sim.leg_n[0];
	char *station = take(argv[2]), *rig = take(argv[3]);
	must(rv_station_read(station, strlen(station), &outside, &play.station, &error), &error);
	find_channels(&play);
	must(rv_store_open_writer(argv[1], &play.store, &error), &error);
	int64_t number = begin(&play, station);
	const struct rv_store_opening opening = {.number = number,
						 .t_us = play.from_us,
						 .name = argv[4],
						 .how = "by hand",
						 .rig_name = "dock",
						 .rig_text = rig};
	play_run(&play, &opening, strtoull(argv[5], NULL, 10), &truth);
	rv_store_close(play.store);
	printf("{\"run\": %lld, \"efficiency\": %.17g, \"gain\": [%.17g, %.17g], \"length_s\": "
	       "%.3f}\n",
	       (long long)number, play.sim.efficiency[0], truth.gain[0], truth.gain[1],
	       truth.length_s);
	free(station);
	free(rig);
	return 0;
}
