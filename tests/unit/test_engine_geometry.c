/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The engine's predictions follow the payout.
 */
#include "tests/engine_bench.h"

#include "daemon/engine_geometry.h"

/* A tick's worth of hauling in at 0.6 m/s. */
#define STRIDE_M 0.03

static const struct rv_live_geometry *geometry(const struct bench *bench)
{
	return &bench->live.geometry;
}

static void begin_at(struct bench *bench, double payout_m)
{
	begin(bench);
	bench->payout_m = payout_m;
	for (int i = 0; i < 4; i++)
		tick(bench, -1, 1.0);
}

/* Hauls in (below zero: pays out) at STRIDE_M a tick, then stands for a while. */
static void haul(struct bench *bench, double line_in_m)
{
	int ticks = (int)lround(fabs(line_in_m) / STRIDE_M);

	for (int i = 0; i < ticks; i++) {
		bench->payout_m -= line_in_m / ticks;
		tick(bench, -1, 1.0);
	}
	for (int i = 0; i < 10; i++)
		tick(bench, -1, 1.0);
}

/* What a predictor of its own says of that place, gone to step by step. */
static bool loads_at(const struct bench *bench, double line_in_m, int given, struct rv_loads *loads)
{
	struct rv_predictor *p = NULL;
	struct rv_error error = {0};
	double load_n = bench->planned_n[given];
	int steps = (int)ceil(fabs(line_in_m) / 0.1);
	bool goes = true;

	assert_int_equal(rv_predictor_new(&bench->engine->ground->rig, &p, &error), RV_OK);
	for (int i = 1; i <= steps && goes; i++)
		goes = rv_predictor_at_payout(p, line_in_m * i / steps, given, load_n, &error) ==
		       RV_OK;
	if (goes)
		assert_int_equal(rv_predictor_loads(p, given,
						    bench->engine->channel[given].last.value,
						    bench->engine->rope[0].now.motion, loads),
				 RV_OK);
	rv_predictor_free(p);
	return goes;
}

/* The engine's numbers are those of the place; returns how many are others than as laid. */
static int compare(const struct bench *bench, double line_in_m)
{
	static struct rv_loads there, laid;
	int given = bench->engine->given, others = 0;

	assert_true(given >= 0);
	if (!loads_at(bench, line_in_m, given, &there) || !loads_at(bench, 0.0, given, &laid))
		return 0;
	for (int i = 0; i < rv_predictor_components(bench->engine->ground->predictor); i++) {
		double want_n = there.component[i].high_n;
		double got_n = bench->engine->loads.component[i].high_n;
		if (isnan(want_n))
			continue;
		if (fabs(got_n - want_n) > 0.005 * want_n + 1.0)
			fail_msg("%s: %s, %.2f m in: %.1f N, want %.1f N", bench->file,
				 rv_predictor_component(bench->engine->ground->predictor, i)->name,
				 line_in_m, got_n, want_n);
		others += fabs(laid.component[i].high_n - want_n) > 0.01 * want_n;
	}
	return others;
}

static void what_is_predicted_is_where_the_line_took_the_load(void **state)
{
	struct dirent **entries = NULL;
	int rigs = scandir(getenv("RV_TESTS_RIGS"), &entries, is_rig, alphasort);
	int followed = 0, others = 0;

	(void)state;
	assert_true(rigs >= 24);
	for (int r = 0; r < rigs; r++) {
		struct bench *bench = bench_new(entries[r]->d_name, true);
		begin_at(bench, 40.0 + r);
		haul(bench, 6.0);
		if (bench->winches == 1 && bench->loads == 1) {
			if (geometry(bench)->state == RV_GEOMETRY_FOLLOWS) {
				assert_near(bench->file, geometry(bench)->line_in_m, 6.0, 0.06);
				others += compare(bench, 6.0) > 0;
				followed++;
			} else {
				print_message("%s: %s\n", bench->file, geometry(bench)->text);
			}
		} else {
			assert_int_equal(geometry(bench)->state, RV_GEOMETRY_AS_LAID);
			assert_true(isnan(geometry(bench)->line_in_m));
			assert_true(geometry(bench)->text[0] != '\0');
		}
		end(bench);
		bench_free(bench);
		free(entries[r]);
	}
	free(entries);
	print_message("followed %d of %d, other numbers in %d\n", followed, rigs, others);
	assert_true(followed >= 20);
	assert_true(others >= 3);
}

static void run_ticks(struct bench *bench, int ticks)
{
	for (int i = 0; i < ticks; i++)
		tick(bench, -1, 1.0);
}

static void a_payout_that_is_lost_leaves_the_geometry_and_says_so(void **state)
{
	struct bench *bench = bench_new("quay-four-spread.yaml", true);

	(void)state;
	begin_at(bench, 55.0);
	haul(bench, 1.5);
	double payout_m = bench->payout_m;
	bench->payout_m = (double)NAN;
	run_ticks(bench, 40);
	assert_int_equal(geometry(bench)->state, RV_GEOMETRY_KEPT);
	assert_near("kept", geometry(bench)->line_in_m, 1.5, 0.06);
	assert_true(geometry(bench)->text[0] != '\0');
	assert_int_equal(bench->live.data, RV_DATA_SOME);
	(void)compare(bench, 1.5);
	bench->payout_m = payout_m;
	run_ticks(bench, 4);
	assert_int_equal(geometry(bench)->state, RV_GEOMETRY_FOLLOWS);
	end(bench);
	bench_free(bench);
}

