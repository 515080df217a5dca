/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>

#include "core/polynomial.h"

#define UNKNOWN ((double)NAN)

enum { MOST = 100 };

/* Columns y,x[,...] as the tables of tests/data have them; notes begin with #. */
static size_t read_table(const char *name, struct rv_polynomial_point *points)
{
	char path[512], line[200];
	size_t count = 0;

	snprintf(path, sizeof path, "%s/%s", getenv("RV_TESTS_DATA"), name);
	FILE *file = fopen(path, "r");
	assert_non_null(file);
	while (count < MOST && fgets(line, sizeof line, file)) {
		struct rv_polynomial_point point = {.u_x = UNKNOWN, .u_y = UNKNOWN};
		if (sscanf(line, "%lf,%lf", &point.y, &point.x) == 2)
			points[count++] = point;
	}
	(void)fclose(file);
	return count;
}

/* Digits that agree; 0 for a certified zero that is missed. */
static double digits(double got, double want)
{
	double off = fabs(want) > 0.0 ? fabs(got - want) / fabs(want) : fabs(got);

	return off > 0.0 ? fmin(-log10(off), 16.0) : 16.0;
}

static void needs_digits(const char *label, double got, double want, double least)
{
	if (digits(got, want) >= least)
		return;
	print_error("%s: got %.17g, certified %.17g: %.1f digits of %.1f\n", label, got, want,
		    digits(got, want), least);
	fail();
}

struct certified {
	const char *label;
	const char *file; /* NULL = made by the formula of the set */
	int degree;
	double c[RV_POLYNOMIAL_TERMS], u[RV_POLYNOMIAL_TERMS], residual_sd;
	double c_digits, u_digits; /* that must agree */
};

/* NIST Statistical Reference Datasets, linear regression: certified to 15 digits.  What must agree
 * is what the condition of each allows in double precision, less one digit. */
static const struct certified sets[] = {
    {"Norris",
     "nist_norris.csv",
     1,
     {-0.262323073774029, 1.00211681802045},
     {0.232818234301152, 0.429796848199937E-03},
     0.884796396144373,
     12.0,
     13.0},
    {"Pontius",
     "nist_pontius.csv",
     2,
     {0.673565789473684E-03, 0.732059160401003E-06, -0.316081871345029E-14},
     {0.107938612033077E-03, 0.157817399981659E-09, 0.486652849992036E-16},
     0.205177424076185E-03,
     11.5,
     12.0},
    {"Filip",
     "nist_filip.csv",
     10,
     {-1467.48961422980, -2772.17959193342, -2316.37108160893, -1127.97394098372, -354.478233703349,
      -75.1242017393757, -10.8753180355343, -1.06221498588947, -0.670191154593408E-01,
      -0.246781078275479E-02, -0.402962525080404E-04},
     {298.084530995537, 559.779865474950, 466.477572127796, 227.204274477751, 71.6478660875927,
      15.2897178747400, 2.23691159816033, 0.221624321934227, 0.142363763154724E-01,
      0.535617408889821E-03, 0.896632837373868E-05},
     0.334801051324544E-02,
     9.0,
     9.0},
};

static void check_certified(const struct certified *set, const struct rv_polynomial_point *points,
			    size_t count)
{
	struct rv_polynomial fit;
	struct rv_error error = {0};
	char label[64];

	assert_int_equal(rv_polynomial_fit(points, count, set->degree, &fit, &error), RV_OK);
	assert_int_equal(fit.dof, (int)count - set->degree - 1);
	double least_c = 16.0, least_u = 16.0;
	for (int i = 0; i <= set->degree; i++) {
		snprintf(label, sizeof label, "%s B%d", set->label, i);
		needs_digits(label, fit.c[i], set->c[i], set->c_digits);
		needs_digits(label, sqrt(fit.covariance[i][i]), set->u[i], set->u_digits);
		least_c = fmin(least_c, digits(fit.c[i], set->c[i]));
		least_u = fmin(least_u, digits(sqrt(fit.covariance[i][i]), set->u[i]));
	}
	snprintf(label, sizeof label, "%s residual sd", set->label);
	double sd = sqrt(fit.sum / fit.dof);
	needs_digits(label, sd, set->residual_sd, set->u_digits);
	print_message("%-9s coefficients %.1f digits, standard deviations %.1f, residual %.1f\n",
		      set->label, least_c, least_u, digits(sd, set->residual_sd));
}

static void certified_regressions_come_out_to_their_digits(void **state)
{
	struct rv_polynomial_point points[MOST];

	(void)state;
	for (size_t i = 0; i < sizeof sets / sizeof sets[0]; i++) {
		size_t count = read_table(sets[i].file, points);
		assert_true(count > 30);
		check_certified(&sets[i], points, count);
	}
}

