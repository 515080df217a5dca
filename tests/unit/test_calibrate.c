/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "core/calibrate.h"
#include "core/calibrate_write.h"
#include "core/calibration_read.h"
#include "core/inverse.h"

#define UNKNOWN ((double)NAN)

enum { MOST = 120 };

struct table {
	struct rv_applied applied;
	struct rv_applied_load load[MOST];
};

static void add(struct table *table, double load_n, double reading)
{
	assert_true(table->applied.count < MOST);
	table->applied.series = 1;
	table->load[table->applied.count++] = (struct rv_applied_load){
	    .load_n = load_n, .reading = reading, .u_reading = UNKNOWN, .u_load_n = UNKNOWN};
}

/* P. Pontius, NIST: 40 readings of a load cell, two series. */
static struct table load_cell(void)
{
	struct table table = {0};
	char path[512], line[200];
	double reading, load_n;

	snprintf(path, sizeof path, "%s/nist_pontius.csv", getenv("RV_TESTS_DATA"));
	FILE *file = fopen(path, "r");
	assert_non_null(file);
	while (fgets(line, sizeof line, file))
		if (sscanf(line, "%lf,%lf", &reading, &load_n) == 2)
			add(&table, load_n, reading);
	(void)fclose(file);
	assert_int_equal(table.applied.count, 40);
	return table;
}

static bool is_noted(const struct rv_calibrate *calibrate, const char *code)
{
	for (int i = 0; i < calibrate->notes; i++)
		if (strcmp(calibrate->note[i].code, code) == 0)
			return true;
	return false;
}

static struct rv_calibrate made(struct table *table, int degree)
{
	struct rv_calibrate calibrate;
	struct rv_error error = {0};

	table->applied.load = table->load; /* it may have been copied */
	if (rv_calibrate_make(&table->applied, degree, &calibrate, &error) != RV_OK) {
		print_error("%s: %s\n", error.tag, error.text);
		fail();
	}
	return calibrate;
}

/* NIST/SEMATECH e-Handbook of Statistical Methods, 4.6.1 Load Cell Calibration: the straight line
 * is fitted, found wrong by its lack of fit, and replaced by the quadratic. */
static void the_handbook_s_load_cell_is_judged_as_printed(void **state)
{
	struct table table = load_cell();
	struct rv_calibrate line = made(&table, 1), curve = made(&table, 0);

	(void)state;
	/* Its last digit is printed one too high. */
	assert_near("line B0", line.curve.c[0], 0.614969E-02, 1e-8);
	assert_near("line B1", line.curve.c[1], 0.722103E-06, 0.5e-12);
	assert_near("line sd B0", sqrt(line.curve.covariance[0][0]), 0.7132E-03, 0.5e-7);
	assert_near("line sd B1", sqrt(line.curve.covariance[1][1]), 0.3969E-09, 0.5e-13);
	assert_near("line residual sd", line.residual_sd, 0.0021712694, 5e-9);
	assert_near("line lack of fit", line.repeat.misfit_f, 214.7464, 0.003);
	assert_int_equal(line.repeat.misfit_dof, 18);
	assert_int_equal(line.repeat.same_dof, 20);
	assert_true(is_noted(&line, "curve_misses"));
	/* Its misses enter the gain: by hand, the two readings at 300 kN lie 4031 N off in the
	 * mean. */
	double off_n = ((0.21956 + 0.22018) / 2.0 - line.curve.c[0]) / line.curve.c[1] - 300e3;
	assert_near("line misses", line.repeat.misfit_ratio, fabs(off_n) / 300e3, 1e-12);
	assert_true(line.gain_u_ratio > line.repeat.misfit_ratio / sqrt(3.0));
	assert_true(is_noted(&line, "degree_low"));

	assert_int_equal(curve.curve.degree, 2);
	assert_true(curve.is_chosen);
	assert_false(is_noted(&curve, "curve_misses"));
	assert_near("curve misses", curve.repeat.misfit_ratio, UNKNOWN, 0.0);
	/* From memory, not re-read: 0.8107 on 17 and 20, and a new reading of 1.239722 ->
	 * 1,705,106. */
	assert_near("curve lack of fit", curve.repeat.misfit_f, 0.8107, 0.00005);
	double load_n = rv_station_convert(&curve.inverse, 1.239722);
	assert_near("load of a new reading", load_n, 1705106.0, 0.5 + curve.inverse_error_n);
}

/* ASTM E74's lower limit factor, 2.4 s, on the same data: 4.924258177828431e-4 deflections over B1
 * make 672.6585 (computed apart in exact arithmetic). */
