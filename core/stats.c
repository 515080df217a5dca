/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/stats.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>

double rv_stats_normal(double p)
{
	return gsl_cdf_ugaussian_Pinv(p);
}

double rv_stats_t(double p, double dof)
{
	return dof < 1e9 ? gsl_cdf_tdist_Pinv(p, dof) : rv_stats_normal(p);
}

double rv_stats_chi_square(double p, double dof)
{
	return gsl_cdf_chisq_Pinv(p, dof);
}

double rv_stats_t95(double dof)
{
	return rv_stats_t(0.975, dof);
}

/* Density of s = sqrt(chi square / dof), times the probability beyond +-t given s. */
static double beyond_given(double s, double t, double shift, double dof)
{
	double density = 2.0 * dof * s * gsl_ran_chisq_pdf(dof * s * s, dof);

	return density * (gsl_cdf_ugaussian_Q(t * s - shift) + gsl_cdf_ugaussian_P(-t * s - shift));
}

double rv_stats_power(double shift, double dof)
{
	enum { STEPS = 2000 }; /* of Simpson's rule: 1e-8 at one degree, more digits above */
	double t = rv_stats_t95(dof);

	if (dof >= 1e9)
		return gsl_cdf_ugaussian_Q(t - shift) + gsl_cdf_ugaussian_P(-t - shift);
	double low = sqrt(gsl_cdf_chisq_Pinv(1e-13, dof) / dof);
	double high = sqrt(gsl_cdf_chisq_Qinv(1e-13, dof) / dof);
	double width = (high - low) / STEPS, sum = 0.0;

	for (int i = 0; i <= STEPS; i++) {
		double weight = i == 0 || i == STEPS ? 1.0 : i % 2 == 1 ? 4.0 : 2.0;
		sum += weight * beyond_given(low + i * width, t, shift, dof);
	}
	return sum * width / 3.0;
}

double rv_stats_biased(double t)
{
	/* The root lies between these: one tail carries all of the 5 %, or each half of it. */
	double low = fmax(rv_stats_normal(0.975), t + rv_stats_normal(0.95));
	double high = t + rv_stats_normal(0.975);

	if (!(t > 0.0))
		return rv_stats_normal(0.975);
	for (int i = 0; i < 60 && high - low > 1e-13; i++) {
		double c = 0.5 * (low + high);
		double inside = gsl_cdf_ugaussian_P(c - t) - gsl_cdf_ugaussian_P(-c - t);

		if (inside < 0.95)
			low = c;
		else
			high = c;
	}
	return 0.5 * (low + high);
}

double rv_stats_mean(const double *values, int count)
{
	double sum = 0.0;

	for (int i = 0; i < count; i++)
		sum += values[i];
	return count > 0 ? sum / count : (double)NAN;
}

double rv_stats_sd(const double *values, int count)
{
	double mean = rv_stats_mean(values, count), sum = 0.0;

	for (int i = 0; i < count; i++)
		sum += (values[i] - mean) * (values[i] - mean);
	return count > 1 ? sqrt(sum / (count - 1)) : (double)NAN;
}

static int compare(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;

	return (x > y) - (x < y);
}

double rv_stats_median(const double *values, int count, double *work)
{
	if (count < 1)
		return (double)NAN;
	memcpy(work, values, (size_t)count * sizeof *work);
	qsort(work, (size_t)count, sizeof *work, compare);
	return 0.5 * (work[(count - 1) / 2] + work[count / 2]);
}

double rv_stats_mad_sd(const double *values, int count, double *work)
{
	double median = rv_stats_median(values, count, work);

	for (int i = 0; i < count; i++)
		work[i] = fabs(values[i] - median);
	qsort(work, (size_t)count, sizeof *work, compare);
	return count > 0 ? 1.4826 * 0.5 * (work[(count - 1) / 2] + work[count / 2]) : (double)NAN;
}

struct rv_stats_sample rv_stats_sample(const double *values, int count)
{
	return (struct rv_stats_sample){rv_stats_mean(values, count), rv_stats_sd(values, count),
					count};
}

struct rv_stats_difference rv_stats_welch(struct rv_stats_sample a, struct rv_stats_sample b)
{
	double va = a.sd * a.sd / a.count, vb = b.sd * b.sd / b.count;
	double v = va + vb;

	if (a.count < 2 || b.count < 2)
		return (struct rv_stats_difference){NAN, NAN, NAN};
	return (struct rv_stats_difference){
	    .value = b.mean - a.mean,
	    .u = sqrt(v),
	    .dof = v > 0.0 ? v * v / (va * va / (a.count - 1) + vb * vb / (b.count - 1))
			   : a.count + b.count - 2,
	};
}