/* Wampler 3 to 5: a polynomial with all coefficients 1 and disturbances of growing size that it is
 * blind to.  R. H. Wampler, JASA 65 (1970) 549; disturbances from the certified tables. */
static void disturbances_the_polynomial_is_blind_to_stay_out_of_it(void **state)
{
	static const double off[21] = {759,   -2048, 2048,  -2048, 2523,  -2048, 2048,
				       -2048, 1838,  -2048, 2048,  -2048, 1838,	 -2048,
				       2048,  -2048, 2523,  -2048, 2048,  -2048, 759};
	struct certified set = {.degree = 5,
				.c = {1, 1, 1, 1, 1, 1},
				.u = {2152.32624678170, 2363.55173469681, 779.343524331583,
				      101.475507550350, 5.64566512170752, 0.112324854679312},
				.residual_sd = 2360.14502379268,
				.u_digits = 13.0};
	static const struct {
		const char *label;
		double times, c_digits;
	} cases[] = {{"Wampler3", 1.0, 9.0}, {"Wampler4", 100.0, 8.5}, {"Wampler5", 10000.0, 6.5}};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_polynomial_point points[21];
		struct certified one = set;
		for (int k = 0; k < 21; k++) {
			double x = k, y = ((((x + 1) * x + 1) * x + 1) * x + 1) * x + 1;
			points[k] = (struct rv_polynomial_point){
			    .x = x, .y = y + cases[i].times * off[k], .u_y = UNKNOWN};
		}
		for (int k = 0; k < 6; k++)
			one.u[k] *= cases[i].times;
		one.residual_sd *= cases[i].times;
		one.label = cases[i].label;
		one.c_digits = cases[i].c_digits;
		check_certified(&one, points, 21);
	}
}

/* Wampler 1 and 2: exact polynomials; the standard deviations are certified as 0. */
static void an_exact_polynomial_comes_back(void **state)
{
	static const double second[6] = {1.0, 0.1, 0.01, 0.001, 0.0001, 0.00001};

	(void)state;
	for (int set = 0; set < 2; set++) {
		struct rv_polynomial_point points[21];
		struct rv_polynomial fit;
		double c[6];
		for (int k = 0; k < 6; k++)
			c[k] = set ? second[k] : 1.0;
		for (int k = 0; k < 21; k++)
			points[k] = (struct rv_polynomial_point){
			    .x = k, .y = rv_polynomial_at(c, 5, k), .u_y = UNKNOWN};
		assert_int_equal(rv_polynomial_fit(points, 21, 5, &fit, NULL), RV_OK);
		for (int k = 0; k < 6; k++) {
			needs_digits(set ? "Wampler2" : "Wampler1", fit.c[k], c[k], 9.5);
			assert_near("sd", sqrt(fit.covariance[k][k]), 0.0, 1e-8);
		}
	}
}

/* ISO/TS 28037:2010, example of 6.3 (page 13): equal known u(y). */
static void known_weights_give_the_standard_s_first_example(void **state)
{
	static const double y[6] = {3.3, 5.6, 7.1, 9.3, 10.7, 12.1};
	struct rv_polynomial_point points[6];
	struct rv_polynomial fit;

	(void)state;
	for (int i = 0; i < 6; i++)
		points[i] = (struct rv_polynomial_point){i + 1.0, y[i], 0.5, UNKNOWN};
	assert_int_equal(rv_polynomial_fit(points, 6, 1, &fit, NULL), RV_OK);
	assert_near("a, printed", fit.c[0], 1.867, 0.0005);
	assert_near("u(a), printed", sqrt(fit.covariance[0][0]), 0.465, 0.0005);
	assert_near("b, printed", fit.c[1], 1.757, 0.0005);
	assert_near("u(b), printed", sqrt(fit.covariance[1][1]), 0.120, 0.0005);
	assert_near("cov, printed", fit.covariance[0][1], -0.050, 0.0005);
	assert_near("chi2, printed", fit.sum, 1.665, 0.0005);
	/* Recomputed with more digits. */
	assert_near("a", fit.c[0], 1.8666666667, 1e-10);
	assert_near("u(a)", sqrt(fit.covariance[0][0]), 0.4654746681, 1e-10);
	assert_near("u(b)", sqrt(fit.covariance[1][1]), 0.1195228609, 1e-10);
	assert_near("chi2", fit.sum, 1.6647619048, 1e-10);
}

