/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "core/sheave.h"

static const struct rv_sheave plain = {.efficiency_ratio = 1.0, .half_sine = 1.0};

static void the_efficiency_is_the_ratio_at_half_a_turn(void **state)
{
	struct rv_sheave sheave = plain;

	(void)state;
	sheave.efficiency_ratio = 0.94;
	for (double share = 0.0; share <= 1.0; share += 0.25) {
		sheave.bearing_share_ratio = share;
		assert_near("whatever the share", rv_sheave_law(&sheave).ratio, 0.94, 1e-15);
	}
}

/* Derived by hand: a bearing's loss follows the load on its pin, |d1 + d2| / 2 of that at half a
 * turn; 5 % at 180 degrees with a share of 0.6 is 1 - 0.05 (0.4 + 0.6 sin 45) = 4.12 % at 90. */
static void the_bearing_s_share_follows_the_pin_load(void **state)
{
	struct rv_sheave sheave = plain;

	(void)state;
	sheave.efficiency_ratio = 0.95;
	sheave.bearing_share_ratio = 0.6;
	sheave.half_sine = sqrt(0.5);
	assert_near("90 degrees", rv_sheave_law(&sheave).ratio,
		    1.0 - 0.05 * (0.4 + 0.6 * sqrt(0.5)), 1e-15);
}

/* Pin friction exactly: T_H - T_L = c |T_H d1 + T_L d2|, here for parallel legs: (1 - c) / (1 + c).
 */
static void pin_drag_of_parallel_legs_is_exact(void **state)
{
	struct rv_sheave sheave = plain;

	(void)state;
	sheave.pin_drag_ratio = 0.015;
	struct rv_sheave_law law = rv_sheave_law(&sheave);
	double low_n = rv_sheave_across(law, 1, 1000.0);
	assert_near("moment balance", 1000.0 - low_n, 0.015 * (1000.0 + low_n), 1e-9);
}

/* At other angles the law is linear in place of the square root; difference below 1.8e-4 of T for
 * c <= 0.08 (own derivation, solved here by fixed-point iteration). */
static void pin_drag_at_an_angle_is_near_the_exact_one(void **state)
{
	(void)state;
	for (double between_deg = 0.0; between_deg <= 150.0; between_deg += 30.0) {
		struct rv_sheave sheave = plain;
		double cosine = cos(between_deg * M_PI / 180.0), exact_n = 1000.0;

		sheave.pin_drag_ratio = 0.08;
		sheave.half_sine = cos(between_deg * M_PI / 360.0);
		for (int i = 0; i < 200; i++)
			exact_n = 1000.0 -
				  0.08 * sqrt(1e6 + exact_n * exact_n + 2000.0 * exact_n * cosine);
		assert_near("against the square root",
			    rv_sheave_across(rv_sheave_law(&sheave), 1, 1000.0), exact_n, 0.18);
	}
}

/* Capstan: a mass of 100 kg, g = 9.81 m/s2, mu = 0.2, wrap 1.5 pi, lowered: 382.26 N.  Source: a
 * public worked exercise on rope friction (engineering mechanics, no. 27). */
static void a_bar_holds_as_the_worked_exercise_says(void **state)
{
	struct rv_sheave bar = plain;

	(void)state;
	bar.bar_friction_ratio = 0.2;
	bar.wrap_rad = 1.5 * M_PI;
	assert_near("held back", rv_sheave_across(rv_sheave_law(&bar), 1, 981.0), 382.26, 0.005);
}

static void paying_out_undoes_hauling_in(void **state)
{
	struct rv_sheave sheave = {0.93, 0.3, 40.0, 0.02, 0.0, 0.8, 0.0};
	struct rv_sheave_law law = rv_sheave_law(&sheave);

	(void)state;
	assert_near("there and back", rv_sheave_across(law, -1, rv_sheave_across(law, 1, 5000.0)),
		    5000.0, 1e-9);
	assert_near("standing", rv_sheave_across(law, 0, 5000.0), 5000.0, 0.0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(the_efficiency_is_the_ratio_at_half_a_turn),
	    cmocka_unit_test(the_bearing_s_share_follows_the_pin_load),
	    cmocka_unit_test(pin_drag_of_parallel_legs_is_exact),
	    cmocka_unit_test(pin_drag_at_an_angle_is_near_the_exact_one),
	    cmocka_unit_test(a_bar_holds_as_the_worked_exercise_says),
	    cmocka_unit_test(paying_out_undoes_hauling_in),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
