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
