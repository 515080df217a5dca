/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every rig of the library with each of its cells lost in turn: what the engine publishes never
 * goes from a number to calm.  The engine's own rooms are driven here by a clock of the test's.
 *
 * --tell prints the snapshots, one JSON object a line, for the test of the page.
 */
#include "tests/engine_bench.h"

#include "daemon/api_rig.h"

enum { LOST_TICKS = 60 };

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

static struct bench *library[RIGS];
static int rigs;

static int open_library(void **state)
{
	struct dirent **entries = NULL;

	(void)state;
	rigs = scandir(getenv("RV_TESTS_RIGS"), &entries, is_rig, alphasort);
	assert_true(rigs >= 24 && rigs <= RIGS);
	for (int r = 0; r < rigs; r++) {
		library[r] = bench_new(entries[r]->d_name, false);
		assert_true(library[r]->cells > 0);
		free(entries[r]);
	}
	free(entries);
	return 0;
}

static int close_library(void **state)
{
	(void)state;
	for (int r = 0; r < rigs; r++)
		bench_free(library[r]);
	return 0;
}

static int each_cell(int (*look)(struct bench *bench, int cell))
{
	int sum = 0;

	for (int r = 0; r < rigs; r++)
		for (int c = 0; c < library[r]->cells; c++)
			sum += look(library[r], c);
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
		json_object_set_new(line, "ground",
				    rv_api_rig_json(bench->engine->ground, 0, &bench->station));
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
	if (argc > 1 && strcmp(argv[1], "--tell") == 0) {
		(void)open_library(NULL);
		int told = each_cell(tell);
		(void)close_library(NULL);
		return told > 0 ? 0 : 1;
	}
	return cmocka_run_group_tests(tests, open_library, close_library);
}
