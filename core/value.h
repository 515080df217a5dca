/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A quantity with what is uncertain about it, and its 95 % interval.
 *
 * Scatter u over pulls with nu degrees of freedom, and what is known of the instruments, b:
 *     nu < 4:  half = sqrt((t(nu) u)^2 + (1.96 b)^2)
 *     else:    half = t(nu_eff) sqrt(u^2 + b^2), nu_eff = (u^2 + b^2)^2 nu / u^4
 * (JCGM 100:2008, Annex G; the first line because nu_eff of a few pulls is itself a matter of luck:
 * own choice).  Then a bias of at most so much widens it (rv_stats_biased), then what stands for
 * surges is added in quadrature, and what finding the motion in the tensions may do is added plainly.
 */
#ifndef RV_CORE_VALUE_H
#define RV_CORE_VALUE_H

#include "core/invert.h"
#include "core/repeat.h"

/* Standard uncertainties by where they come from. */
struct rv_value_parts {
	double gain, zero, drift, inverse, lag, geometry, remount, linearity;
};

struct rv_value {
	double at; /* NaN: there is none */
	double u, dof;
	struct rv_value_parts parts;
	double bias;  /* at most so much */
	double extra; /* half-width, in quadrature */
	double wider; /* half-width, added plainly */
	double low, high, dof_effective;
};

double rv_value_parts_u(const struct rv_value_parts *parts);

struct rv_value rv_value_none(void);

/* Sets low, high and dof_effective. */
void rv_value_close(struct rv_value *value);

/* A closed value of the log ratio f as one of x: its ends go through the inverse of f. */
struct rv_value rv_value_map(const struct rv_value *value, const struct rv_invert *f);

/* How an error of the instruments moves a sum of k * log ratio over pulls. */
struct rv_value_effect {
	double gain;	      /* per relative error of cell 1 over cell 0 */
	double zero_per_n[2]; /* per error of the zero of each cell */
	double drift_per_n[2];
	double inverse_per_n[2][2]; /* of each cell, in and out */
	double per_s;		    /* per error of the delay between the cells */
	double place;		    /* per error of the ratio of the places: leg angles */
};

void rv_value_add_pull(struct rv_value_effect *effect, const struct rv_estimate_pull *pull,
		       double k);

/* remount and linearity are left at 0. */
struct rv_value_parts rv_value_parts_of(const struct rv_value_effect *effect,
					const struct rv_estimate_setup *setup,
					const struct rv_estimate_run *run);

/* Standard uncertainty of ln(gain of cell 1 / gain of cell 0); NaN: not stated. */
double rv_value_gain_u(const struct rv_estimate_setup *setup, const struct rv_estimate_run *run);

/* As rv_estimate gives it, from x; cut off at an efficiency of 1. */
struct rv_estimate_interval rv_value_interval(const struct rv_value *x);

#endif
