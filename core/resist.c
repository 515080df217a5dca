/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/resist.h"

#include <math.h>

#include "core/units.h"

struct rv_range rv_resist_vehicle(const struct rv_load *load, bool haul_out)
{
	double weight_n = load->mass_kg * RV_STANDARD_GRAVITY_MPS2;
	double slope_rad = load->slope_deg * M_PI / 180.0;
	double fall_n = weight_n * sin(slope_rad);
	double least_n =
	    weight_n * (load->rolling_ratio.low * cos(slope_rad) + load->mire_ratio.low);
	double most_n =
	    weight_n * (load->rolling_ratio.high * cos(slope_rad) + load->mire_ratio.high);
	double low_n = haul_out ? fall_n - most_n : fall_n + least_n;
	double high_n = haul_out ? fall_n - least_n : fall_n + most_n;

	return (struct rv_range){low_n, 0.5 * (low_n + high_n), high_n};
}

double rv_resist_additive_n(double resists_n, int sheaves, double advantage_ratio)
{
	return resists_n * (1.0 + RV_RESIST_SHEAVE_RATIO * sheaves) / advantage_ratio;
}
