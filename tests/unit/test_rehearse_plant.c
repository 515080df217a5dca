/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Expectations are derived by hand in the comments, from statics and Hooke's law alone.
 */
#include "tools/rehearse_plant.h"

#include "tests/rvtest.h"

static const double STEP_S = 0.002;

/* Legs of 20 m that all pull the load: hung weight 10 kN, rubbing 1 kN. */
static struct rv_rehearse_scenario tackle(int legs, double efficiency)
{
	struct rv_rehearse_scenario s = {.seed = 3, .step_s = STEP_S};

	s.line = (struct rv_rehearse_line){.stiffness_n = 1e6,
					   .legs = legs,
					   .turn_over_m = 0.003,
					   .irregularity_m = 1,
					   .circumference_m = 1};
	for (int i = 0; i < legs; i++) {
		s.line.leg_m[i] = 20;
		s.line.on_load[i] = true;
		s.line.efficiency[i] = efficiency;
	}
	s.load = (struct rv_rehearse_load){.mass_kg = 1000,
					   .pulls_back_n = 10000,
					   .resists_n = 1000,
					   .noise_m = 1,
					   .stop_behind_m = 3};
	return s;
}

static void run(struct rv_rehearse_plant *plant, double speed_mps, double seconds)
{
	struct rv_rehearse_drive drive = {
	    .speed_mps = speed_mps, .winch_turns = fabs(speed_mps) > 0, .load_factor = 1};

	for (double t = 0; t < seconds; t += STEP_S)
		rv_rehearse_plant_step(plant, drive, STEP_S);
}

static double pull_n(const struct rv_rehearse_plant *plant)
{
	double sum = 0;

	for (int i = 0; i < plant->scenario->line.legs; i++)
		sum += plant->tension_n[i];
	return sum;
}

/* Hauling, each sheave takes its share: last leg / first leg = efficiency ^ sheaves; paying out
 * friction acts the other way, so the ratio is the inverse.  Moving evenly, the legs together
 * carry the weight plus (hauling) or minus (paying out) the rubbing; at 0.02 m/s the damping
 * adds less than 1 %. */
static void end_legs_stand_in_the_ratio_of_the_friction(void **state)
{
	static const struct {
		const char *label;
		int legs;
		double efficiency;
	} rows[] = {
	    {"one sheave", 2, 0.95},
	    {"two sheaves", 3, 0.93},
	    {"five sheaves", 6, 0.97},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct rv_rehearse_scenario s = tackle(rows[i].legs, rows[i].efficiency);
		struct rv_rehearse_plant plant;
		double whole = pow(rows[i].efficiency, rows[i].legs - 1);
		int last = rows[i].legs - 1;

		rv_rehearse_plant_init(&plant, &s);
		run(&plant, -0.02 * rows[i].legs, 20);
		assert_near(rows[i].label, plant.tension_n[last] / plant.tension_n[0], whole, 1e-4);
		assert_near(rows[i].label, pull_n(&plant), 11000, 250);
		run(&plant, 0.02 * rows[i].legs, 20);
		assert_near(rows[i].label, plant.tension_n[last] / plant.tension_n[0], 1 / whole,
			    1e-3);
		assert_near(rows[i].label, pull_n(&plant), 9000, 250);
	}
}

/* The load comes by line speed / legs (less what the line stretches: 11 kN on 3 legs of 20 m and
 * 1 MN is 0.07 m each at most, gone through in the first second). */
static void the_load_comes_by_the_velocity_ratio(void **state)
{
	struct rv_rehearse_scenario s = tackle(3, 0.95);
	struct rv_rehearse_plant plant;

	(void)state;
	rv_rehearse_plant_init(&plant, &s);
	run(&plant, -0.09, 5);
	double before_m = plant.travel_m;
	run(&plant, -0.09, 10);
	assert_near("travel in 10 s", plant.travel_m - before_m, 0.3, 0.003);
	assert_near("payout", plant.payout_m, -0.09 * 15, 0.001);
}

static void a_held_line_stays_as_it_was_left(void **state)
{
	struct rv_rehearse_scenario s = tackle(4, 0.95);
	struct rv_rehearse_plant plant;

	(void)state;
	s.line.irregularity_ratio = 0.004;
	s.line.irregularity_m = 0.3;
	rv_rehearse_plant_init(&plant, &s);
	run(&plant, -0.2, 10);
	run(&plant, 0, 3);
	double first_n = plant.tension_n[0], last_n = plant.tension_n[3];
	run(&plant, 0, 60);
	assert_near("first leg after a minute", plant.tension_n[0], first_n, 0.5);
	assert_near("last leg after a minute", plant.tension_n[3], last_n, 0.5);
	/* Whatever it is, friction cannot hold more than it does when it slides. */
	double least = pow(0.95, 3) * 0.98;
	assert_true(last_n / first_n > least && last_n / first_n < 1 / least);
}

