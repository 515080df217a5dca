/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_dice.h"

#include "tests/rvtest.h"

enum { THROWS = 20000 };

/* First outputs of splitmix64 from 1234567: the test vector published with many implementations;
 * from memory. */
static void the_generator_gives_its_published_numbers(void **state)
{
	static const uint64_t want[] = {6457827717110365317U, 3203168211198807973U,
					9817491932198370423U};
	struct rv_rehearse_dice dice = {1234567};

	(void)state;
	for (size_t i = 0; i < sizeof want / sizeof want[0]; i++)
		assert_true(rv_rehearse_dice_bits(&dice) == want[i]);
}

/* Mean 0, variance 1; 68.27 % within one standard deviation, 95.45 % within two (tables of the
 * normal distribution).  20000 throws: the shares have a standard error of 0.33 % and 0.15 %. */
static void normal_throws_are_normal(void **state)
{
	struct rv_rehearse_dice dice = {42};
	double sum = 0, squares = 0;
	int within_one = 0, within_two = 0;

	(void)state;
	for (int i = 0; i < THROWS; i++) {
		double x = rv_rehearse_dice_normal(&dice);
		sum += x;
		squares += x * x;
		within_one += fabs(x) < 1;
		within_two += fabs(x) < 2;
	}
	assert_near("mean", sum / THROWS, 0, 0.03);
	assert_near("variance", squares / THROWS, 1, 0.04);
	assert_near("within one", within_one / (double)THROWS, 0.6827, 0.014);
	assert_near("within two", within_two / (double)THROWS, 0.9545, 0.006);
}

static void bumps_are_the_same_at_the_same_place_and_as_large_as_said(void **state)
{
	struct rv_rehearse_dice dice = {8};
	struct rv_rehearse_bumps bumps;
	double squares = 0;

	(void)state;
	rv_rehearse_dice_bumps(&dice, 0.3, &bumps);
	assert_near("twice", rv_rehearse_dice_bump_at(&bumps, 1.7),
		    rv_rehearse_dice_bump_at(&bumps, 1.7), 0);
	for (int i = 0; i < THROWS; i++) {
		double here = rv_rehearse_dice_bump_at(&bumps, 0.01 * i);
		squares += here * here;
	}
	assert_near("variance", squares / THROWS, 1, 0.1);
	/* Steepest where all waves rise at once: sqrt(2 / 6) * sum of 2 pi / wave, waves >= 0.3 m.
	 */
	double near =
	    rv_rehearse_dice_bump_at(&bumps, 5) - rv_rehearse_dice_bump_at(&bumps, 5 + 1e-6);
	assert_near("smooth", near, 0, 1e-6 * sqrt(2.0 / 6) * 6 * 2 * M_PI / 0.3);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(the_generator_gives_its_published_numbers),
	    cmocka_unit_test(normal_throws_are_normal),
	    cmocka_unit_test(bumps_are_the_same_at_the_same_place_and_as_large_as_said),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
