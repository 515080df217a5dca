/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/full_step.h"

#include <math.h>
#include <string.h>

#include "core/equations_rate.h"

enum { STEPS = 60, HALVINGS = 30 };
/* In units of force and length: aimed at, and good enough where rounding stops the way down. */
#define AIM 1e-13
#define GOOD 1e-11
/* Places move no further in one step. */
#define STRIDE 0.2
/* Pivots nearer to nothing than this decide nothing. */
#define SINGULAR 1e-11

static double largest(const double *v, int n)
{
	double most = 0.0;

	for (int i = 0; i < n; i++) {
		if (isnan(v[i]))
			return INFINITY;
		most = fmax(most, fabs(v[i]));
	}
	return most;
}

enum rv_full_step rv_full_step_start(const struct rv_solving *s)
{
	const struct rv_equations *equations = s->equations;
	struct rv_linear *linear = s->linear;
	struct rv_tension *tension = s->tension;
	int n = equations->n, pieces = s->layout->reeving.pieces, first = equations->positions;
	double rest[2 * RV_LINEAR_MOST], rate[RV_LINEAR_MOST];
	struct rv_motions motions;
	int rows = n + pieces;

	memset(&motions, 0, sizeof motions);
	for (int k = 0; k < pieces; k++)
		tension->start_n[k] = equations->force_n;
	if (!rv_equations_rest(s, rest))
		return RV_FULL_STEP_MEETS;
	for (int k = 0; k < pieces; k++) {
		motions.start_n[k] = equations->force_n;
		rv_equations_rate(s, &motions, rate);
		motions.start_n[k] = 0.0;
		for (int i = 0; i < n; i++)
			linear->a[i * pieces + k] = rate[i];
	}
	/* A little weight on changing nothing decides what balance leaves open. */
	for (int k = 0; k < pieces; k++) {
		for (int j = 0; j < pieces; j++)
			linear->a[(n + k) * pieces + j] = j == k ? 1e-7 : 0.0;
		rest[n + k] = 0.0;
	}
	for (int i = first; i < n - equations->givens.count; i++)
		rest[i] = 0.0; /* lengths have no say here */
	for (int i = 0; i < rows; i++)
		rest[i] = -rest[i];
	rv_linear_least(linear->a, rows, pieces, rest);
	for (int k = 0; k < pieces; k++)
		tension->start_n[k] += rest[k] * equations->force_n;
	return RV_FULL_STEP_DONE;
}

struct place {
	double at_m[RV_EQUATIONS_FLOATS][RV_DIM];
	double start_n[RV_REEVE_PIECES];
};

static void keep(const struct rv_solving *s, struct place *place)
{
	for (int f = 0; f < s->equations->floats; f++)
		memcpy(place->at_m[f], s->layout->pose.at_m[s->equations->floating[f]],
		       sizeof place->at_m[f]);
	memcpy(place->start_n, s->tension->start_n, sizeof place->start_n);
}

static void go(const struct rv_solving *s, const struct place *from, double factor,
	       const double *way)
{
	const struct rv_equations *equations = s->equations;
	struct rv_layout *layout = s->layout;

	for (int f = 0; f < equations->floats; f++)
		for (int i = 0; i < equations->dimensions; i++)
			layout->pose.at_m[equations->floating[f]][i] =
			    from->at_m[f][i] +
			    factor * equations->length_m * way[f * equations->dimensions + i];
	for (int k = 0; k < layout->reeving.pieces; k++)
		s->tension->start_n[k] =
		    from->start_n[k] + factor * equations->force_n * way[equations->positions + k];
}

/* Along the way as far as it leaves less over; halved until it does.  Returns what is left over, or
 * a negative number when nothing is gained. */
static double descend(const struct rv_solving *s, const double *way, double *rest)
{
	double before = largest(rest, s->equations->n);
	double far = largest(way, s->equations->positions);
	double factor = far > STRIDE ? STRIDE / far : 1.0;
	struct place from;

	keep(s, &from);
	for (int i = 0; i < HALVINGS; i++) {
		go(s, &from, factor, way);
		double left = rv_equations_rest(s, rest) ? largest(rest, s->equations->n) : 1e300;
		if (left < before * (1.0 - 1e-4 * factor))
			return left;
		factor *= 0.5;
	}
	go(s, &from, 0.0, way);
	(void)rv_equations_rest(s, rest);
	return -1.0;
}

enum rv_full_step rv_full_step_solve(const struct rv_solving *s, int *steps)
{
	int n = s->equations->n;
	double rest[RV_LINEAR_MOST], way[RV_LINEAR_MOST];

	if (!rv_equations_rest(s, rest))
		return RV_FULL_STEP_MEETS;
	double left = largest(rest, n);
	for (*steps = 0; *steps <= STEPS; (*steps)++) {
		rv_equations_matrix(s);
		if (rv_linear_factor(s->linear) < SINGULAR)
			return RV_FULL_STEP_SINGULAR;
		if (left < AIM)
			return RV_FULL_STEP_DONE;
		for (int i = 0; i < n; i++)
			way[i] = -rest[i];
		rv_linear_solve(s->linear, way);
		double now = descend(s, way, rest);
		if (now < 0.0)
			return left < GOOD ? RV_FULL_STEP_DONE : RV_FULL_STEP_STALLED;
		left = now;
	}
	return RV_FULL_STEP_STALLED;
}
