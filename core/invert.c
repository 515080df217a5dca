/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/invert.h"

#include <math.h>

#define STEP 1e-5

struct rv_invert_range rv_invert_usual(void)
{
	return (struct rv_invert_range){log(0.4), log(1.2)};
}

struct rv_invert_range rv_invert_wide(void)
{
	return (struct rv_invert_range){log(0.3), log(2.5)};
}

double rv_invert_at(const struct rv_invert *f, double x)
{
	const struct rv_estimate_curve *curve = f->curve;
	double sum = 0.0;

	if (fabs(f->in) > 0.0)
		sum += f->in * curve->log_ratio(curve->rig, x, RV_MOTION_IN);
	if (fabs(f->out) > 0.0)
		sum += f->out *
		       curve->log_ratio(curve->rig, x * (1.0 + f->excess_ratio), RV_MOTION_OUT);
	return sum;
}

double rv_invert_slope(const struct rv_invert *f, double x)
{
	return (rv_invert_at(f, x + STEP) - rv_invert_at(f, x - STEP)) / (2.0 * STEP);
}

/* Regula falsi with the weight of an end that stays put halved each time (Illinois rule; from
 * memory) and halving where that is slow.  The functions here are nearly straight: some 5
 * evaluations. */
double rv_invert_solve(const struct rv_invert *f, double value, struct rv_invert_range range)
{
	double a = range.low, b = range.high;
	double fa = rv_invert_at(f, a) - value, fb = rv_invert_at(f, b) - value;
	double sense = fb - fa;

	if (!(fabs(sense) > 1e-9))
		return (double)NAN;
	if (fa * fb > 0.0)
		return fa * sense > 0.0 ? -INFINITY : INFINITY;
	for (int round = 0, stayed = 0; round < 100 && b - a > 1e-14; round++) {
		double x = round % 12 == 11 ? 0.5 * (a + b) : (a * fb - b * fa) / (fb - fa);
		double fx = rv_invert_at(f, x) - value;

		if (isnan(fx) || fabs(fx) < 1e-14)
			return isnan(fx) ? (double)NAN : x;
		if (fx * fb > 0.0) {
			b = x;
			fb = fx;
			fa *= stayed == 1 ? 0.5 : 1.0;
			stayed = 1;
		} else {
			a = x;
			fa = fx;
			fb *= stayed == 2 ? 0.5 : 1.0;
			stayed = 2;
		}
	}
	return 0.5 * (a + b);
}

bool rv_invert_tells(const struct rv_invert *f, double x, double least,
		     struct rv_invert_range range)
{
	enum { PLACES = 8 };
	double slope = rv_invert_slope(f, x);

	if (!(fabs(slope) >= least))
		return false;
	for (int i = 0; i <= PLACES; i++) {
		double at = range.low + (range.high - range.low) * i / PLACES;
		if (!(rv_invert_slope(f, at) * slope > 0.0))
			return false;
	}
	return true;
}
