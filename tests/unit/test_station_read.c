/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "core/calibration_read.h"
#include "core/rig_read.h"
#include "core/station_check.h"
#include "core/station_read.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

/* A station that uses every section and most keys. */
static const char whole[] =
    "station: Salt pier\n"
    "record: pier.db\n"
    "rig: pontoon.yaml\n"
    "unit: lbf\n"
    "page: {listen: '::1', port: 9000}\n"
    "runs: {open_above: 2 kN, close_after: 5 min}\n"
    "keep: 2 d\n"
    "rehearsal: true\n"
    "devices:\n"
    "  cells: {link: modbus-tcp, address: 10.0.0.7, unit: 1, every: 400 ms, timeout: 200 ms}\n"
    "  bench: {link: modbus-rtu, path: /dev/bench, speed: 115200, frame: 8E2, unit: 3, every: 20 "
    "ms,"
    " settle: 1 s, write: true}\n"
    "  meter: {link: serial-text, path: /dev/meter, speed: 9600, frame: 7E1, line: "
    "'^(?<state>[a-z]+)"
    " (?<force>[-+.0-9]+) (?<unit>kg|lb) (?<n>[0-9]+)$', ask: \"r\\r\\n\"}\n"
    "  horns: {link: modbus-tcp, address: 10.0.0.8, port: 1503, unit: 1, every: 500 ms}\n"
    "channels:\n"
    "  near: {quantity: tension, cell: near, device: cells, register: input 0, type: float32,"
    " order: badc, unit: kN, capacity: 5 t, tare: 12 kgf, delay: 150 ms,"
    " alive: {register: holding 8, bit: 3, changes_within: 1 s},"
    " gain_uncertainty: {expanded: 0.6 %, k: 2}, zero_uncertainty: {within: 0.5 %, of: capacity},"
    " drift_uncertainty: {standard: 15 N}}\n"
    "  far: {quantity: tension, cell: far, device: bench, register: holding 10, type: int32,"
    " order: cdab, scale: 12.5 N, zero: 8388}\n"
    "  anchor: {quantity: tension, cell: anchor, device: bench, register: holding 20, type: int16,"
    " calibration: anchor.yaml, capacity: 50 kN, gain_uncertainty: {standard: 0.2 %}}\n"
    "  tree: {quantity: tension, device: meter, field: force, unit: kg,"
    " good_when: {state: [steady, moving]}, updates: 3 Hz, alive: {field: n, changes_within: 2 "
    "s}}\n"
    "  out: {quantity: payout, winch: capstan, device: cells, register: input 4, type: uint16,"
    " metres_per_count: -0.0005, wraps_at: 65536}\n"
    "  drum: {quantity: turns, device: cells, register: input 5, type: int16, scale: 0.25 turns}\n"
    "  car: {quantity: travel, load: car, device: cells, register: input 6, type: int16, unit: "
    "ft}\n"
    "  run: {quantity: switch, winch: capstan, motion: out, device: bench, register: input 7, bit: "
    "5}\n"
    "  oil: {quantity: other, device: cells, register: input 8, type: int16, scale: 0.1 degC}\n"
    "alarms:\n"
    "  near limit: {component: any, above: 80 %, deadband: 2 %, level: warning}\n"
    "  snatch: {channel: near, rises_faster: 40 kN/s, level: warning, delay: 100 ms, latch: true}\n"
    "  heavy: {channel: near, above: 10 kN, deadband: 3 %, level: danger, action: Stop hauling.}\n"
    "  slack: {channel: near, below: 100 kgf, deadband: 50 N, level: warning, clear_delay: 2 s}\n"
    "  end near: {channel: out, above: 28 m, level: danger}\n"
    "  runs away: {channel: out, speed_above: 30 m/min, level: danger}\n"
    "  hot oil: {channel: oil, above: 80, level: warning}\n"
    "outputs:\n"
    "  horn: {device: horns, coil: 2, when: danger, kind: sound, rest: energised}\n"
    "  lamp: {device: bench, coil: 0, when: warning, kind: light}\n";

static const char calibration[] = "calibration: anchor 2026\n"
				  "made: 2026-02-01\n"
				  "due: 2027-02-01\n"
				  "unit_of_reading: count\n"
				  "coefficients: [8388, 0.08]\n"
				  "inverse: [-104850, 12.5, 1e-6]\n"
				  "gain_uncertainty: {standard: 0.1 %}\n"
				  "zero_uncertainty: {standard: 0.05 %, of: capacity}\n"
				  "drift_uncertainty: {standard: 20 N}\n";