/* mobilised = -1 + 2 exp(-travel / turn_over): from 1 through 0 at turn_over * ln 2. */
static void friction_is_turned_over_before_it_bites(void **state)
{
	struct rv_rehearse_scenario s = tackle(2, 0.95);
	struct rv_rehearse_plant plant;

	(void)state;
	rv_rehearse_plant_init(&plant, &s);
	run(&plant, -0.1, 10);
	assert_near("turned one way", plant.sheave[0].mobilised, 1, 1e-6);
	double from_m = plant.sheave[0].travel_m;
	for (int i = 0; i < 5000 && plant.sheave[0].mobilised > 0; i++) {
		from_m = fmax(from_m, plant.sheave[0].travel_m);
		run(&plant, 0.01, STEP_S);
	}
	assert_near("travel to nothing", from_m - plant.sheave[0].travel_m, 0.003 * M_LN2, 1e-4);
	run(&plant, 0.1, 10);
	assert_near("turned the other way", plant.sheave[0].mobilised, -1, 1e-6);
}

/* Hooke: one leg of 10 m, 1 MN for 100 %: each 10 mm more or less is 1 kN, to a part in 500 (the
 * line out gets shorter); the load is stuck fast. */
static void a_line_that_cannot_move_its_load_stretches(void **state)
{
	struct rv_rehearse_scenario s = tackle(1, 0.95);
	struct rv_rehearse_plant plant;

	(void)state;
	s.line.leg_m[0] = 10;
	s.load.resists_n = 1e6;
	rv_rehearse_plant_init(&plant, &s);
	assert_near("at rest", plant.tension_n[0], 10000, 1e-6);
	run(&plant, -0.01, 1);
	assert_near("10 mm in", plant.tension_n[0], 11000, 25);
	assert_near("no travel", plant.travel_m, 0, 0);
}

static void a_parted_line_carries_nothing_within_milliseconds(void **state)
{
	struct rv_rehearse_scenario s = tackle(2, 0.95);
	struct rv_rehearse_plant plant;

	(void)state;
	rv_rehearse_plant_init(&plant, &s);
	run(&plant, -0.1, 5);
	assert_true(plant.tension_n[0] > 5000);
	rv_rehearse_plant_part(&plant);
	run(&plant, 0, 0.03);
	assert_near("lead", plant.tension_n[0], 0, 1);
	assert_near("far end", plant.tension_n[1], 0, 1);
	run(&plant, 0, 5);
	assert_near("it runs back to its stop", plant.travel_m, -3, 1e-9);
}

/* Standard deviation of ln(ratio) over pulls: the common and the sheave's own scatter add as
 * squares, 0.5 % * sqrt(2) = 0.71 %; with 100 pulls its own error is 7 %. */
static void pulls_scatter_as_much_as_is_said(void **state)
{
	struct rv_rehearse_scenario s = tackle(2, 0.95);
	struct rv_rehearse_plant plant;
	double sum = 0, squares = 0;
	enum { PULLS = 100 };

	(void)state;
	s.line.pull_scatter_ratio = 0.005;
	rv_rehearse_plant_init(&plant, &s);
	for (int i = 0; i < PULLS; i++) {
		run(&plant, -0.2, 2);
		double log_ratio = log(plant.tension_n[1] / plant.tension_n[0]);
		sum += log_ratio;
		squares += log_ratio * log_ratio;
		run(&plant, 0.2, 2);
	}
	double mean = sum / PULLS;
	assert_near("mean", mean, log(0.95), 0.003);
	assert_near("scatter", sqrt(squares / PULLS - mean * mean), 0.00707, 0.002);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(end_legs_stand_in_the_ratio_of_the_friction),
	    cmocka_unit_test(the_load_comes_by_the_velocity_ratio),
	    cmocka_unit_test(a_held_line_stays_as_it_was_left),
	    cmocka_unit_test(friction_is_turned_over_before_it_bites),
	    cmocka_unit_test(a_line_that_cannot_move_its_load_stretches),
	    cmocka_unit_test(a_parted_line_carries_nothing_within_milliseconds),
	    cmocka_unit_test(pulls_scatter_as_much_as_is_said),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