/* ISO/TS 28037:2010, example of 7.4 (page 21): u(x) and u(y). */
static void both_uncertain_give_the_standard_s_third_example(void **state)
{
	static const struct rv_polynomial_point points[6] = {
	    {1.2, 3.4, 0.2, 0.2}, {1.9, 4.4, 0.2, 0.2},	 {2.9, 7.2, 0.2, 0.2},
	    {4.0, 8.5, 0.4, 0.2}, {4.7, 10.8, 0.4, 0.2}, {5.9, 13.5, 0.4, 0.2},
	};
	struct rv_polynomial fit;

	(void)state;
	assert_int_equal(rv_polynomial_fit(points, 6, 1, &fit, NULL), RV_OK);
	assert_near("a, printed", fit.c[0], 0.5788, 0.00005);
	assert_near("u(a), printed", sqrt(fit.covariance[0][0]), 0.4764, 0.00005);
	assert_near("b, printed", fit.c[1], 2.159, 0.001);
	assert_near("u(b), printed", sqrt(fit.covariance[1][1]), 0.1355, 0.00005);
	assert_near("cov, printed", fit.covariance[0][1], -0.0577, 0.00005);
	assert_near("chi2, printed", fit.sum, 2.743, 0.0005);
	assert_near("a", fit.c[0], 0.5788221221, 1e-9);
	assert_near("u(a)", sqrt(fit.covariance[0][0]), 0.4764206296, 1e-9);
	assert_near("b", fit.c[1], 2.1596565674, 1e-9);
	assert_near("u(b)", sqrt(fit.covariance[1][1]), 0.1355479275, 1e-9);
	assert_near("cov", fit.covariance[0][1], -0.0577169391, 1e-9);
	assert_near("chi2", fit.sum, 2.7426767897, 1e-9);
}

/* Pearson's data with York's weights: York and others, Am. J. Phys. 72 (2004) 367, table II. */
static void pearson_s_data_with_york_s_weights_give_the_published_line(void **state)
{
	static const double rows[10][4] = {{0.0, 5.9, 1000.0, 1.0}, {0.9, 5.4, 1000.0, 1.8},
					   {1.8, 4.4, 500.0, 4.0},  {2.6, 4.6, 800.0, 8.0},
					   {3.3, 3.5, 200.0, 20.0}, {4.4, 3.7, 80.0, 20.0},
					   {5.2, 2.8, 60.0, 70.0},  {6.1, 2.8, 20.0, 70.0},
					   {6.5, 2.4, 1.8, 100.0},  {7.4, 1.5, 1.0, 500.0}};
	struct rv_polynomial_point points[10];
	struct rv_polynomial fit;

	(void)state;
	for (int i = 0; i < 10; i++)
		points[i] = (struct rv_polynomial_point){
		    rows[i][0], rows[i][1], 1.0 / sqrt(rows[i][3]), 1.0 / sqrt(rows[i][2])};
	assert_int_equal(rv_polynomial_fit(points, 10, 1, &fit, NULL), RV_OK);
	assert_near("a, Ogren and Norton 1992", fit.c[0], 5.47991022403, 1e-10);
	assert_near("b, Ogren and Norton 1992", fit.c[1], -0.48053340745, 1e-10);
	assert_near("sigma a, printed", sqrt(fit.covariance[0][0]), 0.2950, 0.00005);
	assert_near("sigma b, printed", sqrt(fit.covariance[1][1]), 0.0580, 0.00005);
	assert_near("S/(n-2), printed", fit.sum / fit.dof, 1.483, 0.0005);
	assert_near("sigma a", sqrt(fit.covariance[0][0]), 0.29497073549, 1e-9);
	assert_near("sigma b", sqrt(fit.covariance[1][1]), 0.05798500901, 1e-9);
	assert_near("cov", fit.covariance[0][1], -0.01647254466, 1e-9);
}

/* GUM (JCGM 100:2008) H.3: correction of a thermometer against t - 20. */
static void the_guide_s_thermometer_comes_out_as_printed(void **state)
{
	static const double t[11] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
				     24.513, 25.002, 25.503, 26.010, 26.511},
			    b[11] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
				     -0.156, -0.157, -0.159, -0.161, -0.160};
	struct rv_polynomial_point points[11];
	struct rv_polynomial fit;

	(void)state;
	for (int i = 0; i < 11; i++)
		points[i] = (struct rv_polynomial_point){t[i] - 20.0, b[i], UNKNOWN, UNKNOWN};
	assert_int_equal(rv_polynomial_fit(points, 11, 1, &fit, NULL), RV_OK);
	assert_near("y1, printed", fit.c[0], -0.1712, 0.00005);
	assert_near("u(y1), printed", sqrt(fit.covariance[0][0]), 0.0029, 0.00005);
	assert_near("y2, printed", fit.c[1], 0.00218, 0.000005);
	assert_near("u(y2), printed", sqrt(fit.covariance[1][1]), 0.00067, 0.000005);
	assert_near("s, printed", sqrt(fit.sum / fit.dof), 0.0035, 0.00005);
	/* With the correlation; without it u would be 0.0073. */
	assert_near("u(b(30)), printed", rv_polynomial_u(&fit, (double[]){1.0, 10.0}), 0.0041,
		    0.00005);
}

