/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/calibrate_result.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

/* ASTM E74's 97.5 % of F, as a two-sided t. */
static const double significant = 0.9875;
/* Of the readings' range: below this a term is rounding. */
static const double unseen_ratio = 1e-8;

double rv_calibrate_result_at(const struct rv_calibrate *calibrate, double load_n)
{
	return rv_polynomial_at(calibrate->curve.c, calibrate->curve.degree, load_n);
}

double rv_calibrate_result_off_n(const struct rv_calibrate *calibrate,
				 const struct rv_applied_load *load)
{
	return (load->reading - rv_calibrate_result_at(calibrate, load->load_n)) /
	       rv_polynomial_slope(calibrate->curve.c, calibrate->curve.degree, load->load_n);
}

static double quantile(const struct rv_polynomial *curve)
{
	return curve->is_weighted ? gsl_cdf_ugaussian_Pinv(significant)
				  : gsl_cdf_tdist_Pinv(significant, curve->dof);
}

bool rv_calibrate_result_is_seen(const struct rv_polynomial *curve, double high_n, double range)
{
	int last = curve->degree;
	double c = fabs(curve->c[last]);

	return c > quantile(curve) * sqrt(curve->covariance[last][last]) &&
	       c * pow(high_n, last) > unseen_ratio * range;
}

double rv_calibrate_result_range(const struct rv_applied *applied)
{
	double low = applied->load[0].reading, high = low;

	for (size_t i = 1; i < applied->count; i++) {
		low = fmin(low, applied->load[i].reading);
		high = fmax(high, applied->load[i].reading);
	}
	return high - low;
}

bool rv_calibrate_result_rises(const struct rv_polynomial *curve, double low_n, double high_n)
{
	double weights[RV_POLYNOMIAL_TERMS], rise = 0.0;

	for (int i = 0; i <= curve->degree; i++) {
		weights[i] = pow(high_n, i) - pow(low_n, i);
		rise += weights[i] * curve->c[i];
	}
	return fabs(rise) > quantile(curve) * rv_polynomial_u(curve, weights);
}
