/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "core/lag.h"

#define NS(t) ((int64_t)((t)*1e9) + INT64_C(10000000000))

/* A load that swings at three rates which do not repeat within the lags tried. */
static double load_at(double t)
{
	return 1000.0 + 60.0 * sin(2.6 * t) + 40.0 * sin(5.1 * t + 1.0) + 25.0 * sin(11.3 * t);
}

static double found(double late_s, double near_spacing_s, double far_spacing_s, double last_s)
{
	static struct rv_grid near, far;
	static struct rv_lag lag;
	double near_s = 0.0, far_s = 0.0;
	int64_t k = NS(1.0) / RV_GRID_STEP_NS;

	rv_grid_init(&near, 0.0, 0.0);
	rv_grid_init(&far, 0.0, 0.0);
	rv_lag_begin(&lag);
	for (double t = 0.0; t < last_s; t += 0.02) {
		for (; near_s <= t; near_s += near_spacing_s)
			rv_grid_see(&near, load_at(near_s), NS(near_s));
		for (; far_s <= t; far_s += far_spacing_s)
			rv_grid_see(&far, 0.8 * load_at(far_s - late_s), NS(far_s));
		for (; k + 10 < near.next && k + 10 < far.next; k++)
			rv_lag_see(&lag, &near, &far, k);
	}
	return rv_lag_s(&lag);
}

static void the_lag_that_was_played_is_found(void **state)
{
	static const struct {
		const char *label;
		double late_s, near_spacing_s, far_spacing_s;
	} cases[] = {
	    {"none", 0.0, 0.01, 0.01},		{"far late", 0.15, 0.01, 0.01},
	    {"far early", -0.23, 0.01, 0.01},	{"between grid points", 0.113, 0.01, 0.01},
	    {"slow far cell", 0.15, 0.01, 0.1}, {"1 kHz", 0.30, 0.001, 0.02},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		assert_near(
		    cases[i].label,
		    found(cases[i].late_s, cases[i].near_spacing_s, cases[i].far_spacing_s, 15.0),
		    cases[i].late_s, 0.006);
}

static void what_cannot_be_told_is_not_told(void **state)
{
	(void)state;
	assert_true(isnan(found(0.1, 0.01, 0.01, 3.0)));   /* too short */
	assert_true(isnan(found(0.75, 0.01, 0.01, 15.0))); /* beyond the lags tried */
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(the_lag_that_was_played_is_found),
	    cmocka_unit_test(what_cannot_be_told_is_not_told),
	};

	return cmocka_run_group_tests_name("lag", tests, NULL, NULL);
}
