/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/sheave.h"

#include <math.h>

struct rv_sheave_law rv_sheave_law(const struct rv_sheave *sheave)
{
	double b = sheave->bearing_share_ratio;
	double s = sheave->half_sine;
	double k = sheave->pin_drag_ratio * s;
	double e = 1.0 - (1.0 - sheave->efficiency_ratio) * (1.0 - b + b * s);

	return (struct rv_sheave_law){
	    .ratio =
		e * (1.0 - k) / (1.0 + k) * exp(-sheave->bar_friction_ratio * sheave->wrap_rad),
	    .offset_n = sheave->drag_n / (1.0 + k),
	};
}

double rv_sheave_across(struct rv_sheave_law law, int turn, double tension_n)
{
	if (turn > 0)
		return law.ratio * tension_n - law.offset_n;
	if (turn < 0)
		return (tension_n + law.offset_n) / law.ratio;
	return tension_n;
}

struct rv_sheave_law rv_sheave_law_rate(const struct rv_sheave *sheave, double half_sine_rate,
					double wrap_rate_rad)
{
	struct rv_sheave_law law = rv_sheave_law(sheave);
	double b = sheave->bearing_share_ratio;
	double k = sheave->pin_drag_ratio * sheave->half_sine;
	double k_rate = sheave->pin_drag_ratio * half_sine_rate;
	double e = 1.0 - (1.0 - sheave->efficiency_ratio) * (1.0 - b + b * sheave->half_sine);
	double e_rate = -(1.0 - sheave->efficiency_ratio) * b * half_sine_rate;

	return (struct rv_sheave_law){
	    .ratio = law.ratio * (e_rate / e - 2.0 * k_rate / (1.0 - k * k) -
				  sheave->bar_friction_ratio * wrap_rate_rad),
	    .offset_n = -law.offset_n * k_rate / (1.0 + k),
	};
}

double rv_sheave_across_rate(struct rv_sheave_law law, int turn, double tension_n,
			     struct rv_sheave_law law_rate, double tension_rate_n)
{
	if (turn > 0)
		return law_rate.ratio * tension_n + law.ratio * tension_rate_n - law_rate.offset_n;
	if (turn < 0)
		return (tension_rate_n + law_rate.offset_n) / law.ratio -
		       (tension_n + law.offset_n) * law_rate.ratio / (law.ratio * law.ratio);
	return tension_rate_n;
}
