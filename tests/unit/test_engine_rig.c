/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The engine while one rig is taken up and another laid: its own thread, a real recorder, and
 * instruments played through its intake.
 */
#include "tests/record_help.h"

#include "core/station_read.h"
#include "daemon/clock.h"
#include "daemon/engine.h"

#define SOON_NS INT64_C(20000000000)

static const char station_text[] =
    "station: Bench\n"
    "record: bench.db\n"
    "unit: kN\n"
    "devices:\n"
    "  cells: {link: serial-text, path: cells, speed: 9600, frame: 8N1, line: '^(?<lead>.+)$'}\n"
    "channels:\n"
    "  lead: {quantity: tension, cell: lead, device: cells, field: lead, unit: N, "
    "capacity: 30 kN}\n"
    "alarms:\n"
    "  over: {component: any, above: 100 %, level: danger}\n";

static const char rig_text[] = "rig: first\n"
			       "points:\n"
			       "  deck: {at: [0, 0]}\n"
			       "  eye: {at: [20, 0], moves_with: sledge}\n"
			       "loads:\n"
			       "  sledge: {travels: [-1, 0], resists: 15 kN}\n"
			       "winches:\n"
			       "  drum: {at: deck, rated: 12 kN}\n"
			       "lines:\n"
			       "  rope: {path: [drum, eye], wll: 20 kN}\n"
			       "cells:\n"
			       "  lead: {in: rope, leg: 1}\n";

/* The same with another name for the line. */
static const char other_text[] = "rig: second\n"
				 "points:\n"
				 "  deck: {at: [0, 0]}\n"
				 "  eye: {at: [20, 0], moves_with: sledge}\n"
				 "loads:\n"
				 "  sledge: {travels: [-1, 0], resists: 15 kN}\n"
				 "winches:\n"
				 "  drum: {at: deck, rated: 30 kN}\n"
				 "lines:\n"
				 "  wire: {path: [drum, eye], wll: 40 kN}\n"
				 "cells:\n"
				 "  lead: {in: wire, leg: 1}\n";

struct bench {
	char path[300];
	struct rv_station station;
	struct rv_recorder *recorder;
	struct rv_live_board *board;
	struct rv_ring *intake;
	struct rv_engine *engine;
	struct rv_live live;
};

static struct rv_ground *ground(const char *text)
{
	struct rv_ground *made = NULL;
	struct rv_error error = {0};

	if (rv_ground_from_text(text, &made, &error) != RV_OK)
		fail_msg("%d: %s", error.line, error.text);
	assert_non_null(made->predictor);
	return made;
}

static int set_up(void **state)
{
	struct bench *bench = calloc(1, sizeof *bench);
	struct rv_engine_setup setup = {0};
	struct rv_station_outside outside = {0};
	struct rv_error error = {0};

	assert_non_null(bench);
	record_path(bench->path, sizeof bench->path, "bench.db");
	if (rv_station_read(station_text, strlen(station_text), &outside, &bench->station,
			    &error) != RV_OK)
		fail_msg("%d: %s", error.line, error.text);
	assert_int_equal(rv_recorder_open(bench->path, &bench->station, station_text,
					  &bench->recorder, &setup.found, &error),
			 RV_OK);
	rv_clock_fix(setup.found.latest_us);
	assert_int_equal(rv_recorder_start(bench->recorder, NULL), RV_OK);
	assert_int_equal(rv_live_new(&bench->board), RV_OK);
	assert_int_equal(rv_ring_new(sizeof(struct rv_intake), 256, &bench->intake), RV_OK);
	setup.station = &bench->station;
	setup.recorder = bench->recorder;
	setup.board = bench->board;
	setup.intake = bench->intake;
	setup.rig = ground(rig_text);
	assert_int_equal(rv_engine_start(&setup, &bench->engine, NULL), RV_OK);
	*state = bench;
	return 0;
}

static int tear_down(void **state)
{
	struct bench *bench = *state;

	rv_engine_stop(bench->engine);
	rv_recorder_stop(bench->recorder);
	rv_ring_free(bench->intake);
	rv_live_free(bench->board);
	record_remove(bench->path);
	free(bench);
	return 0;
}

static void play(struct bench *bench, double force_n)
{
	struct rv_intake intake = {.kind = RV_INTAKE_MESSAGE, .mono_ns = rv_clock_mono_ns()};

	intake.message = (struct rv_message){.mono_ns = intake.mono_ns, .count = 1};
	intake.message.values[0].raw = (struct rv_raw){.kind = RV_RAW_REAL, .real = force_n};
	assert_int_equal(rv_ring_put(bench->intake, &intake), RV_OK);
}

