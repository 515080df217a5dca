/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rigs that benches of core/ go through: those of the tests, whose every number is known, and
 * those of the library in tools/rigs.  Run from the root of the project.
 */
#ifndef RV_TESTS_BENCH_RIGS_H
#define RV_TESTS_BENCH_RIGS_H

#include <gsl/gsl_matrix.h>
#include <gsl/gsl_permutation.h>
#include <gsl/gsl_vector.h>

#include "core/solver.h"

enum { RV_BENCH_RIGS = 96 };

struct rv_bench_rig {
	char name[64];
	struct rv_rig rig;
	struct rv_layout layout;
	struct rv_givens givens;
	struct rv_solver solver;
	struct rv_pose declared;
	/* The bare reference: a dense set of equations, one for the tension of each leg and for each
	 * coordinate of a floating point. */
	int unknowns;
	gsl_matrix *full, *factors;
	gsl_vector *right, *solution;
	gsl_permutation *order;
};

/* All of them, ready to be solved; the list holds RV_BENCH_RIGS.  Leaves the program if one cannot
 * be. */
int rv_bench_rigs_read(struct rv_bench_rig **list);

/* A work (bench.h) on a struct rv_bench_rig: factors the dense equations and solves them, by GSL. */
void rv_bench_rigs_reference(void *ctx, int repeat);

#define RV_BENCH_RIGS_REFERENCE \
	"GSL LU factoring and solve of one dense system, one unknown for each leg and floating coordinate"

#endif
