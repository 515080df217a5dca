/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/polynomial.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>

enum { STEPS = 200 };

/* Below this the columns of the scaled system cannot be told apart in double precision. */
static const double least_pivot = 1e-12;

struct job {
	const struct rv_polynomial_point *points;
	size_t count, terms;
	double middle, half; /* t = (x - middle) / half */
	double *a;	     /* count x terms: after factoring, R above the diagonal */
	double *right, *t, *weight, *goal;
	double tau[RV_POLYNOMIAL_TERMS];
	double d[RV_POLYNOMIAL_TERMS]; /* coefficients of powers of t */
};

double rv_polynomial_at(const double *c, int degree, double x)
{
	double sum = c[degree];

	for (int i = degree - 1; i >= 0; i--)
		sum = sum * x + c[i];
	return sum;
}

double rv_polynomial_slope(const double *c, int degree, double x)
{
	double sum = 0.0;

	for (int i = degree; i >= 1; i--)
		sum = sum * x + i * c[i];
	return sum;
}

double rv_polynomial_u(const struct rv_polynomial *fit, const double *weights)
{
	long double sum = 0.0L;

	for (int i = 0; i <= fit->degree; i++)
		for (int j = 0; j <= fit->degree; j++)
			sum += (long double)weights[i] * (long double)fit->covariance[i][j] *
			       (long double)weights[j];
	return sum > 0.0L ? (double)sqrtl(sum) : 0.0;
}

static double t_slope(const struct job *job, double t)
{
	return rv_polynomial_slope(job->d, (int)job->terms - 1, t);
}

/* What is left of each goal, weighted, with the sum carried in long double. */
static void residuals(struct job *job)
{
	for (size_t i = 0; i < job->count; i++) {
		long double sum = 0.0L;
		for (size_t j = job->terms; j-- > 0;)
			sum = sum * (long double)job->t[i] + (long double)job->d[j];
		job->right[i] = (double)((long double)job->goal[i] - sum) * sqrt(job->weight[i]);
	}
}

static bool factor(struct job *job)
{
	gsl_matrix_view a = gsl_matrix_view_array(job->a, job->count, job->terms);
	gsl_vector_view tau = gsl_vector_view_array(job->tau, job->terms);
	double least = (double)INFINITY, most = 0.0;

	for (size_t i = 0; i < job->count; i++) {
		double power = sqrt(job->weight[i]);
		for (size_t j = 0; j < job->terms; j++) {
			job->a[i * job->terms + j] = power;
			power *= job->t[i];
		}
	}
	gsl_linalg_QR_decomp(&a.matrix, &tau.vector);
	for (size_t j = 0; j < job->terms; j++) {
		double pivot = fabs(job->a[j * job->terms + j]);
		least = fmin(least, pivot);
		most = fmax(most, pivot);
	}
	return least > least_pivot * most;
}

/* Adds to d what brings the sum of squares down, twice: the second time refines the first. */
static bool solve(struct job *job)
{
	gsl_matrix_view a = gsl_matrix_view_array(job->a, job->count, job->terms);
	gsl_matrix_view top = gsl_matrix_view_array(job->a, job->terms, job->terms);
	gsl_vector_view tau = gsl_vector_view_array(job->tau, job->terms);
	gsl_vector_view right = gsl_vector_view_array(job->right, job->count);
	gsl_vector_view step = gsl_vector_view_array(job->right, job->terms);

	if (!factor(job))
		return false;
	for (int pass = 0; pass < 2; pass++) {
		residuals(job);
		gsl_linalg_QR_QTvec(&a.matrix, &tau.vector, &right.vector);
		gsl_blas_dtrsv(CblasUpper, CblasNoTrans, CblasNonUnit, &top.matrix, &step.vector);
		for (size_t j = 0; j < job->terms; j++)
			job->d[j] += job->right[j];
	}
	residuals(job);
	return true;
}

/* Weights and goals at the adjusted abscissas, for the curve as it is. */
static void aim(struct job *job)
{
	for (size_t i = 0; i < job->count; i++) {
		const struct rv_polynomial_point *point = &job->points[i];
		double u_t = point->u_x > 0.0 ? point->u_x / job->half : 0.0;
		double slope = t_slope(job, job->t[i]);
		double away = (point->x - job->middle) / job->half - job->t[i];

		job->weight[i] = 1.0 / (point->u_y * point->u_y + slope * slope * u_t * u_t);
		job->goal[i] = point->y - slope * away;
	}
}

/* Moves each abscissa to where the curve comes nearest its point.  Returns the longest move. */
static double adjust(struct job *job)
{
	double longest = 0.0;

	for (size_t i = 0; i < job->count; i++) {
		const struct rv_polynomial_point *point = &job->points[i];
		double u_t = point->u_x > 0.0 ? point->u_x / job->half : 0.0;
		double slope = t_slope(job, job->t[i]);
		double given = (point->x - job->middle) / job->half;
		double off = point->y - rv_polynomial_at(job->d, (int)job->terms - 1, job->t[i]) -
			     slope * (given - job->t[i]);
		double weight = 1.0 / (point->u_y * point->u_y + slope * slope * u_t * u_t);
		double t = given + slope * u_t * u_t * weight * off;

		longest = fmax(longest, fabs(t - job->t[i]));
		job->t[i] = t;
	}
	return longest;
}

static enum rv_err too_high(const struct job *job, struct rv_error *error)
{
	return rv_err_refuse(error, "degree_high",
			     "%zu points lie too near each other for a curve of degree %zu; "
			     "apply more different loads or ask for a lower degree",
			     job->count, job->terms - 1);
}