static void line_that_ran_unseen_is_caught_up_with_bit_by_bit(void **state)
{
	struct bench *bench = bench_new("quay-four-spread.yaml", true);

	(void)state;
	begin_at(bench, 55.0);
	bench->payout_m = (double)NAN;
	run_ticks(bench, 60);
	bench->payout_m = 52.0; /* a metre a second: a line may do that */
	tick(bench, -1, 1.0);
	assert_int_equal(geometry(bench)->state, RV_GEOMETRY_KEPT);
	assert_true(geometry(bench)->line_in_m <= 0.5);
	run_ticks(bench, 8);
	assert_int_equal(geometry(bench)->state, RV_GEOMETRY_FOLLOWS);
	assert_near("caught up", geometry(bench)->line_in_m, 3.0, 0.06);
	(void)compare(bench, 3.0);
	end(bench);
	bench_free(bench);
}

static void a_counter_that_starts_anew_moves_no_load(void **state)
{
	struct bench *bench = bench_new("quay-four-spread.yaml", true);

	(void)state;
	begin_at(bench, 55.0);
	haul(bench, 1.5);
	bench->payout_m = 900.0;
	run_ticks(bench, 100);
	assert_int_equal(bench->live.channel[bench->encoder].quality, RV_GOOD);
	assert_near("stays", geometry(bench)->line_in_m, 1.5, 0.06);
	haul(bench, 1.5);
	assert_int_equal(geometry(bench)->state, RV_GEOMETRY_FOLLOWS);
	assert_near("goes on from there", geometry(bench)->line_in_m, 3.0, 0.06);
	end(bench);
	bench_free(bench);
}

static void a_load_at_its_end_stays_there_and_comes_back(void **state)
{
	struct bench *bench = bench_new("ramp-lower-round-bollard.yaml", true);

	(void)state;
	begin_at(bench, 20.0);
	haul(bench, 9.0);
	assert_int_equal(geometry(bench)->state, RV_GEOMETRY_KEPT);
	assert_non_null(strstr(geometry(bench)->text, "cannot go"));
	assert_true(count_numbers(bench) > 0);
	haul(bench, -7.0);
	assert_int_equal(geometry(bench)->state, RV_GEOMETRY_FOLLOWS);
	assert_near("back", geometry(bench)->line_in_m, 2.0, 0.06);
	(void)compare(bench, 2.0);
	end(bench);
	bench_free(bench);
}

static void a_rig_laid_again_lies_as_its_file_has_it(void **state)
{
	struct bench *bench = bench_new("quay-four-spread.yaml", true);
	struct rv_error error = {0};

	(void)state;
	begin_at(bench, 55.0);
	haul(bench, 3.0);
	assert_int_equal(rv_engine_rig_set(bench->engine, NULL, NULL, &error), RV_OK);
	run_ticks(bench, 4);
	assert_int_equal(geometry(bench)->state, RV_GEOMETRY_FOLLOWS);
	assert_near("laid", geometry(bench)->line_in_m, 0.0, 1e-6);
	(void)compare(bench, 0.0);
	haul(bench, 1.5);
	(void)compare(bench, 1.5);
	end(bench);
	bench_free(bench);
}

/* EA of the rope over what lies between winch and dead end, not over all that is on the drum. */
static void the_guards_know_the_line_by_what_is_reeved_of_it(void **state)
{
	struct bench *bench = bench_new("road-van-two-part.yaml", true);

	(void)state;
	begin_at(bench, 55.0);
	struct rv_ground *ground = bench->engine->ground;
	double reeved_m = 0.0, stiffness_n = 500e3;
	ground->rig.rope[0].stiffness_n = stiffness_n;
	rv_engine_geometry_init(bench->engine);
	for (int i = 0; i < rv_predictor_legs(ground->predictor); i++)
		if (rv_predictor_leg(ground->predictor, i)->rope == 0)
			reeved_m += rv_predictor_leg(ground->predictor, i)->length_m;
	assert_near("as laid", bench->engine->guards.line[0].stiffness_npm, stiffness_n / reeved_m,
		    1e-6);
	run_ticks(bench, 2);
	haul(bench, 2.0);
	assert_near("two metres in", bench->engine->guards.line[0].stiffness_npm,
		    stiffness_n / (reeved_m - 2.0), 0.05 * stiffness_n / reeved_m / reeved_m + 1.0);
	end(bench);
	bench_free(bench);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_payout_that_is_lost_leaves_the_geometry_and_says_so),
	    cmocka_unit_test(line_that_ran_unseen_is_caught_up_with_bit_by_bit),
	    cmocka_unit_test(a_counter_that_starts_anew_moves_no_load),
	    cmocka_unit_test(a_load_at_its_end_stays_there_and_comes_back),
	    cmocka_unit_test(a_rig_laid_again_lies_as_its_file_has_it),
	    cmocka_unit_test(the_guards_know_the_line_by_what_is_reeved_of_it),
	    cmocka_unit_test(what_is_predicted_is_where_the_line_took_the_load),
	};

	rv_clock_fix(0);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
