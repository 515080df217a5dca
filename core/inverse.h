/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The way back through a cell's curve: load as a polynomial of reading, for a station to apply.
 *
 * A line is inverted exactly; a curve is followed by a polynomial of degree 3 fitted to it at the
 * Chebyshev abscissas of the span, which comes near the smallest worst error (textbook).  What is
 * left of that error is measured by going there and back over the span.
 */
#ifndef RV_CORE_INVERSE_H
#define RV_CORE_INVERSE_H

#include "core/station.h"

/* A reading as a polynomial of load in newtons; it must rise or fall all over the span. */
struct rv_inverse_curve {
	const double *c; /* lowest power first */
	int degree;	 /* 1 .. 3 */
	double low_n, high_n;
};

/* RV_ERR_NOMEM, RV_ERR_REFUSED. */
enum rv_err rv_inverse_make(const struct rv_inverse_curve *curve, struct rv_conversion *inverse,
			    struct rv_error *error);

/* The largest |load found - load applied| over the span, N. */
double rv_inverse_error(const struct rv_inverse_curve *curve, const struct rv_conversion *inverse);

/* Whether the curve rises or falls all the way from low_n to high_n. */
bool rv_inverse_is_possible(const struct rv_inverse_curve *curve);

#endif
