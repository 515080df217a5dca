/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The equations of a rig whose floating points are held by its lines.
 *
 * Unknown are the places of the floating points and the tension at the start of every piece of
 * line.  As many equations hold: the forces at each floating point cancel; each piece without a
 * winch keeps its length (each with one too where there is no load); each given force is met.  The
 * loads stand where the pose has them.  Line taken in and what loads resist follow, and are no
 * unknowns here.
 *
 * Forces are counted in units of force_n and lengths of length_m, rows and columns alike, so that
 * numbers near 1 are solved for.
 */
#ifndef RV_CORE_EQUATIONS_H
#define RV_CORE_EQUATIONS_H

#include "core/friction.h"
#include "core/given.h"
#include "core/layout.h"
#include "core/linear.h"

enum { RV_EQUATIONS_FLOATS = 16 };

struct rv_equations {
	int dimensions;
	int floats, floating[RV_EQUATIONS_FLOATS]; /* points */
	int column[RV_RIG_POINTS];		   /* the first of a floating point, or -1 */
	int positions;				   /* columns of places; then one for each piece */
	int n;
	double force_n, length_m;	 /* units */
	double target_m[RV_REEVE_PIECES]; /* length of the piece; NaN = a winch takes in what comes */
	bool slack[RV_REEVE_PIECES];	 /* it hangs loose: no tension instead of its length */
	struct rv_givens givens;
};

/* Tensions that go with a pose, and what made them. */
struct rv_tension {
	double start_n[RV_REEVE_PIECES];
	double leg_n[RV_RIG_LEGS];
	struct rv_sheave_law law[RV_RIG_LEGS]; /* of each pass */
	struct rv_chain chain;
};

/* Numbers the unknowns, takes lengths from the declared places.  RV_ERR_RANGE, tag too_many. */
enum rv_err rv_equations_set(const struct rv_layout *layout, const struct rv_givens *givens,
			     struct rv_equations *equations, struct rv_error *error);

/* Other given forces; as many. */
void rv_equations_give(const struct rv_layout *layout, const struct rv_givens *givens,
		       struct rv_equations *equations);

/* Lengths of lines without winch, anew from the declared places. */
void rv_equations_measure(const struct rv_layout *layout, struct rv_equations *equations);

/* Adds factor times a force in newtons to the rows of a point, if it floats. */
void rv_equations_add(const struct rv_equations *equations, int point, double factor,
		      const double *vector, double *rows);

/* A rig being solved: what belongs together while that goes on.  All borrowed. */
struct rv_solving {
	const struct rv_equations *equations;
	struct rv_layout *layout; /* its pose changes */
	const struct rv_friction *friction;
	struct rv_tension *tension;
	struct rv_linear *linear;
};

/* Places the layout's pose (from its at_m), all tensions (from tension->start_n), and what is left
 * over in each equation.  False: two points meet. */
bool rv_equations_rest(const struct rv_solving *s, double *rest);

#endif
