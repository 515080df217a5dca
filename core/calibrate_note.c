/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/calibrate_note.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

enum { FEW_LOADS = 8 };

static const double reversal_most_ratio = 0.005, series_most_ratio = 0.004,
		    zero_return_most_ratio = 0.001, surely = 0.95;

static void add(struct rv_calibrate *calibrate, const char *code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void add(struct rv_calibrate *calibrate, const char *code, const char *format, ...)
{
	va_list args;

	if (calibrate->notes == RV_CALIBRATE_NOTES)
		return;
	struct rv_calibrate_note *note = &calibrate->note[calibrate->notes++];
	snprintf(note->code, sizeof note->code, "%s", code);
	va_start(args, format);
	vsnprintf(note->text, sizeof note->text, format, args);
	va_end(args);
}

static void note_loads(const struct rv_applied *applied, struct rv_calibrate *calibrate)
{
	int above = calibrate->loads - (calibrate->span_low_n > 0.0 ? 0 : 1);

	if (above < FEW_LOADS)
		add(calibrate, "few_loads",
		    "%d different load%s above zero; a full calibration has at least %d, spread "
		    "over the range.",
		    above, above == 1 ? "" : "s", FEW_LOADS);
	if (calibrate->span_low_n > 0.0)
		add(calibrate, "span_above_zero",
		    "No reading at zero load: below %g N the curve is continued, not measured.",
		    calibrate->span_low_n);
	if (!applied->has_way)
		add(calibrate, "one_way",
		    "There is no column direction: what the cell reads on the way down is not "
		    "known.");
	if (isnan(calibrate->repeat.zero_return_n))
		add(calibrate, "zero_once",
		    "No series begins and ends at zero load: the drift of the zero is not known.");
}

static enum rv_err note_degree(const struct rv_applied *applied,
			       const struct rv_polynomial_point *points,
			       struct rv_calibrate *calibrate, struct rv_error *error)
{
	int degree = calibrate->curve.degree;
	double high_n = calibrate->span_high_n, range = rv_calibrate_result_range(applied);
	struct rv_polynomial more;

	if (calibrate->is_chosen)
		return RV_OK;
	if (!rv_calibrate_result_is_seen(&calibrate->curve, high_n, range))
		add(calibrate, "term_weak",
		    "The coefficient of power %d does not differ from 0 by more than it scatters: "
		    "a lower degree would do.",
		    degree);
	for (int d = degree + 1; d <= RV_CALIBRATE_DEGREE && calibrate->loads >= d + 2; d++) {
		enum rv_err err = rv_polynomial_fit(points, applied->count, d, &more, error);
		if (err != RV_OK)
			return err;
		if (!rv_calibrate_result_is_seen(&more, high_n, range))
			continue;
		add(calibrate, "degree_low",
		    "The coefficient of power %d differs from 0: degree %d would follow the "
		    "readings better.",
		    d, d);
		break;
	}
	return RV_OK;
}

static void note_fit(struct rv_calibrate *calibrate)
{
	const struct rv_polynomial *curve = &calibrate->curve;
	const struct rv_calibrate_repeat *repeat = &calibrate->repeat;

	if (curve->is_weighted && curve->sum > gsl_cdf_chisq_Pinv(surely, curve->dof))
		add(calibrate, "scatter_above_stated",
		    "The readings scatter more than u_reading says (chi squared %.3g on %d degrees "
		    "of freedom): the stated uncertainties are too small, or the curve misses.",
		    curve->sum, curve->dof);
	if (repeat->is_missed)
		add(calibrate, "curve_misses",
		    "The readings at one load agree better than the curve fits them (F = %.3g on "
		    "%d and %d): what is left is not scatter.",
		    repeat->misfit_f, repeat->misfit_dof, repeat->same_dof);
	if (calibrate->inverse_error_n > calibrate->lower_limit_factor_n &&
	    calibrate->inverse_error_n > 1e-6 * calibrate->span_high_n)
		add(calibrate, "inverse_error",
		    "The way back misses the curve by up to %.3g N, more than the readings "
		    "scatter: the cell bends strongly.",
		    calibrate->inverse_error_n);
	double class_a_n = RV_CALIBRATE_CLASS_A * calibrate->lower_limit_factor_n;
	if (class_a_n > calibrate->span_low_n && class_a_n > 0.1 * calibrate->span_high_n)
		add(calibrate, "lower_limit_high",
		    "Only forces above %.10g N (400 lower limit factors) are read to 0.25 %%; the "
		    "highest load was %.10g N.",
		    round(class_a_n), calibrate->span_high_n);
}

/* The worst point against what may be expected of the worst of so many (Bonferroni). */
static void note_outlier(const struct rv_applied *applied, struct rv_calibrate *calibrate)
{
	const struct rv_polynomial *curve = &calibrate->curve;
	double worst = 0.0, chance = (1.0 - surely) / 2.0 / (double)applied->count;
	size_t at = 0;

	if (curve->is_weighted || curve->dof < 2 || !(curve->sum > 0.0))
		return;
	double variance = curve->sum / curve->dof;
	for (size_t i = 0; i < applied->count; i++) {
		const struct rv_applied_load *load = &applied->load[i];
		double powers[RV_POLYNOMIAL_TERMS];
		for (int k = 0; k <= curve->degree; k++)
			powers[k] = pow(load->load_n, k);
		double u = rv_polynomial_u(curve, powers);
		double off = load->reading - rv_calibrate_result_at(calibrate, load->load_n);
		double share = off * off / (variance - u * u);
		if (variance > u * u && share > worst) {
			worst = share;
			at = i;
		}
	}
	/* The same against the scatter without it (externally studentised). */
	double rest = (curve->dof - worst) / (curve->dof - 1);
	double t = rest > 0.0 ? sqrt(worst / rest) : (double)INFINITY;
	if (t > gsl_cdf_tdist_Qinv(chance, curve->dof - 1))
		add(calibrate, "outlier",
		    "Line %d (%g N) lies %.3g N beside the curve, further than scatter explains: "
		    "look whether it was read or written wrongly.",
		    applied->load[at].line, applied->load[at].load_n,
		    rv_calibrate_result_off_n(calibrate, &applied->load[at]));
}

static void note_repeat(struct rv_calibrate *calibrate)
{
	const struct rv_calibrate_repeat *repeat = &calibrate->repeat;
	double high_n = calibrate->span_high_n;

	if (repeat->reversal_n > reversal_most_ratio * high_n)
		add(calibrate, "reversal",
		    "Up and down differ by %.3g N at %g N, %.2g %% of the highest load.",
		    repeat->reversal_n, repeat->reversal_load_n,
		    100.0 * repeat->reversal_n / high_n);
	if (repeat->series_ratio > series_most_ratio)
		add(calibrate, "series_differ",
		    "The gain differs from series to series by %.2g %% (standard deviation): how "
		    "the cell is set up matters.",
		    100.0 * repeat->series_ratio);
	if (repeat->zero_return_n > zero_return_most_ratio * high_n)
		add(calibrate, "zero_return",
		    "After a series the zero stands %.3g N from where it was, %.2g %% of the "
		    "highest load.",
		    repeat->zero_return_n, 100.0 * repeat->zero_return_n / high_n);
}

enum rv_err rv_calibrate_note_all(const struct rv_applied *applied,
				  const struct rv_polynomial_point *points,
				  struct rv_calibrate *calibrate, struct rv_error *error)
{
	enum rv_err err = note_degree(applied, points, calibrate, error);

	if (err != RV_OK)
		return err;
	note_fit(calibrate);
	note_outlier(applied, calibrate);
	note_repeat(calibrate);
	note_loads(applied, calibrate);
	return RV_OK;
}