static enum rv_err settle(struct job *job, struct rv_error *error)
{
	for (int i = 0; i < STEPS; i++) {
		aim(job);
		if (!solve(job))
			return too_high(job, error);
		if (adjust(job) < 1e-15)
			return RV_OK;
	}
	/* Rounding may keep the last digits moving. */
	aim(job);
	if (!solve(job))
		return too_high(job, error);
	return adjust(job) < 1e-11
		   ? RV_OK
		   : rv_err_refuse(error, "no_convergence",
				   "with both variables uncertain the fit does not settle; the "
				   "uncertainties are too large for the spread of the points");
}

/* (R' R)^-1 of the factored system. */
static void invert(const struct job *job, double scale,
		   double c[RV_POLYNOMIAL_TERMS][RV_POLYNOMIAL_TERMS])
{
	double inverse[RV_POLYNOMIAL_TERMS][RV_POLYNOMIAL_TERMS] = {{0}};
	int n = (int)job->terms;

	for (int j = 0; j < n; j++)
		for (int i = j; i >= 0; i--) {
			long double sum = i == j ? 1.0L : 0.0L;
			for (int k = i + 1; k <= j; k++)
				sum -= (long double)job->a[i * n + k] * (long double)inverse[k][j];
			inverse[i][j] = (double)(sum / (long double)job->a[i * n + i]);
		}
	for (int i = 0; i < n; i++)
		for (int j = 0; j < n; j++) {
			long double sum = 0.0L;
			for (int k = i > j ? i : j; k < n; k++)
				sum += (long double)inverse[i][k] * (long double)inverse[j][k];
			c[i][j] = (double)(sum * (long double)scale);
		}
}

/* to[k][j]: what one of the j-th power of t has of the k-th power of x (binomial theorem). */
static void unscale(const struct job *job, long double to[RV_POLYNOMIAL_TERMS][RV_POLYNOMIAL_TERMS])
{
	long double shift = -(long double)job->middle / (long double)job->half;

	memset(to, 0, sizeof(long double) * RV_POLYNOMIAL_TERMS * RV_POLYNOMIAL_TERMS);
	to[0][0] = 1.0L;
	for (size_t j = 1; j < job->terms; j++)
		for (size_t k = 0; k <= j; k++)
			to[k][j] = to[k][j - 1] * shift +
				   (k ? to[k - 1][j - 1] / (long double)job->half : 0.0L);
}

static void hand_over(const struct job *job, bool is_weighted, struct rv_polynomial *fit)
{
	long double to[RV_POLYNOMIAL_TERMS][RV_POLYNOMIAL_TERMS];
	double scaled[RV_POLYNOMIAL_TERMS][RV_POLYNOMIAL_TERMS];
	size_t n = job->terms;
	long double sum = 0.0L;

	for (size_t i = 0; i < job->count; i++)
		sum += (long double)job->right[i] * (long double)job->right[i];
	*fit = (struct rv_polynomial){.degree = (int)n - 1,
				      .sum = (double)sum,
				      .dof = (int)(job->count - n),
				      .is_weighted = is_weighted};
	invert(job, is_weighted ? 1.0 : fit->sum / fit->dof, scaled);
	unscale(job, to);
	for (size_t k = 0; k < n; k++) {
		long double c = 0.0L;
		for (size_t j = k; j < n; j++)
			c += to[k][j] * (long double)job->d[j];
		fit->c[k] = (double)c;
	}
	for (size_t at = 0; at < n * n; at++) {
		long double c = 0.0L;
		for (size_t ij = 0; ij < n * n; ij++)
			c += to[at / n][ij / n] * (long double)scaled[ij / n][ij % n] *
			     to[at % n][ij % n];
		fit->covariance[at / n][at % n] = (double)c;
	}
}

static void scale(struct job *job)
{
	double low = job->points[0].x, high = low;

	for (size_t i = 1; i < job->count; i++) {
		low = fmin(low, job->points[i].x);
		high = fmax(high, job->points[i].x);
	}
	job->middle = low + (high - low) / 2.0;
	job->half = high > low ? (high - low) / 2.0 : 1.0;
	for (size_t i = 0; i < job->count; i++) {
		const struct rv_polynomial_point *point = &job->points[i];
		job->t[i] = (point->x - job->middle) / job->half;
		job->weight[i] = isnan(point->u_y) ? 1.0 : 1.0 / (point->u_y * point->u_y);
		job->goal[i] = point->y;
	}
}

enum rv_err rv_polynomial_fit(const struct rv_polynomial_point *points, size_t count, int degree,
			      struct rv_polynomial *fit, struct rv_error *error)
{
	struct job job = {.points = points, .count = count, .terms = (size_t)degree + 1};
	bool is_weighted = count > 0 && !isnan(points[0].u_y), is_both = false;

	if (count < job.terms)
		return too_high(&job, error);
	job.a = calloc(count * (job.terms + 4), sizeof *job.a);
	if (!job.a)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory");
	job.right = job.a + count * job.terms;
	job.t = job.right + count;
	job.weight = job.t + count;
	job.goal = job.weight + count;
	scale(&job);
	for (size_t i = 0; i < count; i++)
		is_both = is_both || points[i].u_x > 0.0;
	enum rv_err err = solve(&job) ? RV_OK : too_high(&job, error);
	if (err == RV_OK && is_weighted && is_both)
		err = settle(&job, error);
	if (err == RV_OK)
		hand_over(&job, is_weighted, fit);
	free(job.a);
	return err;
}
