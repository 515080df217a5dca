/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/joint_gain.h"

#include <math.h>

#include <gsl/gsl_linalg.h>

#include "core/stats.h"

enum { N = RV_JOINT_CELLS };

struct whitened {
	int rows;
	double gain[N];
	double excess[N];
	double cell[N][N]; /* direction of each cell's error */
};

/* e_i: a cell's error moves its own ratio, that of cell 0 all of them the other way. */
static double direction(int cell, int row)
{
	return cell == 0 ? -1.0 : (double)(row + 1 == cell);
}

/* Of the gains: what is common to a cell, and each ratio's own. */
static double covariance(const struct rv_joint_gain *gain, int a, int b)
{
	double sum = a == b ? gain->u_own * gain->u_own : 0.0;

	for (int i = 0; i < gain->cells; i++)
		sum += direction(i, a) * direction(i, b) * gain->u[i] * gain->u[i];
	return sum;
}

/* A column divided by the Cholesky factor of the covariance, so that plain sums of squares do. */
static void divide(const gsl_matrix *factor, double *column)
{
	for (size_t r = 0; r < factor->size1; r++) {
		for (size_t k = 0; k < r; k++)
			column[r] -= gsl_matrix_get(factor, r, k) * column[k];
		column[r] /= gsl_matrix_get(factor, r, r);
	}
}

static void whiten(const struct rv_joint_gain *gain, struct whitened *white)
{
	double v[N * N];
	size_t rows = (size_t)gain->cells - 1;
	gsl_matrix_view factor = gsl_matrix_view_array(v, rows, rows);

	white->rows = (int)rows;
	for (int a = 0; a < white->rows; a++) {
		for (int b = 0; b < white->rows; b++)
			v[a * white->rows + b] = covariance(gain, a, b);
		white->gain[a] = gain->gain_log[a + 1];
		white->excess[a] = gain->excess_log[a + 1];
		for (int i = 0; i < gain->cells; i++)
			white->cell[i][a] = direction(i, a);
	}
	gsl_linalg_cholesky_decomp1(&factor.matrix);
	divide(&factor.matrix, white->gain);
	divide(&factor.matrix, white->excess);
	for (int i = 0; i < gain->cells; i++)
		divide(&factor.matrix, white->cell[i]);
}

static double dot(const double *a, const double *b, int rows)
{
	double sum = 0.0;

	for (int r = 0; r < rows; r++)
		sum += a[r] * b[r];
	return sum;
}

/* Takes the part along the direction out of the values. */
static void take_out(double *values, const double *along, int rows)
{
	double size = dot(along, along, rows);
	double share = size > 1e-12 ? dot(values, along, rows) / size : 0.0;

	for (int r = 0; r < rows; r++)
		values[r] -= share * along[r];
}

bool rv_joint_gain_is_off(const struct rv_joint_gain *gain, int *suspect)
{
	struct whitened white = {0};
	int dof = gain->cells - 1 - gain->fit_excess;
	double least = INFINITY;

	*suspect = -1;
	if (dof < 1)
		return false;
	whiten(gain, &white);
	if (gain->fit_excess) {
		take_out(white.gain, white.excess, white.rows);
		for (int i = 0; i < gain->cells; i++)
			take_out(white.cell[i], white.excess, white.rows);
	}
	if (!(dot(white.gain, white.gain, white.rows) > rv_stats_chi_square(0.999, dof)))
		return false;
	for (int i = 0; i < gain->cells && dof >= 2; i++) {
		double left[N];
		for (int r = 0; r < white.rows; r++)
			left[r] = white.gain[r];
		take_out(left, white.cell[i], white.rows);
		double chi = dot(left, left, white.rows);
		if (chi < least) {
			least = chi;
			*suspect = i;
		}
	}
	return true;
}