static void the_lower_limit_factor_is_2_4_residual_sd(void **state)
{
	struct table table = load_cell();
	struct rv_calibrate curve = made(&table, 2);

	(void)state;
	assert_near("s", curve.residual_sd, 2.051774240761846e-4, 1e-16);
	assert_near("factor", curve.lower_limit_factor_n, 672.6585, 0.00005);
}

/* ISO/TS 28037:2010, example of 6.3, used backwards: a reading of 10.5 is a load of 4.91327913279.
 */
static struct table standard_s_example(void)
{
	static const double y[6] = {3.3, 5.6, 7.1, 9.3, 10.7, 12.1};
	struct table table = {0};

	for (int i = 0; i < 6; i++) {
		add(&table, i + 1.0, y[i]);
		table.load[i].u_reading = 0.5;
	}
	table.applied.has_u_reading = true;
	return table;
}

static void a_known_uncertainty_is_not_rescaled_and_the_way_back_is_the_standard_s(void **state)
{
	struct table table = standard_s_example();
	struct rv_calibrate line = made(&table, 1);

	(void)state;
	assert_near("u(a)", sqrt(line.curve.covariance[0][0]), 0.4654746681, 1e-10);
	assert_near("u(b)", sqrt(line.curve.covariance[1][1]), 0.1195228609, 1e-10);
	assert_near("back", rv_station_convert(&line.inverse, 10.5), 4.91327913279, 1e-10);
	assert_false(is_noted(&line, "scatter_above_stated"));
	for (int i = 0; i < 6; i++)
		table.load[i].u_reading = 0.1;
	line = made(&table, 1);
	assert_near("u(b) of a fifth", sqrt(line.curve.covariance[1][1]), 0.1195228609 / 5.0,
		    1e-10);
	assert_true(is_noted(&line, "scatter_above_stated"));
}

/* A fixed disturbance of both signs that no low power follows. */
static double disturbance(int i)
{
	static const double of[7] = {0.9, -1.1, 0.3, 1.2, -0.8, -1.0, 0.5};

	return of[(i * 5 + i / 7) % 7];
}

static void the_degree_is_the_highest_that_shows(void **state)
{
	static const struct {
		const char *label;
		double c[4];
		double scatter;
		int degree;
	} cases[] = {
	    {"a line", {8388, 12.5, 0, 0}, 3.0, 1},
	    {"an exact line", {8388, 12.5, 0, 0}, 0.0, 1},
	    {"falling", {8388, -12.5, 0, 0}, 3.0, 1},
	    {"bent", {8388, 12.5, 2e-5, 0}, 3.0, 2},
	    {"bent twice about its middle", {8388, 12.5, -9e-6, 3e-10}, 3.0, 3},
	    {"bent, exactly", {8388, 12.5, 2e-5, 0}, 0.0, 2},
	};

	(void)state;
	for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
		struct table table = {0};
		for (int i = 0; i <= 20; i++) {
			double load_n = 500.0 * i;
			add(&table, load_n,
			    rv_polynomial_at(cases[k].c, 3, load_n) +
				cases[k].scatter * disturbance(i));
		}
		struct rv_calibrate curve = made(&table, 0);
		if (curve.curve.degree != cases[k].degree)
			print_error("%s: degree %d\n", cases[k].label, curve.curve.degree);
		assert_int_equal(curve.curve.degree, cases[k].degree);
	}
}

static void the_way_back_returns_to_the_load(void **state)
{
	static const struct {
		const char *label;
		double c[4];
		int degree;
		double most_n;
	} cases[] = {
	    {"line", {8388608, 12.5}, 1, 1e-5},
	    {"falling line", {2.0, -2e-5}, 1, 1e-9},
	    {"half a per cent of bend", {0.0, 2e-5, 2e-12}, 2, 0.01},
	    {"a cubic", {100.0, 50.0, 1e-5, -5e-10}, 3, 2.0},
	};

	(void)state;
	for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
		struct rv_inverse_curve curve = {cases[k].c, cases[k].degree, 0.0, 50e3};
		struct rv_conversion back;
		assert_true(rv_inverse_is_possible(&curve));
		assert_int_equal(rv_inverse_make(&curve, &back, NULL), RV_OK);
		double error_n = rv_inverse_error(&curve, &back);
		if (!(error_n <= cases[k].most_n))
			print_error("%s: %g N\n", cases[k].label, error_n);
		assert_true(error_n <= cases[k].most_n);
		for (double load_n = 0.0; load_n <= 50e3; load_n += 777.0) {
			double reading = rv_polynomial_at(cases[k].c, cases[k].degree, load_n);
			assert_near(cases[k].label, rv_station_convert(&back, reading), load_n,
				    error_n * 1.01 + 1e-9);
		}
	}
}

