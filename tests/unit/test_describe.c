/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "core/describe.h"
#include "core/rig_read.h"
#include "core/station_notes.h"
#include "core/station_read.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

static const char rig_text[] =
    "rig: two parts at the slip\n"
    "points: {deck: {at: [0, 0]}, bollard: {at: [0, 1], wll: 9 t}, eye: {at: [30, 0], moves_with: "
    "hull}}\n"
    "loads: {hull: {travels: [-1, 0], resists: [20 kN, 30 kN]}}\n"
    "winches: {drum: {at: deck, rated: 40 kN}}\n"
    "blocks: {runner: {at: eye, efficiency: [0.92, 0.97], mbs: 200 kN, design_factor: 4}}\n"
    "lines: {wire: {path: [drum, runner, bollard], wll: 35 kN}}\n"
    "fittings: {pin: {kind: shackle, holds: runner}}\n"
    "cells: {lead: {in: wire, leg: 1}, dead: {in: wire, leg: 2}}\n";

static const char station_text[] =
    "station: Slip four\n"
    "record: slip.db\n"
    "rehearsal: true\n"
    "runs: {open_above: 2 kN, close_after: 5 min}\n"
    "devices:\n"
    "  cells: {link: modbus-tcp, address: 127.0.0.1, port: 1502, unit: 1, every: 10 ms}\n"
    "  spare: {link: modbus-rtu, path: /dev/spare, speed: 9600, frame: 8N1, unit: 3, every: 20 "
    "ms}\n"
    "channels:\n"
    "  lead: {quantity: tension, cell: lead, device: cells, register: input 0, type: int16, unit: "
    "kN,"
    " capacity: 5 t}\n"
    "  tree: {quantity: tension, cell: tree, device: cells, register: input 1, type: int16, unit: "
    "kN}\n"
    "  loose: {quantity: tension, device: cells, register: input 2, type: int16, scale: 5 N}\n"
    "  out: {quantity: payout, winch: capstan, device: cells, register: input 3, type: int16, "
    "unit: "
    "m}\n"
    "alarms:\n"
    "  near limit: {component: any, above: 80 %, level: warning, action: Slow down.}\n"
    "  pin near: {component: pine, above: 90 %, level: danger}\n";

struct both {
	struct rv_rig rig;
	struct rv_station station;
};

static struct both *read_both(void)
{
	static const struct rv_station_outside outside = {0};
	struct both *both = calloc(1, sizeof *both);
	struct rv_error error = {0};

	assert_non_null(both);
	if (rv_rig_read(rig_text, strlen(rig_text), &both->rig, &error) != RV_OK ||
	    rv_station_read(station_text, strlen(station_text), &outside, &both->station, &error) !=
		RV_OK) {
		print_error("%d:%d: %s\n", error.line, error.column, error.text);
		fail();
	}
	return both;
}

static void assert_says(const struct rv_text *text, const char *line)
{
	if (text->data && strstr(text->data, line))
		return;
	print_error("not said: %s\nin:\n%s\n", line, text->data ? text->data : "");
	fail();
}

/* 9 t times 9.80665 m/s2 is 88.26 kN, 5 t is 49.03 kN, 200 kN / 4 is 50 kN. */
static void a_person_is_told_what_is_declared(void **state)
{
	static const char *const lines[] = {
	    "station: Slip four (SIMULATED: its instruments are played)\n",
	    "record: slip.db\n",
	    "page: http://127.0.0.1:8750/, forces in kN\n",
	    "runs: open above 2.00 kN, close after 5 min\n",
	    "  cells: modbus-tcp 127.0.0.1 port 1502, unit 1, every 10 ms, timeout 500 ms\n",
	    "  spare: modbus-rtu /dev/spare, 9600 baud 8N1, unit 3, every 20 ms",
	    "  lead: tension of cell lead, cells input 0, sends kN, capacity 49.03 kN (stamped as "
	    "a mass: "
	    "times 9.80665 m/s2)\n",
	    "  loose: tension, cells input 2, one count is 5 N\n",
	    "  near limit (warning): any part above 80 % of its limit. Then: Slow down.\n",
	    "rig: two parts at the slip (hauling in)\n",
	    "  line wire: drum > runner > bollard, 2 legs\n",
	    "  load hull resists 20.00 kN to 30.00 kN\n",
	    "  block runner: 1 sheave, efficiency 0.92 to 0.97\n",
	    "  cell dead in wire, leg 2 of 2\n",
	    "bollard: 88.26 kN, stamped as a mass: times 9.80665 m/s2\n",
	    "runner: 50.00 kN, mbs / design_factor 4\n",
	    "wire: 35.00 kN\n",
	    "not rated, not watched: deck, eye, pin\n",
	};
	struct both *both = read_both();
	struct rv_text text = {0};

	(void)state;
	rv_describe_station(&both->station, &both->rig, "2026-06-01", &text);
	for (size_t i = 0; i < COUNT(lines); i++)
		assert_says(&text, lines[i]);
	rv_text_free(&text);
	free(both);
}

static void what_does_not_fit_together_becomes_a_note(void **state)
{
	static const char *const lines[] = {
	    "  channel tree: the rig has no cell tree: shown, never compared\n",
	    "  channel loose names no cell: shown, never compared\n",
	    "  channel out: the rig has no winch capstan: shown, moves no line\n",
	    "  device spare is neither read nor written\n",
	    "  cell dead has no channel: predicted only\n",
	    "  alarm pin near watches nothing: the rig has no part pine\n",
	};
	struct both *both = read_both();
	struct rv_text text = {0};

	(void)state;
	assert_int_equal(rv_station_notes_add(&both->station, &both->rig, NULL, &text),
			 COUNT(lines));
	for (size_t i = 0; i < COUNT(lines); i++)
		assert_says(&text, lines[i]);
	rv_text_free(&text);
	free(both);
}

static void a_place_read_by_two_channels_is_noted(void **state)
{
	struct both *both = read_both();
	struct rv_text text = {0};
	struct rv_channel *channel = both->station.channel;

	(void)state;
	int before = rv_station_notes_add(&both->station, NULL, NULL, &text);
	assert_null(strstr(text.data, "same place"));
	channel[1].source = channel[0].source;
	assert_int_equal(rv_station_notes_add(&both->station, NULL, NULL, &text), before + 1);
	assert_says(&text, "  channels lead and tree read the same place of device cells\n");
	rv_text_free(&text);
	free(both);
}

static void a_calibration_past_its_date_is_noted_on_the_day_after(void **state)
{
	struct both *both = read_both();
	struct rv_text text = {0};
	struct rv_calibration *calibration = &both->station.channel[0].calibration;

	(void)state;
	snprintf(calibration->due, sizeof calibration->due, "2026-05-31");
	int before = rv_station_notes_add(&both->station, NULL, "2026-05-31", &text);
	assert_null(strstr(text.data, "past its date"));
	assert_int_equal(rv_station_notes_add(&both->station, NULL, "2026-06-01", &text),
			 before + 1);
	assert_says(&text, "  channel lead: calibration unit is past its date, 2026-05-31\n");
	rv_text_free(&text);
	free(both);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_person_is_told_what_is_declared),
	    cmocka_unit_test(what_does_not_fit_together_becomes_a_note),
	    cmocka_unit_test(a_place_read_by_two_channels_is_noted),
	    cmocka_unit_test(a_calibration_past_its_date_is_noted_on_the_day_after),
	};

	return cmocka_run_group_tests_name("describe", tests, NULL, NULL);
}
