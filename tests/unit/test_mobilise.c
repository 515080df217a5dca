/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "core/mobilise.h"

static void a_sheave_that_ran_back_turns_again_after_twelve_millimetres(void **state)
{
	static const struct {
		const char *label;
		double passed_mm;
		bool turning;
	} steps[] = {
	    {"begin", 0.0, true},
	    {"on", 5.0, true},
	    {"back by less than 0.3", 4.75, true},
	    {"back", 4.6, false},
	    {"farther back", 3.0, false},
	    {"not yet", 14.9, false},
	    {"unknown", NAN, false},
	    {"again", 15.1, true},
	    {"on", 15.2, true},
	    {"back at once", 14.8, false},
	};
	struct rv_mobilise track;

	(void)state;
	rv_mobilise_begin(&track);
	for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++)
		if (rv_mobilise_see(&track, steps[i].passed_mm * 1e-3) != steps[i].turning)
			fail_msg("%s (%zu)", steps[i].label, i);
}

static void rope_passes_by_line_and_by_stretch(void **state)
{
	const struct rv_mobilise_setup setup = {.slowest_ratio = 4.0, .compliance_mpn = 7.5e-6};

	(void)state;
	/* Hauling in, line out falls and more tension draws rope after it. */
	assert_near("line in", rv_mobilise_passed_m(&setup, RV_MOTION_IN, 10.0, 0.0), -2.5, 1e-12);
	assert_near("stretch in", rv_mobilise_passed_m(&setup, RV_MOTION_IN, 0.0, 1000.0), 7.5e-3,
		    1e-12);
	assert_near("out", rv_mobilise_passed_m(&setup, RV_MOTION_OUT, 10.0, 1000.0), 2.5 - 7.5e-3,
		    1e-12);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_sheave_that_ran_back_turns_again_after_twelve_millimetres),
	    cmocka_unit_test(rope_passes_by_line_and_by_stretch),
	};

	return cmocka_run_group_tests_name("mobilise", tests, NULL, NULL);
}
