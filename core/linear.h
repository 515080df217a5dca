/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Small dense systems of linear equations, by GSL's orthogonal factors in the caller's memory:
 * nothing is allocated.  Matrices lie row by row.
 */
#ifndef RV_CORE_LINEAR_H
#define RV_CORE_LINEAR_H

#include <stdbool.h>

enum { RV_LINEAR_MOST = 72 };

/* A square matrix, factored in place. */
struct rv_linear {
	int n;
	double a[RV_LINEAR_MOST * RV_LINEAR_MOST];
	double tau[RV_LINEAR_MOST];
};

/* Factors a.  Returns the smallest over the largest pivot: 0 = singular; far below 1 = nearly. */
double rv_linear_factor(struct rv_linear *linear);

/* Solves for a right side, in place.  Not to be asked of a singular matrix. */
void rv_linear_solve(const struct rv_linear *linear, double *b);

/* The directions a nearly singular matrix (not factored; it is destroyed) maps to nothing: a times
 * right is small, left times a is small.  Largest entries are 1.  Returns as rv_linear_factor. */
double rv_linear_null(struct rv_linear *linear, double *right, double *left);

/* The x (columns numbers) for which a x comes nearest b, in place: rows >= columns numbers in b, of
 * which the first columns then hold x.  a is destroyed. */
void rv_linear_least(double *a, int rows, int columns, double *b);

#endif
