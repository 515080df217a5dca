/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every rig of the library with each of its cells lost in turn: what the engine publishes never
 * goes from a number to calm.  The engine's own rooms are driven here by a clock of the test's.
 *
 * --tell prints the snapshots, one JSON object a line, for the test of the page.
 */
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

enum { RIGS = 64, TEXT = 16384, LOADED_TICKS = 40, LOST_TICKS = 60 };

/* One engine over one rig. */
struct bench {
	const char *file;
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
	int64_t now_ns;
	int ticks;
};

static char *read_rig(const char *file)
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

static int is_rig(const struct dirent *entry)
{
	return strstr(entry->d_name, ".yaml") != NULL;
}

/* A device for each cell, so that each can be lost alone. */
static void write_station(struct bench *bench, const struct rv_rig *rig)
{
	char *to = bench->station_text;
	int len = snprintf(to, TEXT, "station: Bench\nrecord: bench.db\nunit: kN\ndevices:\n");

	for (int c = 0; c < rig->cells; c++)
		len += snprintf(
		    to + len, (size_t)(TEXT - len),
		    "  wire %d: {link: serial-text, path: wire%d, speed: 9600, frame: 8N1, "
		    "line: '^(?<force>.+)$'}\n",
		    c, c);
	len += snprintf(to + len, (size_t)(TEXT - len), "channels:\n");
	for (int c = 0; c < rig->cells; c++)
		len += snprintf(
		    to + len, (size_t)(TEXT - len),
		    "  read %d: {quantity: tension, cell: %s, device: wire %d, field: force, "
		    "unit: N, capacity: 900 kN}\n",
		    c, rig->cell[c].name, c);
	len += snprintf(to + len, (size_t)(TEXT - len),
			"alarms:\n  over: {component: any, above: 100 %%, level: danger}\n");
	assert_true(len < TEXT);
}

static void plan(struct bench *bench, const struct rv_rig *rig)
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

static struct bench *bench_new(const char *file)
{
	struct bench *bench = calloc(1, sizeof *bench);
	struct rv_station_outside outside = {0};
	struct rv_ground *ground = NULL;
	struct rv_error error = {0};

