/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/value.h"

#include <math.h>

#include "core/stats.h"

#define NORMAL95 1.959963984540054

double rv_value_parts_u(const struct rv_value_parts *parts)
{
	return sqrt(parts->gain * parts->gain + parts->zero * parts->zero +
		    parts->drift * parts->drift + parts->inverse * parts->inverse +
		    parts->lag * parts->lag + parts->geometry * parts->geometry +
		    parts->remount * parts->remount + parts->linearity * parts->linearity);
}

struct rv_value rv_value_none(void)
{
	return (struct rv_value){
	    .at = NAN, .u = NAN, .dof = NAN, .low = NAN, .high = NAN, .dof_effective = NAN};
}

void rv_value_close(struct rv_value *value)
{
	double a = value->u * value->u, b = rv_value_parts_u(&value->parts);
	double both = a + b * b, half;

	value->dof_effective = a > 0.0 ? both * both * value->dof / (a * a) : (double)INFINITY;
	if (value->dof < 4.0)
		half = hypot(rv_stats_t95(value->dof) * value->u, NORMAL95 * b);
	else
		half = rv_stats_t95(value->dof_effective) * sqrt(both);
	if (value->bias > 0.0 && half > 0.0) {
		double u = half / NORMAL95;
		half = u * rv_stats_biased(value->bias / u);
	}
	half = hypot(fmax(half, value->bias), value->extra) + value->wider;
	value->low = value->at - half;
	value->high = value->at + half;
}

struct rv_value rv_value_map(const struct rv_value *value, const struct rv_invert *f)
{
	struct rv_value x = *value;
	struct rv_invert_range range = rv_invert_usual();

	x.at = rv_invert_solve(f, value->at, range);
	double a = rv_invert_solve(f, value->low, range),
	       b = rv_invert_solve(f, value->high, range);
	x.low = fmin(a, b);
	x.high = fmax(a, b);
	if (!isfinite(x.at))
		return x;
	double per = 1.0 / fabs(rv_invert_slope(f, x.at));
	x.u *= per;
	x.bias *= per;
	x.extra *= per;
	x.wider *= per;
	x.parts.gain *= per;
	x.parts.zero *= per;
	x.parts.drift *= per;
	x.parts.inverse *= per;
	x.parts.lag *= per;
	x.parts.geometry *= per;
	x.parts.remount *= per;
	x.parts.linearity *= per;
	return x;
}

static void add_place(struct rv_value_effect *effect, const struct rv_estimate_pull *pull, int cell,
		      double per_n)
{
	double since = isnan(pull->since_zero_ratio) ? 1.0 : pull->since_zero_ratio;

	if (isnan(per_n))
		return; /* nothing was measured there */
	effect->zero_per_n[cell] += per_n;
	effect->drift_per_n[cell] += per_n * since;
	effect->inverse_per_n[cell][pull->direction == RV_MOTION_OUT] += per_n;
}

void rv_value_add_pull(struct rv_value_effect *effect, const struct rv_estimate_pull *pull,
		       double k)
{
	effect->gain += pull->exchanged ? -k : k;
	effect->place += k;
	if (!isnan(pull->slope_ps))
		effect->per_s += k * pull->slope_ps;
	add_place(effect, pull, pull->exchanged ? 1 : 0, -k / pull->near_n);
	add_place(effect, pull, pull->exchanged ? 0 : 1, k / pull->far_n);
}

double rv_value_gain_u(const struct rv_estimate_setup *setup, const struct rv_estimate_run *run)
{
	if (setup->design == RV_ESTIMATE_ONE_HUNG || setup->design == RV_ESTIMATE_ONE_MOVED)
		return (double)NAN;
	if (!isnan(setup->u_gain_ratio))
		return setup->u_gain_ratio;
	if (setup->design == RV_ESTIMATE_WEIGHT)
		return hypot(run->cell[RV_PULL_NEAR].u_gain_ratio,
			     setup->u_weight_n / setup->weight_n);
	return hypot(run->cell[RV_PULL_NEAR].u_gain_ratio, run->cell[RV_PULL_FAR].u_gain_ratio);
}

struct rv_value_parts rv_value_parts_of(const struct rv_value_effect *effect,
					const struct rv_estimate_setup *setup,
					const struct rv_estimate_run *run)
{
	struct rv_value_parts parts = {0};

	if (fabs(effect->gain) > 1e-9)
		parts.gain = fabs(effect->gain) * rv_value_gain_u(setup, run);
	bool weight = setup->design == RV_ESTIMATE_WEIGHT; /* no cell at the far place */

	for (int c = 0; c < (weight ? 1 : 2); c++) {
		const struct rv_estimate_cell *cell = &run->cell[c];

		if (!isnan(cell->u_zero_n))
			parts.zero = hypot(parts.zero, cell->u_zero_n * effect->zero_per_n[c]);
		if (!isnan(cell->u_drift_n))
			parts.drift = hypot(parts.drift, cell->u_drift_n * effect->drift_per_n[c]);
		for (int way = 0; way < 2 && !isnan(cell->u_inverse_n); way++)
			parts.inverse =
			    hypot(parts.inverse, cell->u_inverse_n * effect->inverse_per_n[c][way]);
	}
	parts.lag = fabs(setup->u_lag_s * effect->per_s);
	parts.geometry = fabs(setup->u_geometry_ratio * effect->place);
	return parts;
}

struct rv_estimate_interval rv_value_interval(const struct rv_value *x)
{
	if (!isfinite(x->at) || isnan(x->low) || isnan(x->high) || x->low > 0.0)
		return (struct rv_estimate_interval){NAN, NAN, NAN, NAN};
	return (struct rv_estimate_interval){fmin(1.0, exp(x->at)), exp(x->low),
					     fmin(1.0, exp(x->high)), x->dof_effective};
}