static enum rv_err load(void *context, const char *file, struct rv_text *text,
			struct rv_error *error)
{
	if (strcmp(file, "anchor.yaml") != 0)
		return rv_err_set(error, RV_ERR_SYSTEM, "no such file");
	rv_text_add(text, "%s", (const char *)context);
	return RV_OK;
}

static struct rv_station *read_station(const char *text)
{
	char file[sizeof calibration];
	memcpy(file, calibration, sizeof file);
	struct rv_station_outside outside = {.load = load, .context = file, .has_key = false};
	struct rv_station *station = calloc(1, sizeof *station);
	struct rv_error error = {0};

	assert_non_null(station);
	if (rv_station_read(text, strlen(text), &outside, station, &error) != RV_OK) {
		print_error("%d:%d: %s\n", error.line, error.column, error.text);
		fail();
	}
	return station;
}

static const struct rv_channel *channel_of(const struct rv_station *station, const char *name)
{
	int index = rv_station_find_channel(station, name);

	assert_true(index >= 0);
	return &station->channel[index];
}

static void the_top_and_the_devices_keep_what_was_said(void **state)
{
	struct rv_station *station = read_station(whole);
	const struct rv_device *cells = &station->device[0], *bench = &station->device[1],
			       *meter = &station->device[2];

	(void)state;
	assert_string_equal(station->name, "Salt pier");
	assert_string_equal(station->record, "pier.db");
	assert_string_equal(station->rig, "pontoon.yaml");
	assert_int_equal(station->unit, RV_FORCE_LBF);
	assert_string_equal(station->listen, "::1");
	assert_int_equal(station->port, 9000);
	assert_true(station->rehearsal);
	assert_near("open above", station->open_above_n, 2000.0, 1e-9);
	assert_near("close after", station->close_after_s, 300.0, 1e-9);
	assert_near("keep", station->keep_s, 172800.0, 1e-6);
	assert_int_equal(cells->link, RV_LINK_MODBUS_TCP);
	assert_string_equal(cells->address, "10.0.0.7");
	assert_int_equal(cells->port, 502);
	assert_near("every", cells->every_s, 0.4, 1e-12);
	assert_near("timeout", cells->timeout_s, 0.2, 1e-12);
	assert_near("timeout when not said", bench->timeout_s, 0.5, 1e-12);
	assert_near("settle", bench->settle_s, 1.0, 0.0);
	assert_int_equal(bench->parity, 'E');
	assert_int_equal(bench->stop_bits, 2);
	assert_int_equal(bench->speed_baud, 115200);
	assert_true(bench->write);
	assert_int_equal(meter->data_bits, 7);
	assert_int_equal(meter->ask_len, 3);
	assert_string_equal(meter->ask, "r\r\n");
	assert_near("as it comes", meter->every_s, (double)NAN, 0.0);
	assert_int_equal(meter->line, 12);
	free(station);
}

static void raw_becomes_a_value_in_the_way_that_was_said(void **state)
{
	static const struct {
		const char *channel, *unit, *way;
		double raw, value;
	} cases[] = {
	    {"near", "N", "unit", 12.5, 12500.0},
	    {"far", "N", "scale", 8388.0, 0.0},
	    {"far", "N", "scale", 8488.0, 1250.0},
	    {"anchor", "N", "anchor 2026", 10000.0, 20250.0}, /* -104850 + 125000 + 100 */
	    {"tree", "N", "unit", 100.0, 980.665},
	    {"out", "m", "scale", 2000.0, -1.0},
	    {"drum", "turns", "scale", 10.0, 2.5},
	    {"car", "m", "unit", 10.0, 3.048},
	    {"run", "", "unit", 1.0, 1.0},
	    {"oil", "degC", "scale", 205.0, 20.5},
	};
	struct rv_station *station = read_station(whole);

	(void)state;
	for (size_t i = 0; i < COUNT(cases); i++) {
		const struct rv_channel *channel = channel_of(station, cases[i].channel);
		assert_near(cases[i].channel,
			    rv_station_convert(&channel->calibration.conversion, cases[i].raw),
			    cases[i].value, 1e-9 * (1.0 + fabs(cases[i].value)));
		assert_string_equal(channel->unit, cases[i].unit);
		assert_string_equal(channel->calibration.name, cases[i].way);
	}
	free(station);
}

