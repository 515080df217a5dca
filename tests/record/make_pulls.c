/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A record of six runs of three cycles each over two sheaves: in odd runs of 0.96 each, in even
 * ones of 0.95, each cycle off by some 0.1 %.
 */
#include "tests/record_help.h"

static const char rig[] = "rig: two parts on a beam\n"
			  "points:\n"
			  "  winch post: {at: [-6, 10]}\n"
			  "  beam: {at: [0, 10]}\n"
			  "  hook: {at: [0, 0], moves_with: crate}\n"
			  "loads:\n"
			  "  crate: {travels: [0, 1], resists: 10 kN, character: hung}\n"
			  "winches:\n"
			  "  drum: {at: winch post}\n"
			  "blocks:\n"
			  "  top: {at: beam, sheaves: 2, efficiency: [0.9, 0.99]}\n"
			  "  low: {at: hook, sheaves: 1, efficiency: [0.9, 0.99]}\n"
			  "lines:\n"
			  "  rope: {path: [drum, top, low, top]}\n"
			  "cells:\n"
			  "  lead: {in: rope, leg: 1}\n"
			  "  dead end: {in: rope, leg: 3}\n";

static struct rv_store *store;
static double now_s = 1.0, out_m = 30.0;

static void must(enum rv_err err, const struct rv_error *error)
{
	if (err == RV_OK)
		return;
	fprintf(stderr, "make_pulls: %s\n", error->text);
	exit(1);
}

static int64_t at(double t_s)
{
	return RECORD_T0_US + llround(t_s * 1e6);
}

static void add(double t_s, const struct rv_message *message)
{
	struct rv_error error = {0};
	int64_t readings = 0;

	must(rv_store_add_message(store, message, at(t_s), &readings, &error), &error);
}

/* Slack, haul 20 s, hold, pay out 15 s, slack. */
static void play_cycle(double efficiency)
{
	for (int i = 0; i < 47 * 50; i++, now_s += 0.02) {
		double t = i / 50.0, near_n = t < 5 || t >= 43 ? 20.0 : 10000.0;
		int way = t >= 5 && t < 25 ? -1 : t >= 28 && t < 43 ? 1 : 0;
		double far_n = near_n * pow(efficiency, -2.0 * way);

		out_m += 0.15 * way * 0.02;
		struct rv_message cells = record_cells(llround(10 * near_n + i * 7 % 40),
						       llround(10 * far_n + i * 11 % 40));
		struct rv_message payout = record_payout(llround(out_m / 0.0005));
		add(now_s, &cells);
		add(now_s + 0.003, &payout);
	}
	out_m -= 0.75; /* the next pull begins at another place */
}

static void play_run(int number)
{
	struct rv_error error = {0};
	char name[32];
	struct rv_store_opening opening = {.t_us = at(now_s),
					   .name = name,
					   .how = "by hand",
					   .rig_name = "two parts on a beam",
					   .rig_text = rig};

	snprintf(name, sizeof name, "run %c%d", number % 2 ? 'A' : 'B', number);
	must(rv_store_open_run(store, &opening, &error), &error);
	for (int c = 0; c < 3; c++)
		play_cycle((number % 2 ? 0.96 : 0.95) + 0.0005 * ((number + 2 * c) % 3 - 1));
	must(rv_store_close_run(store, number, at(now_s), "by hand", &error), &error);
	now_s += 5.0;
}

int main(int argc, char **argv)
{
	struct rv_error error = {0};
	struct rv_station *station = calloc(1, sizeof *station);

	if (argc != 2 || !station)
		return 2;
	snprintf(station->name, sizeof station->name, "Test yard");
	record_add_device(station, "cells", RV_LINK_MODBUS_TCP);
	record_add_device(station, "encoder", RV_LINK_SERIAL_TEXT);
	snprintf(record_add_channel(station, "lead", RV_TENSION, 0, 0.1)->cell, RV_NAME_SIZE,
		 "lead");
	snprintf(record_add_channel(station, "dead", RV_TENSION, 0, 0.1)->cell, RV_NAME_SIZE,
		 "dead end");
	snprintf(record_add_channel(station, "payout", RV_PAYOUT, 1, 0.0005)->winch, RV_NAME_SIZE,
		 "drum");
	must(rv_store_open_writer(argv[1], &store, &error), &error);
	must(rv_store_set_station(store, station, "station: Test yard\n", RECORD_T0_US, &error),
	     &error);
	must(rv_store_begin(store, &error), &error);
	for (int number = 1; number <= 6; number++)
		play_run(number);
	must(rv_store_commit(store, &error), &error);
	rv_store_close(store);
	free(station);
	return 0;
}
