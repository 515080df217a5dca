/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One rig of the library on the ground under the engine's own rooms, driven by a clock of the test's:
 * a wire for each cell, and one for the payout where it is asked for.
 */
#ifndef RV_TESTS_ENGINE_BENCH_H
#define RV_TESTS_ENGINE_BENCH_H

#include "tests/record_help.h"

#include <dirent.h>

#include "core/plan.h"
#include "core/station_read.h"
#include "daemon/clock.h"
#include "daemon/engine_alarms.h"
#include "daemon/engine_intake.h"
#include "daemon/engine_publish.h"
#include "daemon/engine_rig.h"
#include "daemon/engine_runs.h"
#include "daemon/live_json.h"

#define TICK_NS INT64_C(50000000)

enum { RIGS = 64, TEXT = 16384, LOADED_TICKS = 40 };

/* One engine over one rig. */
struct bench {
	char file[300];
	char path[300];
	char station_text[TEXT];
	struct rv_station station;
	struct rv_recorder *recorder;
	struct rv_recorder_start found;
	struct rv_live_board *board;
	struct rv_engine *engine;
	struct rv_live live;
	int cells;
	double planned_n[RV_RIG_CELLS];
	double
	    over; /* of the planned loads: brings some watched part over its limit; 0 = none can */
	double use[RV_COMPONENTS], carried_n[RV_COMPONENTS]; /* planned */
	int winches, loads;
	int encoder;	 /* channel of the payout, or -1 */
	double payout_m; /* NaN: the encoder is silent */
	int64_t now_ns;
	int ticks;
};

static inline char *read_rig(const char *file)
{
	static char text[TEXT];
	char path[600];

	snprintf(path, sizeof path, "%s/%s", getenv("RV_TESTS_RIGS"), file);
	FILE *stream = fopen(path, "r");
	assert_non_null(stream);
	size_t len = fread(text, 1, sizeof text - 1, stream);
	assert_true(feof(stream));
	text[len] = '\0';
	(void)fclose(stream);
	return text;
}

static inline int is_rig(const struct dirent *entry)
{
	return strstr(entry->d_name, ".yaml") != NULL;
}

/* A device for each cell, so that each can be lost alone. */
static inline void write_station(struct bench *bench, const struct rv_rig *rig)
{
	char *to = bench->station_text;
	int len = snprintf(to, TEXT, "station: Bench\nrecord: bench.db\nunit: kN\ndevices:\n");

	for (int c = 0; c < rig->cells; c++)
		len += snprintf(
		    to + len, (size_t)(TEXT - len),
		    "  wire %d: {link: serial-text, path: wire%d, speed: 9600, frame: 8N1, "
		    "line: '^(?<force>.+)$'}\n",
		    c, c);
	if (bench->encoder >= 0)
		len += snprintf(to + len, (size_t)(TEXT - len),
				"  encoder: {link: serial-text, path: encoder, speed: 9600, frame: 8N1, "
				"line: '^(?<out>.+)$'}\n");
	len += snprintf(to + len, (size_t)(TEXT - len), "channels:\n");
	for (int c = 0; c < rig->cells; c++)
		len += snprintf(
		    to + len, (size_t)(TEXT - len),
		    "  read %d: {quantity: tension, cell: %s, device: wire %d, field: force, "
		    "unit: N, capacity: 900 kN}\n",
		    c, rig->cell[c].name, c);
	if (bench->encoder >= 0)
		len += snprintf(to + len, (size_t)(TEXT - len),
				"  payout: {quantity: payout, device: encoder, field: out, unit: m, "
				"winch: %s}\n",
				rig->winch[0].name);
	len += snprintf(to + len, (size_t)(TEXT - len),
			"alarms:\n  over: {component: any, above: 100 %%, level: danger}\n");
	assert_true(len < TEXT);
}

static inline void plan(struct bench *bench, const struct rv_rig *rig)
{
	static const struct rv_plan_request nothing = {.travel_m = (double)NAN};
	struct rv_plan *made = NULL;
	struct rv_error error = {0};
	double most = 0.0;

	if (rv_plan_new(rig, &nothing, &made, &error) != RV_OK)
		fail_msg("%s: %s", bench->file, error.text);
	for (int c = 0; c < rig->cells; c++)
		bench->planned_n[c] = made->cell[c].nominal_n;
	for (int i = 0; i < RV_COMPONENTS; i++)
		bench->use[i] = (double)NAN;
	for (int i = 0; i < made->components; i++) {
		bench->carried_n[i] = made->carried[i].nominal_n;
		bench->use[i] = made->carried[i].nominal_n / made->component[i].limit_n;
		most = fmax(most, bench->use[i]);
	}
	bench->over = most > 0.0 ? 1.3 / most : 0.0;
	rv_plan_free(made);
}