static void channels_know_their_place_on_the_wire(void **state)
{
	struct rv_station *station = read_station(whole);
	const struct rv_channel *near = channel_of(station, "near"),
				*far = channel_of(station, "far"),
				*tree = channel_of(station, "tree"),
				*run = channel_of(station, "run");

	(void)state;
	assert_int_equal(near->source.space, RV_REGISTER_INPUT);
	assert_int_equal(near->type, RV_FLOAT32);
	assert_int_equal(near->order, RV_ORDER_BADC);
	assert_int_equal(near->source.bit, -1);
	assert_true(near->alive.used);
	assert_int_equal(near->alive.source.space, RV_REGISTER_HOLDING);
	assert_int_equal(near->alive.source.address, 8);
	assert_int_equal(near->alive.source.bit, 3);
	assert_near("alive", near->alive.changes_within_s, 1.0, 0.0);
	assert_int_equal(far->source.space, RV_REGISTER_HOLDING);
	assert_int_equal(far->source.address, 10);
	assert_int_equal(far->order, RV_ORDER_CDAB);
	assert_false(far->alive.used);
	assert_string_equal(tree->field, "force");
	assert_string_equal(tree->wire_unit, "kg");
	assert_string_equal(tree->good_when.field, "state");
	assert_int_equal(tree->good_when.words, 2);
	assert_string_equal(tree->good_when.word[1], "moving");
	assert_string_equal(tree->alive.field, "n");
	assert_near("updates", tree->updates_hz, 3.0, 0.0);
	assert_int_equal(run->source.bit, 5);
	assert_int_equal(run->motion, RV_MOTION_OUT);
	assert_string_equal(run->winch, "capstan");
	assert_near("wraps at", channel_of(station, "out")->wraps_at, 65536.0, 0.0);
	free(station);
}

/* Expanded 0.6 % with k = 2 is 0.3 %; within 0.5 % of 5 t = 49033.25 N is 245.16625 N / sqrt(3). */
static void uncertainties_are_brought_to_standard_ones(void **state)
{
	struct rv_station *station = read_station(whole);
	const struct rv_channel *near = channel_of(station, "near");
	const struct rv_calibration *anchor = &channel_of(station, "anchor")->calibration;

	(void)state;
	assert_near("capacity in t", near->capacity, 49033.25, 1e-9);
	assert_true(near->capacity_as_mass);
	assert_near("expanded", near->calibration.gain.ratio, 0.003, 1e-12);
	assert_near("expanded is relative", near->calibration.gain.value, (double)NAN, 0.0);
	assert_near("within", near->calibration.zero.value, 141.54680, 1e-4);
	assert_near("standard", near->calibration.drift.value, 15.0, 1e-12);
	assert_near("delay", near->calibration.delay_s, 0.15, 1e-12);
	assert_near("tare", near->tare_n, 117.6798, 1e-9);
	assert_near("travel when not said", channel_of(station, "car")->travel_uncertainty.ratio,
		    0.03, 1e-12);
	assert_near("the station's own wins", anchor->gain.ratio, 0.002, 1e-12);
	assert_string_equal(anchor->overrides, "gain_uncertainty");
	assert_near("of the channel's capacity", anchor->zero.value, 25.0, 1e-9);
	assert_near("the file's", anchor->drift.value, 20.0, 1e-12);
	assert_string_equal(anchor->due, "2027-02-01");
	assert_string_equal(anchor->file, "anchor.yaml");
	assert_false(rv_calibration_is_past(anchor, "2027-02-01"));
	assert_true(rv_calibration_is_past(anchor, "2027-02-02"));
	free(station);
}