/* Two series up and down, by hand: gain 1 and 1.02, 6 N less on the way up at 500 N, and a zero
 * that stands 3 N higher afterwards. */
static void what_repeats_badly_is_measured(void **state)
{
	struct table table = {0};

	(void)state;
	for (int s = 0; s < 2; s++) {
		double gain = s ? 1.02 : 1.0;
		for (int i = 0; i <= 20; i++) {
			double load_n = i <= 10 ? 100.0 * i : 100.0 * (20 - i);
			bool is_up = i <= 10;
			add(&table, load_n, gain * load_n);
			struct rv_applied_load *load = &table.load[table.applied.count - 1];
			load->series = s;
			load->way = is_up ? RV_APPLIED_UP : RV_APPLIED_DOWN;
			load->reading -= s == 0 && i == 5 ? 6.0 : 0.0;
			load->reading += s == 1 && i == 20 ? 3.0 : 0.0;
		}
	}
	table.applied.series = 2;
	table.applied.has_series = table.applied.has_way = true;
	struct rv_calibrate line = made(&table, 1);
	assert_near("up against down", line.repeat.reversal_n, 6.0, 0.1);
	assert_near("at", line.repeat.reversal_load_n, 500.0, 1e-9);
	assert_near("zero", line.repeat.zero_return_n, 3.0, 0.05);
	/* sd of two values 2 % apart: 2 % / sqrt(2). */
	assert_near("series", line.repeat.series_ratio, 0.02 / sqrt(2.0), 0.0008);
	assert_near("drift", line.drift_u_n, line.repeat.zero_return_n / sqrt(3.0), 1e-12);
	assert_true(line.gain_u_ratio > 0.0130);
	assert_true(is_noted(&line, "reversal"));
	assert_true(is_noted(&line, "zero_return"));
	assert_false(is_noted(&line, "one_way"));
	assert_false(is_noted(&line, "zero_once"));
	/* With one series nothing of the kind is known, and that is said. */
	table.applied.count = 11;
	table.applied.series = 1;
	table.applied.has_way = false;
	line = made(&table, 1);
	assert_near("up against down", line.repeat.reversal_n, UNKNOWN, 0.0);
	assert_near("series", line.repeat.series_ratio, UNKNOWN, 0.0);
	assert_near("zero", line.repeat.zero_return_n, UNKNOWN, 0.0);
	assert_true(is_noted(&line, "one_way"));
	assert_true(is_noted(&line, "zero_once"));
}

static void a_reading_written_wrongly_is_named_by_its_line(void **state)
{
	struct table table = {0};

	(void)state;
	for (int i = 0; i <= 20; i++) {
		add(&table, 500.0 * i, 6250.0 * i + disturbance(i));
		table.load[i].line = i + 2;
	}
	struct rv_calibrate line = made(&table, 1);
	assert_false(is_noted(&line, "outlier"));
	table.load[9].reading += 20.0;
	line = made(&table, 1);
	assert_true(is_noted(&line, "outlier"));
	for (int i = 0; i < line.notes; i++)
		if (strcmp(line.note[i].code, "outlier") == 0)
			assert_non_null(strstr(line.note[i].text, "Line 11 "));
}

