/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A polynomial y = c0 + c1 x + ... fitted to points by least squares, by GSL's orthogonal factors on
 * abscissas brought to -1 .. 1 and one step of refinement with residuals in long double, so that raw
 * counts and newtons lose no digits; coefficients and covariance are then those of plain powers of x.
 *
 * Uncertainties of the points are standard ones, independent from point to point:
 *   none known: all points weigh the same and the covariance is scaled by the residuals;
 *   u_y known: weights 1/u_y^2, the covariance follows from them alone (no rescaling);
 *   u_x as well: both are minimised, sum ((x - X)/u_x)^2 + ((y - p(X))/u_y)^2 over the coefficients
 *   and the true abscissas X, by Gauss-Newton steps at the adjusted X.  For the line these are the
 *   equations of York, Evensen, Lopez Martinez, De Basabe Delgado, Am. J. Phys. 72 (2004) 367, and
 *   of ISO/TS 28037:2010 clause 7 (both from memory, checked by their published examples).
 */
#ifndef RV_CORE_POLYNOMIAL_H
#define RV_CORE_POLYNOMIAL_H

#include <stddef.h>

#include "core/err.h"

enum { RV_POLYNOMIAL_TERMS = 11 };

struct rv_polynomial_point {
	double x, y;
	double u_y; /* NaN = not known; known for all or none */
	double u_x; /* NaN or 0 = none; needs u_y */
};

struct rv_polynomial {
	int degree;
	double c[RV_POLYNOMIAL_TERMS]; /* lowest power first */
	double covariance[RV_POLYNOMIAL_TERMS][RV_POLYNOMIAL_TERMS];
	double sum; /* of squares: of residuals, or with known weights chi squared */
	int dof;    /* points less terms */
	bool is_weighted;
};

/* degree 0 .. RV_POLYNOMIAL_TERMS - 1.  RV_ERR_NOMEM; RV_ERR_REFUSED, tag degree_high (fewer different
 * abscissas than terms, or so near to each other that they cannot be told apart) or no_convergence
 * (both variables uncertain, and the steps do not settle). */
enum rv_err rv_polynomial_fit(const struct rv_polynomial_point *points, size_t count, int degree,
			      struct rv_polynomial *fit, struct rv_error *error);

double rv_polynomial_at(const double *c, int degree, double x);
double rv_polynomial_slope(const double *c, int degree, double x);

/* Standard uncertainty of the weighted sum of coefficients, weights of degree + 1 terms. */
double rv_polynomial_u(const struct rv_polynomial *fit, const double *weights);

#endif