static void lose_device(struct bench *bench)
{
	struct rv_intake intake = {.kind = RV_INTAKE_CLOSED,
				   .mono_ns = rv_clock_mono_ns(),
				   .fault = RV_FAULT_UNPLUGGED,
				   .text = "gone"};

	assert_int_equal(rv_ring_put(bench->intake, &intake), RV_OK);
}

static const struct rv_live_alarm *alarm_of(const struct bench *bench, const char *name)
{
	for (int i = 0; i < bench->live.alarms; i++)
		if (strcmp(bench->live.alarm[i].name, name) == 0)
			return &bench->live.alarm[i];
	return NULL;
}

static enum rv_alarm_state state_of(const struct bench *bench, const char *name)
{
	const struct rv_live_alarm *alarm = alarm_of(bench, name);

	return alarm ? alarm->state : RV_ALARM_NORMAL;
}

/* The alarm, once it stands; meanwhile the cell says force_n (NaN: nothing). */
static const struct rv_live_alarm *await(struct bench *bench, const char *name, double force_n)
{
	int64_t until_ns = rv_clock_mono_ns() + SOON_NS;

	while (!alarm_of(bench, name) && rv_clock_mono_ns() < until_ns) {
		if (!isnan(force_n))
			play(bench, force_n);
		rv_live_wait(bench->board, bench->live.version, rv_clock_mono_ns() + 20000000,
			     &bench->live);
	}
	if (!alarm_of(bench, name))
		fail_msg("%s did not come", name);
	return alarm_of(bench, name);
}

/* Lays a rig and waits for a snapshot that knows it. */
static void lay(struct bench *bench, const char *text)
{
	struct rv_error error = {0};
	int before = bench->live.rig_number;

	if (rv_engine_set_rig(bench->engine, text ? ground(text) : NULL, &error) != RV_OK)
		fail_msg("%s", error.text);
	while (bench->live.rig_number == before)
		rv_live_wait(bench->board, bench->live.version, rv_clock_mono_ns() + SOON_NS,
			     &bench->live);
}

static void alarms_keep_their_state_by_their_name(void **state)
{
	struct bench *bench = *state;

	play(bench, 100.0);
	lose_device(bench);
	(void)await(bench, "cells lost", (double)NAN);
	(void)await(bench, "lead lost", (double)NAN);
	assert_int_equal(rv_engine_acknowledge(bench->engine, "cells lost", "test", NULL), RV_OK);
	lay(bench, other_text);
	assert_int_equal(await(bench, "cells lost", (double)NAN)->state, RV_ALARM_ACKNOWLEDGED);
	assert_non_null(alarm_of(bench, "lead lost"));
	assert_int_equal(bench->live.alarms, 2);
	lay(bench, NULL);
	assert_int_equal(await(bench, "cells lost", (double)NAN)->state, RV_ALARM_ACKNOWLEDGED);
	assert_non_null(alarm_of(bench, "lead lost"));
}

static void an_overload_nobody_sees_any_more_outlives_a_change_of_rig(void **state)
{
	struct bench *bench = *state;

	assert_int_equal(await(bench, "over", 14e3)->level, RV_LEVEL_DANGER);
	(void)await(bench, "lead lost", (double)NAN);
	lay(bench, other_text);
	assert_int_equal(await(bench, "over", (double)NAN)->state, RV_ALARM_UNACKNOWLEDGED);
	assert_int_equal(bench->live.state, RV_STATE_DANGER);
	/* Seen on the new rig to be within its limits, it goes. */
	for (int i = 0; i < 500 && state_of(bench, "over") == RV_ALARM_UNACKNOWLEDGED; i++) {
		play(bench, 14e3);
		rv_live_wait(bench->board, bench->live.version, rv_clock_mono_ns() + 20000000,
			     &bench->live);
	}
	assert_int_equal(state_of(bench, "over"), RV_ALARM_RETURNED_UNACKNOWLEDGED);
}

static void a_line_that_is_no_more_takes_its_alarm_along(void **state)
{
	struct bench *bench = *state;

	for (int i = 0; i < 10; i++)
		play(bench, 9e3);
	(void)await(bench, "rope tension lost", 0.0);
	lay(bench, other_text);
	assert_null(alarm_of(bench, "rope tension lost"));
	assert_null(alarm_of(bench, "wire tension lost"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test_setup_teardown(alarms_keep_their_state_by_their_name, set_up,
					    tear_down),
	    cmocka_unit_test_setup_teardown(
		an_overload_nobody_sees_any_more_outlives_a_change_of_rig, set_up, tear_down),
	    cmocka_unit_test_setup_teardown(a_line_that_is_no_more_takes_its_alarm_along, set_up,
					    tear_down),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