static void alarms_and_outputs_keep_what_was_said(void **state)
{
	static const struct {
		const char *name;
		enum rv_alarm_condition condition;
		enum rv_alarm_level level;
		double limit, deadband;
	} cases[] = {
	    {"near limit", RV_ALARM_ABOVE, RV_LEVEL_WARNING, 0.8, 0.02},
	    {"snatch", RV_ALARM_RISES_FASTER, RV_LEVEL_WARNING, 40e3, (double)NAN},
	    {"heavy", RV_ALARM_ABOVE, RV_LEVEL_DANGER, 10e3, 300.0},
	    {"slack", RV_ALARM_BELOW, RV_LEVEL_WARNING, 980.665, 50.0},
	    {"end near", RV_ALARM_ABOVE, RV_LEVEL_DANGER, 28.0, (double)NAN},
	    {"runs away", RV_ALARM_SPEED_ABOVE, RV_LEVEL_DANGER, 0.5, (double)NAN},
	    {"hot oil", RV_ALARM_ABOVE, RV_LEVEL_WARNING, 80.0, (double)NAN},
	};
	struct rv_station *station = read_station(whole);

	(void)state;
	assert_int_equal(station->alarms, COUNT(cases));
	for (size_t i = 0; i < COUNT(cases); i++) {
		const struct rv_alarm_rule *rule = &station->alarm[i];
		assert_string_equal(rule->name, cases[i].name);
		assert_int_equal(rule->condition, cases[i].condition);
		assert_int_equal(rule->level, cases[i].level);
		assert_near(rule->name, rule->limit, cases[i].limit, 1e-9);
		assert_near(rule->name, rule->deadband, cases[i].deadband, 1e-9);
	}
	assert_string_equal(station->alarm[0].component, "any");
	assert_int_equal(station->alarm[0].channel, -1);
	assert_int_equal(station->alarm[4].channel, rv_station_find_channel(station, "out"));
	assert_near("delay", station->alarm[1].delay_s, 0.1, 1e-12);
	assert_true(station->alarm[1].latch);
	assert_near("clear delay", station->alarm[3].clear_delay_s, 2.0, 0.0);
	assert_string_equal(station->alarm[2].action, "Stop hauling.");
	assert_true(station->output[0].rest_energised);
	assert_int_equal(station->output[0].coil, 2);
	assert_int_equal(station->output[0].when, RV_LEVEL_DANGER);
	assert_int_equal(station->output[1].kind, RV_OUTPUT_LIGHT);
	assert_false(station->output[1].rest_energised);
	free(station);
}

static void what_is_left_out_has_the_values_of_the_header(void **state)
{
	struct rv_station *station = read_station(
	    "station: Bare\nrecord: a.db\n"
	    "devices: {d: {link: modbus-tcp, address: 127.0.0.1, unit: 1, every: 10 ms}}\n"
	    "channels: {c: {quantity: tension, device: d, register: input 0, type: int16, unit: "
	    "N}}\n");
	const struct rv_channel *channel = &station->channel[0];

	(void)state;
	assert_int_equal(station->unit, RV_FORCE_KN);
	assert_string_equal(station->listen, "127.0.0.1");
	assert_int_equal(station->port, 8750);
	assert_near("runs by hand", station->open_above_n, (double)NAN, 0.0);
	assert_near("keep", station->keep_s, 604800.0, 1e-6);
	assert_string_equal(station->rig, "");
	assert_false(station->rehearsal);
	assert_near("capacity", channel->capacity, (double)NAN, 0.0);
	assert_near("delay", channel->calibration.delay_s, (double)NAN, 0.0);
	assert_near("gain", channel->calibration.gain.ratio, (double)NAN, 0.0);
	assert_int_equal(channel->order, RV_ORDER_ABCD);
	free(station);
}

static void a_key_opens_the_station_to_others(void **state)
{
	static const char text[] =
	    "station: Bare\nrecord: a.db\npage: {listen: 0.0.0.0}\n"
	    "devices: {d: {link: modbus-tcp, address: 127.0.0.1, unit: 1, every: 10 ms}}\n"
	    "channels: {c: {quantity: tension, device: d, register: input 0, type: int16, unit: "
	    "N}}\n";
	struct rv_station *station = calloc(1, sizeof *station);
	struct rv_station_outside with_key = {.has_key = true}, without = {0};
	struct rv_error error = {0};

	(void)state;
	assert_int_equal(rv_station_read(text, strlen(text), &with_key, station, &error), RV_OK);
	station->channels = 77;
	assert_int_equal(rv_station_read(text, strlen(text), &without, station, &error),
			 RV_ERR_REFUSED);
	assert_string_equal(error.tag, "key_needed");
	assert_int_equal(error.line, 3);
	assert_int_equal(station->channels, 77);
	free(station);
}

