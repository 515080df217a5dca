/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Distributions, small samples and straight lines, for estimates and comparisons.
 *
 * Quantiles and probabilities come from the GNU Scientific Library's cdf functions.  Degrees of
 * freedom are any number above 0; infinity stands for "known", where t is the normal.
 */
#ifndef RV_CORE_STATS_H
#define RV_CORE_STATS_H

#include <stdbool.h>

enum { RV_STATS_ROW = 512 }; /* most values of rv_stats_row */

/* The value not passed with probability p, 0 < p < 1. */
double rv_stats_normal(double p);
double rv_stats_t(double p, double dof);
double rv_stats_chi_square(double p, double dof);

/* Two-sided 95 %: rv_stats_t(0.975, dof). */
double rv_stats_t95(double dof);

/* Probability that a noncentral t of this shift lies beyond +-t(0.975, dof): the power of the
 * two-sided test at 5 %. */
double rv_stats_power(double shift, double dof);

/* Half-width, in standard deviations, of the 95 % interval around a normal estimate whose bias is at
 * most t standard deviations: c of Phi(c - t) - Phi(-c - t) = 0.95 (critical value of the folded
 * normal; Armstrong and Kolesar, Econometrica 86, 2018; from memory, not re-read).  t >= 0. */
double rv_stats_biased(double t);

/* NaN for none (mean, median) or fewer than two (sd).  work: count doubles. */
double rv_stats_mean(const double *values, int count);
double rv_stats_sd(const double *values, int count);
double rv_stats_median(const double *values, int count, double *work);
/* Median of the absolute distances from the median, times 1.4826: a standard deviation where the
 * values are normal. */
double rv_stats_mad_sd(const double *values, int count, double *work);

struct rv_stats_sample {
	double mean, sd;
	int count;
};

struct rv_stats_sample rv_stats_sample(const double *values, int count);

struct rv_stats_difference {
	double value; /* b - a */
	double u, dof;
};

/* Difference of two means with variances of their own (Welch, Biometrika 34, 1947, with
 * Satterthwaite's degrees of freedom; from memory).  Two or more of each. */
struct rv_stats_difference rv_stats_welch(struct rv_stats_sample a, struct rv_stats_sample b);

/* Least squares y = at_zero + slope * x, and the standard deviation of the residuals.  Three or more
 * points, else all NaN. */
struct rv_stats_line {
	double at_zero, slope;
	double u_at_zero, u_slope;
	double residual_sd, dof;
};

struct rv_stats_line rv_stats_line(const double *x, const double *y, int count);

/* Two levels over a common straight drift: y = level + step * group + drift * (place - mean) + error,
 * group 0 or 1, places in order.  Four or more points, both groups; else NaN. */
struct rv_stats_difference rv_stats_step(const double *y, const bool *second, int count);

/* For count values in a row whose neighbours correlate by rho (0 <= rho < 1) as rho^distance: the
 * factor of sd / sqrt(count), and the degrees of freedom:
 *     f = 1 + 2 sum (1 - k/C) rho^k,  K = sqrt(f (C - 1) / (C - f)),
 *     nu = tr(Q)^2 / tr(Q^2),  Q = M S M,  S = rho^|i-j|,  M = I - 1 1' / C
 * (variance of a mean of correlated values, textbook; Satterthwaite's match of two moments). */
/* NaN unless 2 .. RV_STATS_ROW values. */
struct rv_stats_row {
	double factor, dof;
};

struct rv_stats_row rv_stats_row(int count, double rho);

/* Correlation of neighbours, about the mean; NaN below 3. */
double rv_stats_neighbours(const double *values, int count);

#endif