static inline struct bench *bench_new(const char *file, bool with_payout)
{
	struct bench *bench = calloc(1, sizeof *bench);
	struct rv_station_outside outside = {0};
	struct rv_ground *ground = NULL;
	struct rv_error error = {0};

	assert_non_null(bench);
	snprintf(bench->file, sizeof bench->file, "%s", file);
	if (rv_ground_from_text(read_rig(file), &ground, &error) != RV_OK)
		fail_msg("%s:%d: %s", file, error.line, error.text);
	bench->cells = ground->rig.cells;
	bench->winches = ground->rig.winches;
	bench->loads = ground->rig.loads;
	bench->encoder = with_payout ? bench->cells : -1;
	bench->payout_m = (double)NAN;
	write_station(bench, &ground->rig);
	plan(bench, &ground->rig);
	rv_ground_free(ground);
	if (rv_station_read(bench->station_text, strlen(bench->station_text), &outside,
			    &bench->station, &error) != RV_OK)
		fail_msg("%s: %d: %s", file, error.line, error.text);
	record_path(bench->path, sizeof bench->path, "bench.db");
	assert_int_equal(rv_recorder_open(bench->path, &bench->station, bench->station_text,
					  &bench->recorder, &bench->found, &error),
			 RV_OK);
	assert_int_equal(rv_recorder_start(bench->recorder, NULL), RV_OK);
	assert_int_equal(rv_live_new(&bench->board), RV_OK);
	return bench;
}

static inline void bench_free(struct bench *bench)
{
	rv_recorder_stop(bench->recorder);
	rv_live_free(bench->board);
	record_remove(bench->path);
	free(bench);
}

static inline void begin(struct bench *bench)
{
	struct rv_engine *engine = calloc(1, sizeof *engine);
	struct rv_engine_setup setup = {.found = bench->found};

	assert_non_null(engine);
	assert_int_equal(rv_ground_from_text(read_rig(bench->file), &setup.rig, NULL), RV_OK);
	assert_non_null(setup.rig->predictor);
	engine->station = &bench->station;
	engine->recorder = bench->recorder;
	engine->board = bench->board;
	pthread_mutex_init(&engine->rig_lock, NULL);
	rv_conditions_init(&engine->conditions, engine->station);
	rv_engine_intake_init(engine, &setup.found);
	rv_engine_rig_init(engine, &setup);
	rv_engine_runs_init(engine, &setup.found);
	bench->engine = engine;
	bench->now_ns = rv_clock_mono_ns();
	bench->ticks = 0;
}

static inline void end(struct bench *bench)
{
	rv_engine_rig_free(bench->engine);
	pthread_mutex_destroy(&bench->engine->rig_lock);
	free(bench->engine);
	bench->engine = NULL;
}

static inline void say(struct bench *bench, int device, double number)
{
	struct rv_intake intake = {.kind = RV_INTAKE_MESSAGE, .mono_ns = bench->now_ns};

	intake.message = (struct rv_message){
	    .device = (uint8_t)device, .mono_ns = bench->now_ns, .count = 1};
	intake.message.values[0].raw = (struct rv_raw){.kind = RV_RAW_REAL, .real = number};
	rv_engine_intake_take(bench->engine, &intake);
}

/* Says the planned load times factor on every wire but one, then lets a twentieth of a second go.
 */
static inline void tick(struct bench *bench, int but, double factor)
{
	bench->now_ns += TICK_NS;
	bench->ticks++;
	for (int c = 0; c < bench->cells; c++) {
		/* A live cell is never quite still. */
		if (c != but)
			say(bench, c,
			    bench->planned_n[c] * factor *
				(1.0 + 1e-4 * ((bench->ticks * 7 + c) % 5)));
	}
	if (!isnan(bench->payout_m))
		say(bench, bench->encoder, bench->payout_m);
	rv_engine_intake_tick(bench->engine, bench->now_ns);
	rv_engine_alarms_tick(bench->engine, bench->now_ns);
	rv_engine_publish(bench->engine, bench->now_ns);
	rv_live_get(bench->board, &bench->live);
}

static inline void pull_out(struct bench *bench, int cell)
{
	struct rv_intake intake = {.kind = RV_INTAKE_CLOSED,
				   .device = cell,
				   .mono_ns = bench->now_ns,
				   .fault = RV_FAULT_UNPLUGGED,
				   .text = "gone"};

	rv_engine_intake_take(bench->engine, &intake);
}

/* Parts with a load. */
static inline int count_numbers(const struct bench *bench)
{
	int numbers = 0;

	for (int i = 0; i < rv_predictor_components(bench->engine->ground->predictor); i++)
		numbers += !isnan(bench->live.component[i].load.nominal_n);
	return numbers;
}

#endif
