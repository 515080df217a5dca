/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The tension either side of one turning sheave, or of a fixed bar the line slides over.
 *
 * H is the side the rope runs towards, L the side it comes from:
 *
 *     T_L = ratio * T_H - offset
 *     ratio  = e * (1 - k) / (1 + k) * exp(-mu * wrap),   offset = drag / (1 + k)
 *     k      = pin drag * s,   s = sin(wrap / 2) = |d1 + d2| / 2
 *     e      = 1 - (1 - efficiency) * (1 - b + b * s)
 *
 * d1, d2 are unit vectors from the sheave along its two legs.  The efficiency is meant at 180
 * degree wrap; b is the share of the loss that is bearing friction and so follows the load on the
 * pin.  Derived: moment balance of the sheave with the pin load taken as (T_H + T_L) * s, which is
 * exact for parallel legs; exp(-mu * wrap) is Euler's and Eytelwein's law of a rope on a bar.
 */
#ifndef RV_CORE_SHEAVE_H
#define RV_CORE_SHEAVE_H

struct rv_sheave {
	double efficiency_ratio; /* at 180 degree wrap; 1 = no loss of this kind */
	double bearing_share_ratio;
	double drag_n;
	double pin_drag_ratio;
	double bar_friction_ratio; /* mu; 0 = a sheave */
	double half_sine;	   /* s */
	double wrap_rad;	   /* used by a bar only; full turns included */
};

/* T_L = ratio * T_H - offset_n. */
struct rv_sheave_law {
	double ratio;
	double offset_n;
};

struct rv_sheave_law rv_sheave_law(const struct rv_sheave *sheave);

/* How the law changes when half_sine and wrap_rad change at these rates. */
struct rv_sheave_law rv_sheave_law_rate(const struct rv_sheave *sheave, double half_sine_rate,
					double wrap_rate_rad);

/* The tension beyond the sheave, coming from the winch.  turn: +1 the rope runs towards the winch,
 * -1 away from it, 0 it stands and nothing is lost (the most likely, not the only, value). */
double rv_sheave_across(struct rv_sheave_law law, int turn, double tension_n);

/* How the tension beyond it changes, when the law and the tension before it change at these
 * rates. */
double rv_sheave_across_rate(struct rv_sheave_law law, int turn, double tension_n,
			     struct rv_sheave_law law_rate, double tension_rate_n);

#endif
