/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/calibrate_text.h"

#include <math.h>
#include <stdio.h>

#include "tools/plan_notes.h"
#include "tools/table.h"

/* Rows printed before the rest is only counted. */
enum { POINTS_SHOWN = 200, INDENT = 2, WIDTH = 80 };

static const char *way_word(enum rv_applied_way way)
{
	return way == RV_APPLIED_UP ? "up" : way == RV_APPLIED_DOWN ? "down" : "-";
}

static void print_points(const struct rv_applied *applied, const struct rv_calibrate *calibrate)
{
	struct rv_table table;
	size_t shown = applied->count < POINTS_SHOWN ? applied->count : POINTS_SHOWN;

	rv_table_init(&table, ">Line|Series|Way|>Load, N|>Reading|>Curve|>Off, N|>Off, %");
	for (size_t i = 0; i < shown; i++) {
		const struct rv_applied_load *load = &applied->load[i];
		double off_n = rv_calibrate_result_off_n(calibrate, load);

		rv_table_add(&table, "%d", load->line);
		rv_table_add(&table, "%s", applied->has_series ? applied->name[load->series] : "-");
		rv_table_add(&table, "%s", way_word(load->way));
		rv_table_add(&table, "%.10g", load->load_n);
		rv_table_add(&table, "%.10g", load->reading);
		rv_table_add(&table, "%.8g", rv_calibrate_result_at(calibrate, load->load_n));
		rv_table_add(&table, "%.3g", off_n);
		if (load->load_n > 0.0)
			rv_table_add(&table, "%.3f", 100.0 * off_n / load->load_n);
		else
			rv_table_add(&table, "-");
	}
	rv_table_fit(&table, WIDTH - INDENT);
	rv_table_print(&table, INDENT, stdout);
	rv_table_free(&table);
	if (shown < applied->count)
		printf("  ... and %zu more rows\n", applied->count - shown);
}

static void print_curve(const struct rv_calibrate *calibrate)
{
	const struct rv_polynomial *curve = &calibrate->curve;
	struct rv_table table;

	printf("\nCurve: reading as a polynomial of load in N, degree %d\n(%s)\n", curve->degree,
	       calibrate->is_chosen ? "the highest whose last coefficient differs from 0"
				    : "as asked for");
	rv_table_init(&table, ">Power|>Coefficient|>Standard uncertainty");
	for (int i = 0; i <= curve->degree; i++) {
		rv_table_add(&table, "%d", i);
		rv_table_add(&table, "%.12g", curve->c[i]);
		rv_table_add(&table, "%.3g", sqrt(curve->covariance[i][i]));
	}
	rv_table_print(&table, 2, stdout);
	rv_table_free(&table);
	printf("\nWay back: load in N as a polynomial of reading, what a station applies\n");
	rv_table_init(&table, ">Power|>Coefficient");
	for (int i = 0; i <= calibrate->inverse.degree; i++) {
		rv_table_add(&table, "%d", i);
		rv_table_add(&table, "%.12g", calibrate->inverse.a[i]);
	}
	rv_table_print(&table, 2, stdout);
	rv_table_free(&table);
}

/* Decimals for four digits or so. */
static int places(double value_n)
{
	return value_n >= 1000.0 ? 0 : value_n >= 100.0 ? 1 : value_n >= 1.0 ? 2 : 4;
}

/* A row of "what: value N"; NaN is said in words. */
static void print_force(const char *what, double value_n, const char *meaning)
{
	if (isnan(value_n))
		printf("  %-22s not shown by these points\n", what);
	else if (value_n < 0.001)
		printf("  %-22s below 0.001 N%s%s\n", what, meaning[0] ? "   " : "", meaning);
	else
		printf("  %-22s %.*f N%s%s\n", what, places(value_n), value_n,
		       meaning[0] ? "   " : "", meaning);
}

static void print_quality(const struct rv_calibrate *calibrate)
{
	const struct rv_polynomial *curve = &calibrate->curve;
	const struct rv_calibrate_repeat *repeat = &calibrate->repeat;
	double slope = fabs(curve->c[1]);

	printf("\nHow well it holds\n");
	printf("  %-22s %.10g N to %.10g N\n", "Span", calibrate->span_low_n,
	       calibrate->span_high_n);
	printf("  %-22s %.4g in the reading, %.4g N   %d degrees of freedom\n", "Residual sd",
	       calibrate->residual_sd, calibrate->residual_sd / slope, curve->dof);
	if (curve->is_weighted)
		printf("  %-22s %.4g on %d degrees of freedom; about as many are expected\n",
		       "Chi squared", curve->sum, curve->dof);
	print_force("Lower limit factor", calibrate->lower_limit_factor_n,
		    "2.4 times the residual sd");
	print_force("Class A begins at", RV_CALIBRATE_CLASS_A * calibrate->lower_limit_factor_n,
		    "400 of them: read to 0.25 % from here on");
	print_force("Way back misses by", calibrate->inverse_error_n, "at most, over the span");
	if (repeat->same_dof)
		printf("  %-22s %.4g in the reading, %.4g N   %d degrees of freedom\n",
		       "Repeats at one load", repeat->same_sd, repeat->same_sd / slope,
		       repeat->same_dof);
	print_force("Up against down", repeat->reversal_n, "at most");
	if (isnan(repeat->series_ratio))
		printf("  %-22s not shown by these points\n", "Series against series");
	else
		printf("  %-22s %.3g %% of the gain, standard deviation\n", "Series against series",
		       100.0 * repeat->series_ratio);
	print_force("Zero after a series", repeat->zero_return_n, "at most from where it was");
	printf("\nFor the budget of an estimate, standard uncertainties\n");
	printf("  %-22s %.3g %%\n", "Gain", 100.0 * calibrate->gain_u_ratio);
	print_force("Zero", calibrate->zero_u_n, "");
	print_force("Drift between zeros", calibrate->drift_u_n, "");
	printf("  What all loads share (the gain of the weights or of the reference cell) is\n"
	       "  not in it: add it to the gain in the file, as root of the sum of squares.\n");
}

void rv_calibrate_text_print(const struct rv_applied *applied, const struct rv_calibrate *calibrate)
{
	printf("%zu points, %d different loads\n\n", applied->count, calibrate->loads);
	print_points(applied, calibrate);
	print_curve(calibrate);
	print_quality(calibrate);
	if (calibrate->notes)
		printf("\n");
	for (int i = 0; i < calibrate->notes; i++)
		rv_plan_notes_wrap("Caution: ", calibrate->note[i].text, INDENT, stdout);
	printf("\nIt holds for this cell with these instruments, as it was set up; it says\n"
	       "nothing of what the cell may carry.\n");
}
