/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Makes a record with two runs whose every number is known: make_record PATH
 *
 * Run 1, "dry rope", 5 s to 48 s after the first reading: the line holds, is hauled in at 0.2 m/s
 * from 8 s to 28 s, holds, is paid out at 0.2 m/s from 31 s to 45 s, holds.  lead carries 8 kN and
 * the dead end, past one sheave, 0.95 times that while hauling in, 1/0.95 while paying out.
 * Run 2, "wet, rope", has no rig, a zero in the middle, and is left open.
 */
#include "tests/record_help.h"

static const char rig[] = "rig: two parts\n"
			  "points:\n"
			  "  deck: {at: [0, 0]}\n"
			  "  post: {at: [0, 0.6], wll: 40 kN}\n"
			  "  eye:  {at: [32, 0.3], moves_with: sledge}\n"
			  "loads:\n"
			  "  sledge: {travels: [-1, 0], resists: 15 kN}\n"
			  "winches:\n"
			  "  drum: {at: deck, rated: 25 kN}\n"
			  "blocks:\n"
			  "  eye block: {at: eye, sheaves: 1, efficiency: 0.95, wll: 45 kN}\n"
			  "lines:\n"
			  "  rope: {path: [drum, eye block, post], wll: 15 kN}\n"
			  "cells:\n"
			  "  lead: {in: rope, leg: 1}\n"
			  "  dead end: {in: rope, leg: 2}\n";

static struct rv_store *store;
static struct rv_station *station;

static void must(enum rv_err err, const struct rv_error *error)
{
	if (err == RV_OK)
		return;
	fprintf(stderr, "make_record: %s\n", error->text);
	exit(1);
}

static int64_t at(double seconds)
{
	return RECORD_T0_US + (int64_t)llround(seconds * 1e6);
}

static void add(double seconds, struct rv_message message)
{
	struct rv_error error = {0};
	int64_t readings = 0;

	must(rv_store_add_message(store, &message, at(seconds), &readings, &error), &error);
}

static void declare(void)
{
	station = calloc(1, sizeof *station);
	snprintf(station->name, sizeof station->name, "Test yard");
	station->rehearsal = true;
	record_add_device(station, "cells", RV_LINK_MODBUS_TCP);
	record_add_device(station, "encoder", RV_LINK_SERIAL_TEXT);
	struct rv_channel *lead = record_add_channel(station, "lead", RV_TENSION, 0, 0.5);
	lead->calibration.conversion.a[0] = -1000 * 0.5;
	snprintf(lead->cell, sizeof lead->cell, "lead");
	struct rv_channel *dead = record_add_channel(station, "dead end", RV_TENSION, 0, 0.1);
	snprintf(dead->cell, sizeof dead->cell, "dead end");
	record_add_channel(station, "payout", RV_PAYOUT, 1, 0.0005);
	record_add_channel(station, "drum, temp", RV_OTHER, 1, 0.1);
}

static double payout_m(double t)
{
	if (t < 8)
		return 20.0;
	if (t < 28)
		return 20.0 - 0.2 * (t - 8);
	if (t < 31)
		return 16.0;
	return t < 45 ? 16.0 + 0.2 * (t - 31) : 18.8;
}

static double ratio(double t)
{
	if (t >= 8 && t < 28)
		return 0.95;
	return t >= 31 && t < 45 ? 1 / 0.95 : 1.0;
}

static void add_readings(double from, double to)
{
	for (int i = (int)(from * 50); i < (int)(to * 50); i++) {
		double t = i / 50.0;
		struct rv_message cells = {.device = 0, .count = 2};
		struct rv_message encoder = {.device = 1, .count = 2};
		cells.values[0] = record_count(17000);
		cells.values[1] = record_count(llround(80000 * ratio(t)));
		if (t >= 46 && t < 46.5) {
			cells.values[1].quality = RV_BAD;
			cells.values[1].cause = RV_CAUSE_FROZEN;
		}
		encoder.values[0] = record_count(llround(payout_m(t) / 0.0005));
		encoder.values[1] = record_real(i % 50 ? 205.5 : 206.25);
		if (t < 22 || t >= 22.06)
			add(t, cells);
		add(t + 0.003, encoder);
	}
}

static void add_happenings(void)
{
	struct rv_error error = {0};
	struct rv_store_mark mark = {.t_us = at(10), .travel_m = 1.5, .text = "rope lies well"};
	struct rv_store_alarm alarm = {.t_us = at(20.25),
				       .name = "snatch",
				       .level = "warning",
				       .state = "unacknowledged",
				       .value = 8000,
				       .unit = "N",
				       .text = "lead rises by 45 kN/s"};

	must(rv_store_add_mark(store, &mark, &error), &error);
	must(rv_store_add_alarm(store, &alarm, &error), &error);
	must(rv_store_add_event(store,
				&(struct rv_store_event){.t_us = at(22),
							 .until_us = at(22.04),
							 .device = 0,
							 .what = "lost",
							 .cause = "time-out",
							 .text = "",
							 .count = 3},
				&error),
	     &error);
	must(rv_store_set_quality(store, 1, at(46), RV_BAD, RV_CAUSE_FROZEN, &error), &error);
	must(rv_store_set_quality(store, 1, at(46.5), RV_GOOD, RV_CAUSE_NONE, &error), &error);
}

static void add_anchors(void)
{
	const int64_t mono_ns = INT64_C(1000000000000);
	struct rv_error error = {0};

	must(rv_store_add_anchor(store,
				 &(struct rv_store_anchor){.boot = "boot",
							   .why = "start",
							   .mono_ns = mono_ns,
							   .t_us = at(0),
							   .utc_us = at(0)},
				 &error),
	     &error);
	/* The clock was found 2 s slow later on. */
	must(
	    rv_store_add_anchor(store,
				&(struct rv_store_anchor){.boot = "boot",
							  .why = "step",
							  .mono_ns = mono_ns + INT64_C(40000000000),
							  .t_us = at(40),
							  .utc_us = at(42),
							  .trusted = true},
				&error),
	    &error);
}

static void fill(void)
{
	struct rv_error error = {0};
	struct rv_store_opening run = {.t_us = at(5),
				       .name = "dry rope",
				       .how = "by hand",
				       .rig_name = "two parts",
				       .rig_text = rig};
	struct rv_store_in_force zeroed = {.conversion = {.a = {-500.0 - 100.0, 0.5}, .degree = 1},
					   .zero = 100.0};

	add_anchors();
	must(rv_store_open_run(store, &run, &error), &error);
	add_readings(0, 50);
	must(rv_store_close_run(store, 1, at(48), "by hand", &error), &error);
	add_happenings();
	run = (struct rv_store_opening){.t_us = at(60), .name = "wet, rope", .how = "by itself"};
	must(rv_store_open_run(store, &run, &error), &error);
	add_readings(60, 61);
	must(rv_store_set_conversion(store, 0, at(60.5), &zeroed, &error), &error);
}

int main(int argc, char **argv)
{
	struct rv_error error = {0};

	if (argc != 2) {
		fprintf(stderr, "usage: make_record PATH\n");
		return 2;
	}
	declare();
	must(rv_store_open_writer(argv[1], &store, &error), &error);
	must(rv_store_set_station(store, station, "station: Test yard\n", RECORD_T0_US, &error),
	     &error);
	must(rv_store_begin(store, &error), &error);
	fill();
	must(rv_store_commit(store, &error), &error);
	rv_store_close(store);
	free(station);
	return 0;
}
