/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_sensor.h"

#include "tests/rvtest.h"

static const double STEP_S = 0.001;

static struct rv_rehearse_scenario two_legs(void)
{
	struct rv_rehearse_scenario s = {.line = {.legs = 2}};
	return s;
}

static double read_n(struct rv_rehearse_sensor *sensor)
{
	struct rv_rehearse_dice dice = {7};
	return rv_rehearse_sensor_read(sensor, &dice);
}

/* A step of 1 kN through 50 ms of dead time and a filter of 100 ms: nothing until 50 ms, 63.2 % of
 * it (1 - 1/e) at 150 ms, 95.0 % at 350 ms. */
static void a_step_comes_late_and_rounded(void **state)
{
	const struct rv_rehearse_cell cell = {
	    .leg = {true, true}, .delay_s = 0.05, .filter_s = 0.1};
	const struct rv_rehearse_scenario s = two_legs();
	struct rv_rehearse_plant plant = {.scenario = &s, .tension_n = {500, 500}};
	struct rv_rehearse_sensor sensor;

	(void)state;
	rv_rehearse_sensor_init(&sensor, &cell);
	rv_rehearse_sensor_step(&sensor, &plant, STEP_S);
	assert_near("both legs", read_n(&sensor), 1000, 1e-9);
	plant.tension_n[1] = 1500;
	for (int ms = 1; ms <= 350; ms++) {
		rv_rehearse_sensor_step(&sensor, &plant, STEP_S);
		if (ms == 49)
			assert_near("49 ms", read_n(&sensor), 1000, 1e-9);
		if (ms == 150)
			assert_near("150 ms", read_n(&sensor), 1632, 8);
	}
	assert_near("350 ms", read_n(&sensor), 1950, 8);
}

static void gain_offset_and_steps_are_applied(void **state)
{
	const struct rv_rehearse_cell cell = {
	    .leg = {true}, .gain_error_ratio = 0.01, .offset_n = 3, .resolution_n = 5};
	const struct rv_rehearse_scenario s = two_legs();
	const struct rv_rehearse_plant plant = {.scenario = &s, .tension_n = {2000, 9}};
	struct rv_rehearse_sensor sensor;

	(void)state;
	rv_rehearse_sensor_init(&sensor, &cell);
	rv_rehearse_sensor_step(&sensor, &plant, STEP_S);
	assert_near("2000 * 1.01 + 3 = 2023, in steps of 5", read_n(&sensor), 2025, 1e-9);
}

static void a_dead_cell_repeats_and_a_zeroed_one_starts_from_nothing(void **state)
{
	const struct rv_rehearse_cell cell = {.leg = {true}, .noise_n = 0};
	const struct rv_rehearse_scenario s = two_legs();
	struct rv_rehearse_plant plant = {.scenario = &s, .tension_n = {2000}};
	struct rv_rehearse_sensor sensor;

	(void)state;
	rv_rehearse_sensor_init(&sensor, &cell);
	rv_rehearse_sensor_step(&sensor, &plant, STEP_S);
	rv_rehearse_sensor_zero(&sensor, true);
	assert_near("zeroed", read_n(&sensor), 0, 1e-9);
	plant.tension_n[0] = 2600;
	rv_rehearse_sensor_step(&sensor, &plant, STEP_S);
	assert_near("only what came since", read_n(&sensor), 600, 1e-9);
	rv_rehearse_sensor_zero(&sensor, false);
	assert_near("taken back", read_n(&sensor), 2600, 1e-9);
	sensor.dead = true;
	plant.tension_n[0] = 9000;
	rv_rehearse_sensor_step(&sensor, &plant, STEP_S);
	assert_near("dead", read_n(&sensor), 2600, 1e-9);
}

/* Standard deviation of 2000 readings: its own standard error is 1 / sqrt(4000) = 1.6 %. */
static void the_noise_is_as_large_as_is_said(void **state)
{
	const struct rv_rehearse_cell cell = {.leg = {true}, .noise_n = 20};
	const struct rv_rehearse_scenario s = two_legs();
	const struct rv_rehearse_plant plant = {.scenario = &s, .tension_n = {1000}};
	struct rv_rehearse_dice dice = {99};
	struct rv_rehearse_sensor sensor;
	double sum = 0, squares = 0;
	enum { READINGS = 2000 };

	(void)state;
	rv_rehearse_sensor_init(&sensor, &cell);
	rv_rehearse_sensor_step(&sensor, &plant, STEP_S);
	for (int i = 0; i < READINGS; i++) {
		double noise = rv_rehearse_sensor_read(&sensor, &dice) - 1000;
		sum += noise;
		squares += noise * noise;
	}
	assert_near("mean", sum / READINGS, 0, 2);
	assert_near("standard deviation", sqrt(squares / READINGS), 20, 1.5);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_step_comes_late_and_rounded),
	    cmocka_unit_test(gain_offset_and_steps_are_applied),
	    cmocka_unit_test(a_dead_cell_repeats_and_a_zeroed_one_starts_from_nothing),
	    cmocka_unit_test(the_noise_is_as_large_as_is_said),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
