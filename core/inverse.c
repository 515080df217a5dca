/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/inverse.h"

#include <math.h>

#include "core/polynomial.h"

enum { NODES = 64, STEPS = 4000, DEGREE = 3 };

enum rv_err rv_inverse_make(const struct rv_inverse_curve *curve, struct rv_conversion *inverse,
			    struct rv_error *error)
{
	struct rv_polynomial_point points[NODES];
	struct rv_polynomial fit;
	double middle = (curve->low_n + curve->high_n) / 2.0;
	double half = (curve->high_n - curve->low_n) / 2.0;

	if (curve->degree == 1) {
		*inverse = (struct rv_conversion){
		    .a = {-curve->c[0] / curve->c[1], 1.0 / curve->c[1]}, .degree = 1};
		return RV_OK;
	}
	for (int i = 0; i < NODES; i++) {
		double load_n = middle + half * cos(M_PI * (i + 0.5) / NODES);
		points[i] = (struct rv_polynomial_point){
		    .x = rv_polynomial_at(curve->c, curve->degree, load_n),
		    .y = load_n,
		    .u_y = (double)NAN,
		};
	}
	enum rv_err err = rv_polynomial_fit(points, NODES, DEGREE, &fit, error);
	if (err != RV_OK)
		return err;
	*inverse = (struct rv_conversion){.degree = DEGREE};
	for (int i = 0; i <= DEGREE; i++)
		inverse->a[i] = fit.c[i];
	return RV_OK;
}

double rv_inverse_error(const struct rv_inverse_curve *curve, const struct rv_conversion *inverse)
{
	double worst = 0.0;

	for (int i = 0; i <= STEPS; i++) {
		double load_n = curve->low_n + (curve->high_n - curve->low_n) * i / STEPS;
		double reading = rv_polynomial_at(curve->c, curve->degree, load_n);
		worst = fmax(worst, fabs(rv_station_convert(inverse, reading) - load_n));
	}
	return worst;
}

bool rv_inverse_is_possible(const struct rv_inverse_curve *curve)
{
	double at_low = rv_polynomial_slope(curve->c, curve->degree, curve->low_n);
	double at_high = rv_polynomial_slope(curve->c, curve->degree, curve->high_n);

	if (!(at_low * at_high > 0.0))
		return false;
	if (curve->degree < 3 || !(fabs(curve->c[3]) > 0.0))
		return true;
	/* The slope of a cubic is least or greatest where the second derivative is 0. */
	double bend_n = -curve->c[2] / (3.0 * curve->c[3]);
	return bend_n <= curve->low_n || bend_n >= curve->high_n ||
	       at_low * rv_polynomial_slope(curve->c, curve->degree, bend_n) > 0.0;
}
