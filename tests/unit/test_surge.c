/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <stdlib.h>

#include "core/surge.h"

/* A ratio that leans on the slope: -0.16 + 0.02 x slope, over a slope that is one sine. */
static double lean(int points, double by)
{
	struct rv_surge *surge = malloc(sizeof *surge);

	assert_non_null(surge);
	rv_surge_begin(surge);
	for (int i = 0; i < points; i++) {
		double slope = sin(0.1 * i);

		rv_surge_see(surge, slope, -0.16 + by * slope);
		rv_surge_see(surge, NAN, 5.0);
	}
	double found = rv_surge_log(surge);
	free(surge);
	return found;
}

static void a_ratio_that_leans_on_the_slope_is_seen(void **state)
{
	/* Mean of a sine above its 70 % quantile: sin at phases within 0.3 pi of the top,
	 * sin(0.3 pi) / (0.3 pi) = 0.8584; below the 30 % quantile the same, less. */
	double both = 2.0 * sin(0.3 * M_PI) / (0.3 * M_PI);

	(void)state;
	assert_near("leans", lean(3142, 0.02), 0.02 * both, 2e-4);
	assert_near("leans not", lean(3142, 0.0), 0.0, 1e-12);
	assert_near("a long pull", lean(400000, 0.02), 0.02 * both, 2e-4);
	assert_true(isnan(lean(99, 0.02)));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_ratio_that_leans_on_the_slope_is_seen),
	};

	return cmocka_run_group_tests_name("surge", tests, NULL, NULL);
}