static void the_file_written_reads_back_bit_for_bit(void **state)
{
	static const char sha256[] =
	    "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
	struct table cell = load_cell(), example = standard_s_example();
	struct rv_calibrate made_of[3] = {made(&cell, 2), made(&example, 1), made(&cell, 3)};

	(void)state;
	made_of[1].drift_u_n = 12.5;
	for (int k = 0; k < 3; k++) {
		const struct rv_calibrate *one = &made_of[k];
		struct rv_calibrate_paper paper = {"the \"pier\" cell \\ 2026", "2026-03-31",
						   sha256};
		struct rv_calibration_file file;
		struct rv_text text = {0};
		struct rv_error error = {0};
		rv_calibrate_write_yaml(one, &paper, &text);
		enum rv_err err = rv_calibration_read(text.data, text.len, UNKNOWN, &file, &error);
		if (err != RV_OK)
			print_error("line %d: %s\n%s", error.line, error.text, text.data);
		assert_int_equal(err, RV_OK);
		assert_string_equal(file.calibration.name, paper.name);
		assert_string_equal(file.calibration.sha256, sha256);
		assert_string_equal(file.made, "2026-03-31");
		assert_int_equal(file.degree, one->curve.degree);
		assert_int_equal(file.calibration.conversion.degree, one->inverse.degree);
		assert_memory_equal(file.coefficients, one->curve.c,
				    sizeof(double) * (size_t)(file.degree + 1));
		assert_memory_equal(file.calibration.conversion.a, one->inverse.a,
				    sizeof one->inverse.a);
		assert_memory_equal(&file.span_low_n, &one->span_low_n, sizeof(double));
		assert_memory_equal(&file.span_high_n, &one->span_high_n, sizeof(double));
		assert_near("gain", file.calibration.gain.ratio, one->gain_u_ratio,
			    1e-5 * one->gain_u_ratio);
		assert_near("zero", file.calibration.zero.value, one->zero_u_n,
			    1e-5 * one->zero_u_n);
		assert_near("drift", file.calibration.drift.value, one->drift_u_n, 1e-4);
		/* What is left of the way back can be measured again from the file alone. */
		struct rv_inverse_curve curve = {file.coefficients, file.degree, file.span_low_n,
						 file.span_high_n};
		assert_near("inverse error", rv_inverse_error(&curve, &file.calibration.conversion),
			    one->inverse_error_n, 0.0);
		rv_text_free(&text);
	}
}

static void needs_refusal(const char *label, struct table *table, int degree, const char *tag)
{
	struct rv_calibrate calibrate = {.loads = -7};
	struct rv_error error = {0};

	table->applied.load = table->load;
	enum rv_err err = rv_calibrate_make(&table->applied, degree, &calibrate, &error);

	if (err != RV_ERR_REFUSED || strcmp(error.tag, tag) != 0)
		print_error("%s: %d %s %s\n", label, (int)err, error.tag, error.text);
	assert_int_equal(err, RV_ERR_REFUSED);
	assert_string_equal(error.tag, tag);
	assert_int_equal(calibrate.loads, -7);
}

static void what_cannot_be_a_calibration_is_refused(void **state)
{
	struct table none = {0}, two = {0}, flat = {0}, round = {0}, four = {0};

	(void)state;
	needs_refusal("no row", &none, 0, "too_few");
	for (int i = 0; i < 20; i++)
		add(&two, i % 2 ? 1000.0 : 0.0, i % 2 ? 10.0 + disturbance(i) : 0.0);
	needs_refusal("many readings at two loads", &two, 0, "too_few");
	for (int i = 0; i < 20; i++)
		add(&flat, 100.0 * i, 7.0 + disturbance(i));
	needs_refusal("no response", &flat, 0, "no_response");
	flat.applied.count = 0;
	for (int i = 0; i < 20; i++)
		add(&flat, 100.0 * i, 7.0);
	needs_refusal("a frozen reading", &flat, 0, "no_response");
	needs_refusal("a frozen reading, degree given", &flat, 1, "no_response");
	for (int i = 0; i < 20; i++)
		flat.load[i].reading += disturbance(i) + 1e-3 * i;
	needs_refusal("no response, degree given", &flat, 1, "no_response");
	for (int i = 0; i < 20; i++)
		add(&round, 100.0 * i, (i - 10.0) * (i - 10.0) + 0.01 * disturbance(i));
	needs_refusal("down and up", &round, 0, "not_monotone");
	for (int i = 0; i < 4; i++)
		add(&four, 100.0 * i, i + 0.01 * disturbance(i));
	needs_refusal("a cubic through four", &four, 3, "degree_high");
	assert_int_equal(made(&four, 2).curve.dof, 1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(the_handbook_s_load_cell_is_judged_as_printed),
	    cmocka_unit_test(the_lower_limit_factor_is_2_4_residual_sd),
	    cmocka_unit_test(
		a_known_uncertainty_is_not_rescaled_and_the_way_back_is_the_standard_s),
	    cmocka_unit_test(the_degree_is_the_highest_that_shows),
	    cmocka_unit_test(the_way_back_returns_to_the_load),
	    cmocka_unit_test(what_repeats_badly_is_measured),
	    cmocka_unit_test(a_reading_written_wrongly_is_named_by_its_line),
	    cmocka_unit_test(the_file_written_reads_back_bit_for_bit),
	    cmocka_unit_test(what_cannot_be_a_calibration_is_refused),
	};

	return cmocka_run_group_tests_name("calibrate", tests, NULL, NULL);
}
