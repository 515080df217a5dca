/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "core/stuck.h"

#define NS(t) ((int64_t)((t)*1e9) + INT64_C(10000000000))

static void identical_readings_are_stuck_only_against_something(void **state)
{
	static const struct {
		const char *label;
		double force_n, neighbour_n, per_s; /* neighbour's force and its change */
		bool is_stuck;
	} cases[] = {
	    {"alone", 5e3, NAN, 0.0, false},
	    {"neighbour stands too", 5e3, 6e3, 0.0, false},
	    {"neighbour moves a little", 5e3, 6e3, 250.0, false},
	    {"neighbour moves", 5e3, 6e3, 1000.0, true},
	    {"neighbour moves downwards", 5e3, 6e3, -1000.0, true},
	    {"nothing is on it", 50.0, 6e3, 1000.0, false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_stuck stuck;
		bool ever = false;

		rv_stuck_init(&stuck, 400.0);
		for (int k = 0; k < 40; k++) {
			double t = k * 0.05;

			ever |=
			    rv_stuck_see(&stuck, 1234.0, cases[i].force_n, RV_MOTION_HOLD, NS(t));
			if (ever && t < 1.0)
				fail_msg("%s: too soon", cases[i].label);
			if (!isnan(cases[i].neighbour_n))
				rv_stuck_neighbour(
				    &stuck, cases[i].neighbour_n + cases[i].per_s * t, 400.0);
		}
		if (ever != cases[i].is_stuck)
			fail_msg("%s", cases[i].label);
	}
}

/* A coarse instrument: steps of 100 N, noise that flips it now and then; true if ever stuck. */
static bool play(double lively_s, double quiet_s, double flip_every_s, enum rv_motion motion)
{
	struct rv_stuck stuck;
	bool ever = false;

	rv_stuck_init(&stuck, 400.0);
	for (int k = 0; k < (lively_s + quiet_s) * 50; k++) {
		double t = k / 50.0;
		long flips = (long)(fmin(t, lively_s) / flip_every_s);

		ever |=
		    rv_stuck_see(&stuck, (double)(5000 + 100 * (flips % 2)), 5e3, motion, NS(t));
	}
	return ever;
}

static void a_value_that_lost_its_own_noise_is_stuck(void **state)
{
	(void)state;
	assert_true(play(30.0, 10.0, 0.1, RV_MOTION_HOLD));
	assert_true(play(30.0, 10.0, 0.1, RV_MOTION_IN));
	assert_false(play(30.0, 4.9, 0.1, RV_MOTION_HOLD));   /* not long enough */
	assert_false(play(5.0, 10.0, 0.1, RV_MOTION_HOLD));   /* noise not known well enough */
	assert_false(play(300.0, 19.0, 2.0, RV_MOTION_HOLD)); /* coarse: stood for 2 s before */
	assert_false(play(30.0, 60.0, 0.1, RV_MOTION_UNKNOWN));
	assert_false(play(30.0, 60.0, 0.1, RV_MOTION_UNSTEADY));
}

static void noise_while_moving_says_nothing_of_holding(void **state)
{
	struct rv_stuck stuck;
	bool ever = false;

	(void)state;
	rv_stuck_init(&stuck, 400.0);
	for (int k = 0; k < 3000; k++) /* a minute of hauling, then the brake */
		ever |= rv_stuck_see(&stuck, k < 1500 ? k % 7 : 3, 5e3,
				     k < 1502 ? RV_MOTION_IN : RV_MOTION_HOLD, NS(k / 50.0));
	assert_false(ever);
}

static void missing_readings_begin_anew(void **state)
{
	struct rv_stuck stuck;

	(void)state;
	rv_stuck_init(&stuck, 400.0);
	for (int k = 0; k < 60; k++) {
		rv_stuck_see(&stuck, 7.0, 5e3, RV_MOTION_HOLD, NS(k / 50.0));
		rv_stuck_neighbour(&stuck, 5e3 + 50.0 * k, 400.0);
	}
	assert_true(stuck.is_stuck);
	rv_stuck_break(&stuck);
	assert_false(stuck.is_stuck);
	assert_false(rv_stuck_see(&stuck, 7.0, 5e3, RV_MOTION_HOLD, NS(2.0)));
	for (int k = 0; k < 60; k++) {
		rv_stuck_see(&stuck, 7.0, 5e3, RV_MOTION_HOLD, NS(2.1 + k / 50.0));
		rv_stuck_neighbour(&stuck, 5e3 + 50.0 * k, 400.0);
	}
	assert_true(stuck.is_stuck);
	assert_false(rv_stuck_see(&stuck, 8.0, 5e3, RV_MOTION_HOLD, NS(9.0))); /* it lives */
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(identical_readings_are_stuck_only_against_something),
	    cmocka_unit_test(a_value_that_lost_its_own_noise_is_stuck),
	    cmocka_unit_test(noise_while_moving_says_nothing_of_holding),
	    cmocka_unit_test(missing_readings_begin_anew),
	};

	return cmocka_run_group_tests_name("stuck", tests, NULL, NULL);
}
