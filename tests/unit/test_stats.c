/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Student t: JCGM 100:2008, Table G.2 (two decimals).  Chi square: NIST/SEMATECH e-Handbook of
 * Statistical Methods, 1.3.6.7.4 (from memory).  Welch and the straight line: by hand.
 */
#include "tests/rvtest.h"

#include "core/stats.h"

static void t_is_that_of_the_published_table(void **state)
{
	static const struct {
		const char *label;
		double dof, t;
	} rows[] = {
	    {"1", 1, 12.71},  {"2", 2, 4.30},
	    {"3", 3, 3.18},   {"4", 4, 2.78},
	    {"5", 5, 2.57},   {"6", 6, 2.45},
	    {"7", 7, 2.36},   {"8", 8, 2.31},
	    {"9", 9, 2.26},   {"10", 10, 2.23},
	    {"15", 15, 2.13}, {"20", 20, 2.09},
	    {"50", 50, 2.01}, {"known", INFINITY, 1.960},
	};
	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_near(rows[i].label, rv_stats_t95(rows[i].dof), rows[i].t, 0.005);
	/* 95 % and 99 % points of 10 degrees, same table. */
	assert_near("99 %, 10", rv_stats_t(0.995, 10), 3.17, 0.005);
}

static void chi_square_is_that_of_the_published_table(void **state)
{
	(void)state;
	assert_near("0.95, 1", rv_stats_chi_square(0.95, 1), 3.841, 0.0005);
	assert_near("0.95, 10", rv_stats_chi_square(0.95, 10), 18.307, 0.0005);
	assert_near("0.99, 5", rv_stats_chi_square(0.99, 5), 15.086, 0.0005);
}

static void a_bounded_bias_widens_as_the_folded_normal_says(void **state)
{
	static const double rows[][2] = {{0, 1.960},	{0.1, 1.970}, {0.25, 2.020}, {0.5, 2.182},
					 {0.75, 2.403}, {1, 2.646},   {2, 3.645},    {9, 10.645}};
	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_near("critical value", rv_stats_biased(rows[i][0]), rows[i][1], 0.001);
}

static void power_agrees_with_simulated_draws_and_the_normal_limit(void **state)
{
	(void)state;
	assert_near("no difference is found in 5 %", rv_stats_power(0, 6), 0.05, 1e-9);
	assert_near("one degree", rv_stats_power(0, 1), 0.05, 1e-7);
	assert_near("known", rv_stats_power(2.8, INFINITY), 0.7996, 0.0005);
	assert_near("many degrees come near", rv_stats_power(2.8, 5000), rv_stats_power(2.8, 1e12),
		    0.001);
	/* Two groups of 17, difference of one standard deviation: the classical answer is "17 in
	 * each group for 80 %" (Cohen, Statistical Power Analysis, 1988; from memory). */
	assert_true(rv_stats_power(sqrt(17 / 2.0), 32) >= 0.80);
	assert_true(rv_stats_power(sqrt(16 / 2.0), 30) < 0.80);
}

static void small_samples_are_summed_up(void **state)
{
	static const double values[] = {3, 1, 4, 1, 5, 9};
	double work[6];
	(void)state;
	assert_near("mean", rv_stats_mean(values, 6), 23.0 / 6, 1e-14);
	assert_near("median", rv_stats_median(values, 6, work), 3.5, 0);
	assert_near("sd", rv_stats_sd(values, 6), sqrt(133.0 / 5 - 23.0 * 23.0 / 30), 1e-13);
	assert_near("spread of the middle", rv_stats_mad_sd(values, 6, work), 1.4826 * 2.0, 1e-12);
	assert_near("sd of one", rv_stats_sd(values, 1), NAN, 0);
	assert_near("median of none", rv_stats_median(values, 0, work), NAN, 0);
	assert_near("mean of none", rv_stats_mean(values, 0), NAN, 0);
}

static void two_means_differ_by_welch(void **state)
{
	struct rv_stats_difference d =
	    rv_stats_welch((struct rv_stats_sample){10, 2, 4}, (struct rv_stats_sample){13, 4, 8});
	(void)state;
	assert_near("difference", d.value, 3, 0);
	assert_near("u", d.u, sqrt(1 + 2), 1e-15);
	assert_near("degrees", d.dof, 9.0 / (1.0 / 3 + 4.0 / 7), 1e-12);
	assert_near(
	    "too few",
	    rv_stats_welch((struct rv_stats_sample){1, NAN, 1}, (struct rv_stats_sample){1, 1, 2})
		.u,
	    NAN, 0);
}

static void a_line_and_a_step_are_found_again(void **state)
{
	static const double x[] = {0, 1, 2, 3}, y[] = {1, 3, 2, 5};
	static const bool second[] = {false, true, false, true, false, true};
	double drifting[6];
	(void)state;

	struct rv_stats_line line = rv_stats_line(x, y, 4);
	assert_near("slope", line.slope, 1.1, 1e-14);
	assert_near("at zero", line.at_zero, 1.1, 1e-14);
	assert_near("residual sd", line.residual_sd, sqrt(2.7 / 2), 1e-14);
	assert_near("u of slope", line.u_slope, sqrt(2.7 / 2 / 5), 1e-14);
	assert_near("too few", rv_stats_line(x, y, 2).slope, NAN, 0);

	for (int i = 0; i < 6; i++)
		drifting[i] = 7 + 0.25 * i + (second[i] ? -2 : 0);
	struct rv_stats_difference step = rv_stats_step(drifting, second, 6);
	assert_near("the step stands out of a drift", step.value, -2, 1e-13);
	assert_near("and nothing is left", step.u, 0, 1e-13);
	assert_near("degrees", step.dof, 3, 0);
	assert_near("too few", rv_stats_step(drifting, second, 3).value, NAN, 0);
	drifting[2] += 1;
	assert_true(rv_stats_step(drifting, second, 6).u > 0.1);
}

/* Published with the method: the multiplier of sd / sqrt(C), t * K. */
static void correlated_neighbours_widen(void **state)
{
	static const struct {
		int count;
		double rho, t_times_k;
	} rows[] = {{3, 0, 4.30},  {3, .3, 6.12}, {5, .3, 3.97}, {10, .3, 3.18}, {20, .3, 2.90},
		    {3, .6, 9.88}, {5, .6, 6.68}, {8, .6, 5.59}, {20, .6, 4.58}, {20, 0, 2.09}};
	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct rv_stats_row row = rv_stats_row(rows[i].count, rows[i].rho);
		assert_near("t K", rv_stats_t95(row.dof) * row.factor, rows[i].t_times_k, 0.006);
	}
	assert_near("one value", rv_stats_row(1, 0.3).factor, NAN, 0);
	static const double alternate[] = {1, -1, 1, -1, 1, -1};
	assert_near("neighbours", rv_stats_neighbours(alternate, 6), -5.0 / 6, 1e-15);
	assert_near("two have none", rv_stats_neighbours(alternate, 2), NAN, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(t_is_that_of_the_published_table),
	    cmocka_unit_test(chi_square_is_that_of_the_published_table),
	    cmocka_unit_test(a_bounded_bias_widens_as_the_folded_normal_says),
	    cmocka_unit_test(power_agrees_with_simulated_draws_and_the_normal_limit),
	    cmocka_unit_test(small_samples_are_summed_up),
	    cmocka_unit_test(two_means_differ_by_welch),
	    cmocka_unit_test(a_line_and_a_step_are_found_again),
	    cmocka_unit_test(correlated_neighbours_widen),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
