/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/calibrate.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_sort_double.h>

#include "core/calibrate_note.h"
#include "core/calibrate_repeat.h"
#include "core/inverse.h"

/* Number of different loads; the lowest and highest into *calibrate. */
static enum rv_err measure_span(const struct rv_applied *applied, struct rv_calibrate *calibrate,
				struct rv_error *error)
{
	double *sorted = malloc((applied->count + 1) * sizeof *sorted);

	if (!sorted)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory");
	for (size_t i = 0; i < applied->count; i++)
		sorted[i] = applied->load[i].load_n;
	gsl_sort(sorted, 1, applied->count);
	calibrate->loads = applied->count > 0;
	for (size_t i = 1; i < applied->count; i++)
		calibrate->loads += sorted[i] > sorted[i - 1];
	if (applied->count) {
		calibrate->span_low_n = sorted[0];
		calibrate->span_high_n = sorted[applied->count - 1];
	}
	free(sorted);
	return RV_OK;
}

static enum rv_err check_loads(const struct rv_calibrate *calibrate, int degree,
			       struct rv_error *error)
{
	if (calibrate->loads < 3)
		return rv_err_refuse(error, "too_few",
				     "%d different load%s: a line needs at least 3, so that it can "
				     "be seen whether it holds; apply more, spread over the range",
				     calibrate->loads, calibrate->loads == 1 ? "" : "s");
	if (calibrate->loads < degree + 2)
		return rv_err_refuse(error, "degree_high",
				     "degree %d needs at least %d different loads, there are %d; "
				     "apply more or ask for a lower degree",
				     degree, degree + 2, calibrate->loads);
	return RV_OK;
}

static enum rv_err no_response(const struct rv_calibrate *calibrate, struct rv_error *error)
{
	return rv_err_refuse(
	    error, "no_response",
	    "the reading does not follow the load: over %g N it changes by no more "
	    "than it scatters; check the wiring, the columns and the cell",
	    calibrate->span_high_n - calibrate->span_low_n);
}

static enum rv_err choose(const struct rv_polynomial_point *points,
			  const struct rv_applied *applied, int degree,
			  struct rv_calibrate *calibrate, struct rv_error *error)
{
	int most =
	    calibrate->loads - 2 < RV_CALIBRATE_DEGREE ? calibrate->loads - 2 : RV_CALIBRATE_DEGREE;
	double range = rv_calibrate_result_range(applied);

	calibrate->is_chosen = degree == 0;
	if (!(range > 0.0))
		return no_response(calibrate, error);
	for (int d = degree ? degree : most; d >= 1; d--) {
		enum rv_err err =
		    rv_polynomial_fit(points, applied->count, d, &calibrate->curve, error);
		if (err != RV_OK)
			return err;
		if (degree ||
		    rv_calibrate_result_is_seen(&calibrate->curve, calibrate->span_high_n, range))
			return RV_OK;
	}
	return no_response(calibrate, error);
}

static enum rv_err turn_round(struct rv_calibrate *calibrate, struct rv_error *error)
{
	struct rv_inverse_curve curve = {.c = calibrate->curve.c,
					 .degree = calibrate->curve.degree,
					 .low_n = 0.0,
					 .high_n = calibrate->span_high_n};

	if (!rv_inverse_is_possible(&curve))
		return rv_err_refuse(
		    error, "not_monotone",
		    "the curve of degree %d turns round between 0 and %g N, so that "
		    "one reading would mean two loads; look for a wrong row, or ask "
		    "for a lower degree",
		    curve.degree, curve.high_n);
	curve.low_n = calibrate->span_low_n;
	if (!rv_calibrate_result_rises(&calibrate->curve, curve.low_n, curve.high_n))
		return no_response(calibrate, error);
	enum rv_err err = rv_inverse_make(&curve, &calibrate->inverse, error);
	if (err == RV_OK)
		calibrate->inverse_error_n = rv_inverse_error(&curve, &calibrate->inverse);
	return err;
}

static void measure_scatter(const struct rv_applied *applied, struct rv_calibrate *calibrate)
{
	double sum = calibrate->curve.sum;

	if (calibrate->curve.is_weighted) {
		sum = 0.0;
		for (size_t i = 0; i < applied->count; i++) {
			double off = applied->load[i].reading -
				     rv_calibrate_result_at(calibrate, applied->load[i].load_n);
			sum += off * off;
		}
	}
	calibrate->residual_sd = sqrt(sum / calibrate->curve.dof);
	calibrate->lower_limit_factor_n =
	    RV_CALIBRATE_LIMIT_FACTOR * calibrate->residual_sd / fabs(calibrate->curve.c[1]);
}

/* Relative standard uncertainty that the fit leaves in the gain. */
static double fit_u_ratio(const struct rv_calibrate *calibrate)
{
	const struct rv_polynomial *curve = &calibrate->curve;
	double worst = 0.0;

	for (int step = 1; step <= 10; step++) {
		double load_n = calibrate->span_high_n * step / 10.0;
		double weights[RV_POLYNOMIAL_TERMS] = {0.0};
		for (int i = 1; i <= curve->degree; i++)
			weights[i] = pow(load_n, i);
		double rise = fabs(rv_calibrate_result_at(calibrate, load_n) - curve->c[0]);
		worst = fmax(worst, rv_polynomial_u(curve, weights) / rise);
	}
	return worst;
}

static void measure_budget(struct rv_calibrate *calibrate)
{
	const struct rv_calibrate_repeat *repeat = &calibrate->repeat;
	double series = isnan(repeat->series_ratio) ? 0.0 : repeat->series_ratio;
	double reversal = isnan(repeat->reversal_n)
			      ? 0.0
			      : repeat->reversal_n / 2.0 / sqrt(3.0) / calibrate->span_high_n;

	double misfit = repeat->is_missed ? repeat->misfit_ratio / sqrt(3.0) : 0.0;

	calibrate->gain_u_ratio =
	    hypot(hypot(fit_u_ratio(calibrate), series), hypot(reversal, misfit));
	calibrate->zero_u_n =
	    hypot(sqrt(calibrate->curve.covariance[0][0]), calibrate->residual_sd) /
	    fabs(calibrate->curve.c[1]);
	calibrate->drift_u_n = repeat->zero_return_n / sqrt(3.0);
}

enum rv_err rv_calibrate_make(const struct rv_applied *applied, int degree,
			      struct rv_calibrate *calibrate, struct rv_error *error)
{
	struct rv_calibrate made = {0};
	struct rv_polynomial_point *points;
	enum rv_err err = measure_span(applied, &made, error);

	if (err == RV_OK)
		err = check_loads(&made, degree, error);
	if (err != RV_OK)
		return err;
	points = calloc(applied->count, sizeof *points);
	if (!points)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory");
	for (size_t i = 0; i < applied->count; i++)
		points[i] = (struct rv_polynomial_point){.x = applied->load[i].load_n,
							 .y = applied->load[i].reading,
							 .u_y = applied->load[i].u_reading,
							 .u_x = applied->load[i].u_load_n};
	err = choose(points, applied, degree, &made, error);
	if (err == RV_OK)
		err = turn_round(&made, error);
	if (err == RV_OK) {
		measure_scatter(applied, &made);
		err = rv_calibrate_repeat_measure(applied, &made, error);
	}
	if (err == RV_OK) {
		measure_budget(&made);
		err = rv_calibrate_note_all(applied, points, &made, error);
	}
	free(points);
	if (err == RV_OK)
		*calibrate = made;
	return err;
}