	assert_non_null(bench);
	bench->file = file;
	if (rv_ground_from_text(read_rig(file), &ground, &error) != RV_OK)
		fail_msg("%s:%d: %s", file, error.line, error.text);
	bench->cells = ground->rig.cells;
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

static void bench_free(struct bench *bench)
{
	rv_recorder_stop(bench->recorder);
	rv_live_free(bench->board);
	record_remove(bench->path);
	free(bench);
}

static void begin(struct bench *bench)
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

static void end(struct bench *bench)
{
	rv_engine_rig_free(bench->engine);
	pthread_mutex_destroy(&bench->engine->rig_lock);
	free(bench->engine);
	bench->engine = NULL;
}

/* Says the planned load times factor on every wire but one, then lets a twentieth of a second go.
 */
static void tick(struct bench *bench, int but, double factor)
{
	bench->now_ns += TICK_NS;
	bench->ticks++;
	for (int c = 0; c < bench->cells; c++) {
		struct rv_intake intake = {.kind = RV_INTAKE_MESSAGE, .mono_ns = bench->now_ns};
		/* A live cell is never quite still. */
		double force_n =
		    bench->planned_n[c] * factor * (1.0 + 1e-4 * ((bench->ticks * 7 + c) % 5));
		if (c == but)
			continue;
		intake.message =
		    (struct rv_message){.device = (uint8_t)c, .mono_ns = bench->now_ns, .count = 1};
		intake.message.values[0].raw =
		    (struct rv_raw){.kind = RV_RAW_REAL, .real = force_n};
		rv_engine_intake_take(bench->engine, &intake);
	}
	rv_engine_intake_tick(bench->engine, bench->now_ns);
	rv_engine_alarms_tick(bench->engine, bench->now_ns);
	rv_engine_publish(bench->engine, bench->now_ns);
	rv_live_get(bench->board, &bench->live);
}

static void pull_out(struct bench *bench, int cell)
{
	struct rv_intake intake = {.kind = RV_INTAKE_CLOSED,
				   .device = cell,
				   .mono_ns = bench->now_ns,
				   .fault = RV_FAULT_UNPLUGGED,
				   .text = "gone"};

	rv_engine_intake_take(bench->engine, &intake);
}

static const struct rv_live_alarm *alarm_of(const struct bench *bench, const char *name)
{
	for (int i = 0; i < bench->live.alarms; i++)
		if (strcmp(bench->live.alarm[i].name, name) == 0)
			return &bench->live.alarm[i];
	return NULL;
}

static bool is_told(const struct bench *bench, int cell)
{
	char name[2 * RV_NAME_SIZE];

	snprintf(name, sizeof name, "read %d lost", cell);
	return alarm_of(bench, name) != NULL;
}

static bool stands(const struct bench *bench, const char *name)
{
	const struct rv_live_alarm *alarm = alarm_of(bench, name);

	return alarm && alarm->level == RV_LEVEL_DANGER &&
	       (alarm->state == RV_ALARM_UNACKNOWLEDGED || alarm->state == RV_ALARM_ACKNOWLEDGED);
}

/* Where there was a number there is one that is not below what the part carries, or its place is
 * blank and the loss is told. */
static void check_numbers(const struct bench *bench, const struct rv_live *before, int cell,
			  double factor)
{
	int parts = rv_predictor_components(bench->engine->ground->predictor);
	bool blank = false;

	for (int i = 0; i < parts; i++) {
		const char *name =
		    rv_predictor_component(bench->engine->ground->predictor, i)->name;
		double carried_n = factor * bench->carried_n[i];
		double high_n = bench->live.component[i].load.high_n;
		if (isnan(before->component[i].load.nominal_n))
			continue;
		blank |= isnan(high_n);
		if (high_n < 0.995 * carried_n)
			fail_msg("%s, cell %d lost: %s carries %.1f N and is said to carry %.1f N",
				 bench->file, cell, name, carried_n, high_n);
	}
	bool cell_blank = isnan(bench->live.cell[cell].measured_n);
	if ((blank || cell_blank) && bench->live.data == RV_DATA_ALL)
		fail_msg("%s, cell %d: a place is blank and data says all", bench->file, cell);
}

/* A second and a half after the last reading. */
static void check_told(const struct bench *bench, int cell)
{
	const struct rv_live_cell *place = &bench->live.cell[cell];
	double planned_n = bench->planned_n[cell];
	int live = 0;

	assert_true(isnan(place->measured_n));
	assert_int_equal(bench->live.channel[cell].quality, RV_BAD);
	if (!is_told(bench, cell))
		fail_msg("%s, cell %d lost: no alarm says so", bench->file, cell);
	for (int c = 0; c < bench->cells; c++)
		live += !isnan(bench->live.cell[c].measured_n);
	assert_int_equal(bench->live.data, live > 0 ? RV_DATA_SOME : RV_DATA_NONE);
	if (live == 0 && bench->live.state != RV_STATE_DANGER)
		fail_msg("%s: nothing is measured and it is no danger", bench->file);
	/* In its place stands what the rest says, as a range that holds the truth. */
	if (!isnan(place->predicted.high_n) && !(place->predicted.low_n <= 1.005 * planned_n &&
						 place->predicted.high_n >= 0.995 * planned_n))
		fail_msg("%s, cell %d: carries %.1f N, the rest says %.1f .. %.1f N", bench->file,
			 cell, planned_n, place->predicted.low_n, place->predicted.high_n);
}

static void lose(struct bench *bench, int cell, double factor, int ticks)
{
	struct rv_live before;

	for (int i = 0; i < LOADED_TICKS; i++)
		tick(bench, -1, factor);
	before = bench->live;
	pull_out(bench, cell);
	for (int i = 0; i < ticks; i++) {
		tick(bench, cell, factor);
		check_numbers(bench, &before, cell, factor);
	}
}

static int count_numbers(const struct bench *bench)
{
	int numbers = 0;

	for (int i = 0; i < rv_predictor_components(bench->engine->ground->predictor); i++)
		numbers += !isnan(bench->live.component[i].load.nominal_n);
	return numbers;
}

/* ---- the three things that may happen ---- */

static void lost_under_load(struct bench *bench, int cell)
{
	begin(bench);
	for (int i = 0; i < LOADED_TICKS; i++)
		tick(bench, -1, 1.0);
	assert_int_equal(bench->live.data, RV_DATA_ALL);
	if (count_numbers(bench) == 0)
		fail_msg("%s: all cells live and no part has a number", bench->file);
	lose(bench, cell, 1.0, LOST_TICKS);
	check_told(bench, cell);
	end(bench);
}

static void lost_in_danger(struct bench *bench, int cell)
{
	begin(bench);
	for (int i = 0; i < LOADED_TICKS; i++)
		tick(bench, -1, bench->over);
	bool stood = stands(bench, "over");
	pull_out(bench, cell);
	for (int i = 0; i < LOST_TICKS; i++) {
		tick(bench, cell, bench->over);
		if (stood && !(stands(bench, "over") && bench->live.state == RV_STATE_DANGER))
			fail_msg("%s, cell %d lost: a standing danger went away", bench->file,
				 cell);
	}
	assert_true(is_told(bench, cell));
	end(bench);
}

/* Whether some part that still has a number is over its limit by the plan. */
static bool sees_over(const struct bench *bench)
{
	for (int i = 0; i < rv_predictor_components(bench->engine->ground->predictor); i++)
		if (!isnan(bench->live.component[i].load.nominal_n) &&
		    bench->use[i] * bench->over > 1.1)
			return true;
	return false;
}

static bool over_after_loss(struct bench *bench, int cell)
{
	begin(bench);
	lose(bench, cell, 0.5 * bench->over, LOST_TICKS);
	bool sees = sees_over(bench);
	for (int i = 0; i < LOST_TICKS; i++)
		tick(bench, cell, bench->over);
	if (sees && !stands(bench, "over"))
		fail_msg("%s, cell %d lost: the overload of what is still seen is not told",
			 bench->file, cell);
	end(bench);
	return sees;
}

/* ---- over the library ---- */

static int each_cell(int (*look)(struct bench *bench, int cell))
{
	struct dirent **entries = NULL;
	int rigs = scandir(getenv("RV_TESTS_RIGS"), &entries, is_rig, alphasort), sum = 0;

	assert_true(rigs >= 24);
	for (int r = 0; r < rigs; r++) {
		struct bench *bench = bench_new(entries[r]->d_name);
		assert_true(bench->cells > 0);
		for (int c = 0; c < bench->cells; c++)
			sum += look(bench, c);
		bench_free(bench);
		free(entries[r]);
	}
	free(entries);
	return sum;
}

static int look_lost(struct bench *bench, int cell)
{
	lost_under_load(bench, cell);
	return 1;
}

static int look_danger(struct bench *bench, int cell)
{
	lost_in_danger(bench, cell);
	return 1;
}

static int look_over(struct bench *bench, int cell)
{
	return over_after_loss(bench, cell);
}

static void a_lost_cell_never_turns_a_number_into_calm(void **state)
{
	(void)state;
	assert_true(each_cell(look_lost) >= 31);
}

static void a_standing_danger_outlives_the_cell_that_told_of_it(void **state)
{
	(void)state;
	assert_true(each_cell(look_danger) >= 31);
}

static void an_overload_is_told_by_the_cells_that_are_left(void **state)
{
	(void)state;
	/* Not one of them where the lost cell was the only one. */
	assert_true(each_cell(look_over) >= 20);
}

/* ---- for the page ---- */

static json_t *snapshot(const struct bench *bench)
{
	return rv_live_json(&bench->live, &bench->station, bench->engine->ground);
}

static int tell(struct bench *bench, int cell)
{
	json_t *line = json_pack("{s:s,s:i}", "rig", bench->file, "cell", cell);
	static const char *const names[2][2] = {{"before", "after"}, {"danger", "danger_after"}};

	for (int k = 0; k < 2; k++) {
		double factor = k == 0 ? fmin(1.0, 0.5 * bench->over) : bench->over;
		begin(bench);
		for (int i = 0; i < LOADED_TICKS; i++)
			tick(bench, -1, factor);
		json_object_set_new(line, names[k][0], snapshot(bench));
		pull_out(bench, cell);
		for (int i = 0; i < LOST_TICKS; i++)
			tick(bench, cell, factor);
		json_object_set_new(line, names[k][1], snapshot(bench));
		end(bench);
	}
	char *text = json_dumps(line, JSON_COMPACT);
	puts(text);
	free(text);
	json_decref(line);
	return 1;
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_lost_cell_never_turns_a_number_into_calm),
	    cmocka_unit_test(a_standing_danger_outlives_the_cell_that_told_of_it),
	    cmocka_unit_test(an_overload_is_told_by_the_cells_that_are_left),
	};

	rv_clock_fix(0);
	if (argc > 1 && strcmp(argv[1], "--tell") == 0)
		return each_cell(tell) > 0 ? 0 : 1;
	return cmocka_run_group_tests(tests, NULL, NULL);
}
