/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/linear.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>

/* GSL's LU takes memory of its own at every call; its QR does not, and tells more of a matrix that
 * is nearly singular. */

static double pivots(const double *a, int n)
{
	double least = INFINITY, most = 0.0;

	for (int i = 0; i < n; i++) {
		double size = fabs(a[i * n + i]);
		least = fmin(least, size);
		most = fmax(most, size);
	}
	return most > 0.0 ? least / most : 0.0;
}

double rv_linear_factor(struct rv_linear *linear)
{
	size_t n = (size_t)linear->n;
	gsl_matrix_view a = gsl_matrix_view_array(linear->a, n, n);
	gsl_vector_view tau = gsl_vector_view_array(linear->tau, n);

	gsl_linalg_QR_decomp(&a.matrix, &tau.vector);
	return pivots(linear->a, linear->n);
}

void rv_linear_solve(const struct rv_linear *linear, double *b)
{
	size_t n = (size_t)linear->n;
	gsl_matrix_const_view a = gsl_matrix_const_view_array(linear->a, n, n);
	gsl_vector_const_view tau = gsl_vector_const_view_array(linear->tau, n);
	gsl_vector_view x = gsl_vector_view_array(b, n);

	gsl_linalg_QR_svx(&a.matrix, &tau.vector, &x.vector);
}

static void normalise(double *v, int n)
{
	double most = 0.0;

	for (int i = 0; i < n; i++)
		most = fmax(most, fabs(v[i]));
	for (int i = 0; i < n && most > 0.0; i++)
		v[i] /= most;
}

double rv_linear_null(struct rv_linear *linear, double *right, double *left)
{
	int n = linear->n;
	size_t m = (size_t)n, order[RV_LINEAR_MOST];
	double norm[RV_LINEAR_MOST];
	int sign = 0;
	gsl_matrix_view a = gsl_matrix_view_array(linear->a, m, m);
	gsl_vector_view tau = gsl_vector_view_array(linear->tau, m);
	gsl_vector_view work = gsl_vector_view_array(norm, m);
	gsl_vector_view q = gsl_vector_view_array(left, m);
	gsl_permutation permutation = {m, order};
	double x[RV_LINEAR_MOST];

	gsl_linalg_QRPT_decomp(&a.matrix, &tau.vector, &permutation, &sign, &work.vector);
	double least = pivots(linear->a, n);
	/* Right: solve R x = 0 with the last of x at 1. */
	for (int i = n - 1; i >= 0; i--) {
		double sum = 0.0;
		for (int j = i + 1; j < n; j++)
			sum -= linear->a[i * n + j] * x[j];
		double pivot = linear->a[i * n + i];
		x[i] = i == n - 1 ? 1.0 : fabs(pivot) > 0.0 ? sum / pivot : 0.0;
	}
	for (int i = 0; i < n; i++)
		right[order[i]] = x[i];
	normalise(right, n);
	/* Left: the last column of Q. */
	memset(left, 0, sizeof *left * m);
	left[n - 1] = 1.0;
	gsl_linalg_QR_Qvec(&a.matrix, &tau.vector, &q.vector);
	normalise(left, n);
	return least;
}

void rv_linear_least(double *a, int rows, int columns, double *b)
{
	double tau[RV_LINEAR_MOST];
	gsl_matrix_view matrix = gsl_matrix_view_array(a, (size_t)rows, (size_t)columns);
	gsl_matrix_view top = gsl_matrix_view_array(a, (size_t)columns, (size_t)columns);
	gsl_vector_view t = gsl_vector_view_array(tau, (size_t)columns);
	gsl_vector_view right = gsl_vector_view_array(b, (size_t)rows);
	gsl_vector_view x = gsl_vector_view_array(b, (size_t)columns);

	gsl_linalg_QR_decomp(&matrix.matrix, &t.vector);
	gsl_linalg_QR_QTvec(&matrix.matrix, &t.vector, &right.vector);
	gsl_blas_dtrsv(CblasUpper, CblasNoTrans, CblasNonUnit, &top.matrix, &x.vector);
}