static void a_rig_with_two_winches_needs_them_named(void **state)
{
	static const char two[] =
	    "points: {a: {at: [0, 0]}, b: {at: [9, 0]}, c: {at: [5, -3], floats: "
	    "true, weight: 1 kN}}\n"
	    "winches: {capstan: {at: a}, other: {at: b}}\n"
	    "lines: {l: {path: [capstan, c]}, m: {path: [other, c]}}\n";
	struct rv_station *station = read_station(whole);
	struct rv_rig *rig = calloc(1, sizeof *rig);
	struct rv_error error = {0};

	(void)state;
	assert_int_equal(rv_rig_read(two, strlen(two), rig, NULL), RV_OK);
	assert_int_equal(rv_station_check_rig(station, rig, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "winch_unsaid");
	assert_non_null(strstr(error.text, "\"drum\""));
	assert_int_equal(error.line, 20);
	rig->winches = 1;
	assert_int_equal(rv_station_check_rig(station, rig, &error), RV_OK);
	free(rig);
	free(station);
}

static void an_alarm_on_a_part_that_is_not_there_offers_the_nearest(void **state)
{
	static const char text[] =
	    "points: {a: {at: [0, 0]}, b: {at: [9, 0]}, c: {at: [5, 3], floats: true}}\n"
	    "winches: {drum: {at: a}}\n"
	    "blocks: {twin: {at: b, efficiency: 0.9}}\n"
	    "lines: {wire: {path: [drum, twin, c, twin]}}\n"
	    "fittings: {pin: {kind: shackle, holds: wire end}}\n";
	static const struct {
		const char *component, *offered;
	} cases[] = {{"any", NULL},	     {"twin", NULL},
		     {"twin becket", NULL},  {"wire at c", NULL},
		     {"drum", NULL},	     {"pin", NULL},
		     {"wier", "mean wire?"}, {"twin bucket", "mean twin becket?"},
		     {"zzzzzzzz", ""}};
	struct rv_station *station = read_station(whole);
	struct rv_rig *rig = calloc(1, sizeof *rig);

	(void)state;
	assert_int_equal(rv_rig_read(text, strlen(text), rig, NULL), RV_OK);
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct rv_error error = {0};
		snprintf(station->alarm[0].component, RV_NAME_SIZE, "%s", cases[i].component);
		enum rv_err err = rv_station_check_alarms(station, rig, &error);
		if ((err == RV_OK) != !cases[i].offered ||
		    (cases[i].offered && !strstr(error.text, cases[i].offered))) {
			print_error("%s: %s\n", cases[i].component, error.text);
			fail();
		}
	}
	free(rig);
	free(station);
}

static void only_devices_without_measured_channels_are_written_to(void **state)
{
	struct rv_station *station = read_station(whole);

	(void)state;
	assert_false(rv_station_may_write(station, rv_station_find_device(station, "cells")));
	assert_true(rv_station_may_write(station, rv_station_find_device(station, "bench")));
	int horns = rv_station_find_device(station, "horns");
	struct rv_channel *oil = &station->channel[rv_station_find_channel(station, "oil")];
	assert_true(rv_station_may_write(station, horns));
	oil->device = horns;
	assert_false(rv_station_may_write(station, horns));
	oil->quantity = RV_SWITCH; /* a contactor beside the horn */
	assert_true(rv_station_may_write(station, horns));
	free(station);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(the_top_and_the_devices_keep_what_was_said),
	    cmocka_unit_test(raw_becomes_a_value_in_the_way_that_was_said),
	    cmocka_unit_test(channels_know_their_place_on_the_wire),
	    cmocka_unit_test(uncertainties_are_brought_to_standard_ones),
	    cmocka_unit_test(alarms_and_outputs_keep_what_was_said),
	    cmocka_unit_test(what_is_left_out_has_the_values_of_the_header),
	    cmocka_unit_test(a_key_opens_the_station_to_others),
	    cmocka_unit_test(a_rig_with_two_winches_needs_them_named),
	    cmocka_unit_test(an_alarm_on_a_part_that_is_not_there_offers_the_nearest),
	    cmocka_unit_test(only_devices_without_measured_channels_are_written_to),
	};

	return cmocka_run_group_tests_name("station_read", tests, NULL, NULL);
}