/* 4000 made-up calibrations with normal scatter, seed fixed: the 95 % interval of the curve in the
 * middle and at the end holds the truth 95 times in 100, whether the scatter is told (normal) or
 * found (Student).  The binomial spread of 4000 is 0.34 %: limits at three of them. */
static void the_stated_uncertainty_covers_the_truth(void **state)
{
	static const double truth[3] = {8388.0, 0.8, 1.5e-7}, scatter = 3.0;
	gsl_rng *dice = gsl_rng_alloc(gsl_rng_mt19937);
	int held[2][2] = {{0}}, runs = 4000;

	(void)state;
	gsl_rng_set(dice, 20260331);
	for (int run = 0; run < 2 * runs; run++) {
		bool is_told = run % 2;
		struct rv_polynomial_point points[12];
		struct rv_polynomial fit;
		for (int i = 0; i < 12; i++) {
			double x = 2500.0 * i;
			points[i] = (struct rv_polynomial_point){
			    .x = x,
			    .y = rv_polynomial_at(truth, 2, x) + gsl_ran_gaussian(dice, scatter),
			    .u_y = is_told ? scatter : UNKNOWN};
		}
		assert_int_equal(rv_polynomial_fit(points, 12, 2, &fit, NULL), RV_OK);
		double k =
		    is_told ? gsl_cdf_ugaussian_Pinv(0.975) : gsl_cdf_tdist_Pinv(0.975, fit.dof);
		for (int end = 0; end < 2; end++) {
			double x = end ? 27500.0 : 14000.0;
			double off = rv_polynomial_at(fit.c, 2, x) - rv_polynomial_at(truth, 2, x);
			double u = rv_polynomial_u(&fit, (double[]){1.0, x, x * x});
			held[is_told][end] += fabs(off) <= k * u;
		}
	}
	gsl_rng_free(dice);
	for (int told = 0; told < 2; told++)
		for (int end = 0; end < 2; end++)
			assert_near(told ? "told" : "found", (double)held[told][end] / runs, 0.95,
				    3.0 * 0.0034);
	print_message("coverage: found %.4f %.4f, told %.4f %.4f\n", held[0][0] / 4000.0,
		      held[0][1] / 4000.0, held[1][0] / 4000.0, held[1][1] / 4000.0);
}

static void counts_around_a_large_offset_lose_no_digits(void **state)
{
	struct rv_polynomial_point points[30];
	struct rv_polynomial fit;

	(void)state;
	for (int i = 0; i < 30; i++) {
		double x = 1e4 * i;
		points[i] = (struct rv_polynomial_point){
		    .x = x, .y = 8388608.0 + 12.5 * x - 1e-7 * x * x, .u_y = UNKNOWN};
	}
	assert_int_equal(rv_polynomial_fit(points, 30, 2, &fit, NULL), RV_OK);
	needs_digits("offset", fit.c[0], 8388608.0, 14.0);
	needs_digits("gain", fit.c[1], 12.5, 13.0);
	needs_digits("bend", fit.c[2], -1e-7, 11.0);
}

static void a_curve_through_too_few_abscissas_is_refused(void **state)
{
	struct rv_polynomial_point points[8];
	struct rv_polynomial fit = {.degree = -7};
	struct rv_error error = {0};

	(void)state;
	for (int i = 0; i < 8; i++)
		points[i] = (struct rv_polynomial_point){.x = i % 2, .y = i, .u_y = UNKNOWN};
	assert_int_equal(rv_polynomial_fit(points, 8, 2, &fit, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "degree_high");
	assert_int_equal(fit.degree, -7);
	assert_int_equal(rv_polynomial_fit(points, 2, 2, &fit, &error), RV_ERR_REFUSED);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(certified_regressions_come_out_to_their_digits),
	    cmocka_unit_test(disturbances_the_polynomial_is_blind_to_stay_out_of_it),
	    cmocka_unit_test(an_exact_polynomial_comes_back),
	    cmocka_unit_test(known_weights_give_the_standard_s_first_example),
	    cmocka_unit_test(both_uncertain_give_the_standard_s_third_example),
	    cmocka_unit_test(pearson_s_data_with_york_s_weights_give_the_published_line),
	    cmocka_unit_test(the_guide_s_thermometer_comes_out_as_printed),
	    cmocka_unit_test(the_stated_uncertainty_covers_the_truth),
	    cmocka_unit_test(counts_around_a_large_offset_lose_no_digits),
	    cmocka_unit_test(a_curve_through_too_few_abscissas_is_refused),
	};

	return cmocka_run_group_tests_name("polynomial", tests, NULL, NULL);
}
