/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rig's log ratio as a function of x = ln(efficiency): its value, its slope, and the x at which it
 * has a given value.
 */
#ifndef RV_CORE_INVERT_H
#define RV_CORE_INVERT_H

#include "core/estimate.h"

/* f(x) = in * in(x) + out * out(x (1 + excess)). */
struct rv_invert {
	const struct rv_estimate_curve *curve;
	double in, out;
	double excess_ratio;
};

struct rv_invert_range {
	double low, high;
};

/* ln 0.4 .. ln 1.2, and ln 0.3 .. ln 2.5 for what one arrangement of two cells says. */
struct rv_invert_range rv_invert_usual(void);
struct rv_invert_range rv_invert_wide(void);

double rv_invert_at(const struct rv_invert *f, double x);

/* df/dx, by differences. */
double rv_invert_slope(const struct rv_invert *f, double x);

/* The x in the range with f(x) = value.  -infinity: it lies below the range, +infinity: above.  NaN:
 * the function has no answer, or is the same at both ends. */
double rv_invert_solve(const struct rv_invert *f, double value, struct rv_invert_range range);

/* True when the slope has one sign all over the range and at least this size at x. */
bool rv_invert_tells(const struct rv_invert *f, double x, double least,
		     struct rv_invert_range range);

#endif