struct rv_stats_line rv_stats_line(const double *x, const double *y, int count)
{
	double mean_x = rv_stats_mean(x, count), mean_y = rv_stats_mean(y, count);
	double sxx = 0.0, sxy = 0.0, rest = 0.0;

	for (int i = 0; i < count; i++) {
		sxx += (x[i] - mean_x) * (x[i] - mean_x);
		sxy += (x[i] - mean_x) * (y[i] - mean_y);
	}
	if (count < 3 || !(sxx > 0.0))
		return (struct rv_stats_line){NAN, NAN, NAN, NAN, NAN, NAN};
	double slope = sxy / sxx;
	for (int i = 0; i < count; i++) {
		double residual = y[i] - mean_y - slope * (x[i] - mean_x);
		rest += residual * residual;
	}
	double sd = sqrt(rest / (count - 2));
	return (struct rv_stats_line){
	    .at_zero = mean_y - slope * mean_x,
	    .slope = slope,
	    .u_at_zero = sd * sqrt(1.0 / count + mean_x * mean_x / sxx),
	    .u_slope = sd / sqrt(sxx),
	    .residual_sd = sd,
	    .dof = count - 2,
	};
}

struct rv_stats_difference rv_stats_step(const double *y, const bool *second, int count)
{
	double mean_y = rv_stats_mean(y, count), middle = 0.5 * (count - 1);
	double share = 0.0, gg = 0.0, gp = 0.0, pp = 0.0, gy = 0.0, py = 0.0, rest = 0.0;

	for (int i = 0; i < count; i++)
		share += second[i] ? 1.0 / count : 0.0;
	for (int i = 0; i < count; i++) {
		double g = (second[i] ? 1.0 : 0.0) - share, p = i - middle;
		gg += g * g;
		gp += g * p;
		pp += p * p;
		gy += g * (y[i] - mean_y);
		py += p * (y[i] - mean_y);
	}
	double determinant = gg * pp - gp * gp;
	if (count < 4 || !(determinant > 1e-9 * gg * pp))
		return (struct rv_stats_difference){NAN, NAN, NAN};
	double step = (gy * pp - py * gp) / determinant;
	double drift = (py * gg - gy * gp) / determinant;
	for (int i = 0; i < count; i++) {
		double g = (second[i] ? 1.0 : 0.0) - share, p = i - middle;
		double residual = y[i] - mean_y - step * g - drift * p;
		rest += residual * residual;
	}
	return (struct rv_stats_difference){step, sqrt(rest / (count - 3) * pp / determinant),
					    count - 3};
}

/* tr(Q) and tr(Q Q) of the centred correlation matrix; Q_ij = S_ij - r_i - r_j + r. */
static double satterthwaite_dof(int count, double rho)
{
	double power[1 + RV_STATS_ROW], row[1 + RV_STATS_ROW], all = 0.0, trace = 0.0, square = 0.0;

	power[0] = 1.0;
	for (int k = 1; k < count; k++)
		power[k] = power[k - 1] * rho;
	for (int i = 0; i < count; i++) {
		row[i] = 0.0;
		for (int j = 0; j < count; j++)
			row[i] += power[abs(i - j)] / count;
		all += row[i] / count;
	}
	for (int i = 0; i < count; i++)
		for (int j = 0; j < count; j++) {
			double q = power[abs(i - j)] - row[i] - row[j] + all;
			trace += i == j ? q : 0.0;
			square += q * q;
		}
	return trace * trace / square;
}

struct rv_stats_row rv_stats_row(int count, double rho)
{
	double f = 1.0, power = 1.0;

	if (count < 2 || count > RV_STATS_ROW)
		return (struct rv_stats_row){NAN, NAN};
	if (!(rho > 0.0))
		return (struct rv_stats_row){1.0, count - 1};
	for (int k = 1; k < count; k++) {
		power *= rho;
		f += 2.0 * (1.0 - (double)k / count) * power;
	}
	return (struct rv_stats_row){sqrt(f * (count - 1) / (count - f)),
				     satterthwaite_dof(count, rho)};
}

double rv_stats_neighbours(const double *values, int count)
{
	double mean = rv_stats_mean(values, count), square = 0.0, cross = 0.0;

	for (int i = 0; i < count; i++) {
		square += (values[i] - mean) * (values[i] - mean);
		if (i > 0)
			cross += (values[i] - mean) * (values[i - 1] - mean);
	}
	return count > 2 && square > 0.0 ? cross / square : (double)NAN;
}
