/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/rest.h"

#include <math.h>
#include <string.h>

/* Stiffness in units of force over length, from soft to nearly rigid. */
#define SOFTEST 10.0
enum { STIFFENINGS = 9, STEPS = 60, HALVINGS = 30 };
#define AT_REST 1e-10
/* Slack: carries less than this, in units of force. */
#define NOTHING 1e-7

struct shape {
	const struct rv_equations *equations;
	struct rv_layout *layout;
	struct rv_linear *linear;
	double stiffness;
	double pull[RV_REEVE_PIECES]; /* of winches, in units of force */
	double excess[RV_REEVE_PIECES];
	double gradient[RV_LINEAR_MOST];
};

static double length_of(const struct shape *shape, int piece)
{
	const struct rv_reeve_piece *p = &shape->layout->reeving.piece[piece];
	double sum_m = 0.0;

	for (int k = 0; k < p->legs; k++)
		sum_m += shape->layout->pose.length_m[p->first_leg + k];
	return sum_m / shape->equations->length_m;
}

/* The sum that is to be least, and the tension of each piece at this place. */
static bool value_of(struct shape *shape, double *value)
{
	const struct rv_equations *eq = shape->equations;
	struct rv_layout *layout = shape->layout;
	double sum = 0.0;

	if (rv_pose_place(&layout->rig, &layout->reeving, &layout->pose, NULL) != RV_OK)
		return false;
	for (int i = 0; i < layout->reeving.pieces; i++) {
		double length = length_of(shape, i);

		if (isnan(eq->target_m[i])) {
			sum += shape->pull[i] * length;
			continue;
		}
		double over = fmax(0.0, length - eq->target_m[i] / eq->length_m);
		shape->excess[i] = over;
		sum += 0.5 * shape->stiffness * over * over;
	}
	for (int f = 0; f < eq->floats; f++) {
		int p = eq->floating[f];
		sum -= rv_pose_dot(layout->set.outside_n[p], layout->pose.at_m[p]) /
		       (eq->force_n * eq->length_m);
	}
	*value = sum;
	return true;
}

static double tension_of(const struct shape *shape, int piece)
{
	return isnan(shape->equations->target_m[piece]) ? shape->pull[piece]
							: shape->stiffness * shape->excess[piece];
}

/* How the length of a piece grows with each place. */
static void length_slope(const struct shape *shape, int piece, double *slope)
{
	const struct rv_equations *eq = shape->equations;
	const struct rv_reeve_piece *p = &shape->layout->reeving.piece[piece];

	memset(slope, 0, sizeof *slope * (size_t)eq->positions);
	for (int l = p->first_leg; l < p->first_leg + p->legs; l++) {
		int a = eq->column[shape->layout->reeving.leg[l].a];
		int b = eq->column[shape->layout->reeving.leg[l].b];

		for (int i = 0; i < eq->dimensions; i++) {
			if (a >= 0)
				slope[a + i] -= shape->layout->pose.direction[l][i];
			if (b >= 0)
				slope[b + i] += shape->layout->pose.direction[l][i];
		}
	}
}

/* A leg under tension resists being turned. */
static void add_turning(struct shape *shape, int leg, double tension)
{
	const struct rv_equations *eq = shape->equations;
	const double *d = shape->layout->pose.direction[leg];
	int end[] = {eq->column[shape->layout->reeving.leg[leg].a],
		     eq->column[shape->layout->reeving.leg[leg].b]};
	double factor = tension * eq->length_m / shape->layout->pose.length_m[leg];
	int n = eq->positions;

	for (int e = 0; e < 4; e++) {
		int row = end[e / 2], column = end[e % 2];
		double sign = e == 0 || e == 3 ? factor : -factor;

		if (row < 0 || column < 0)
			continue;
		for (int i = 0; i < eq->dimensions; i++)
			for (int j = 0; j < eq->dimensions; j++)
				shape->linear->a[(row + i) * n + column + j] +=
				    sign * ((i == j) - d[i] * d[j]);
	}
}

static void set_gradient(struct shape *shape)
{
	const struct rv_equations *eq = shape->equations;
	double slope[RV_LINEAR_MOST] = {0.0};

	for (int f = 0; f < eq->floats; f++)
		for (int i = 0; i < eq->dimensions; i++)
			shape->gradient[f * eq->dimensions + i] =
			    -shape->layout->set.outside_n[eq->floating[f]][i] / eq->force_n;
	for (int k = 0; k < shape->layout->reeving.pieces; k++) {
		double tension = tension_of(shape, k);

		length_slope(shape, k, slope);
		for (int i = 0; i < eq->positions; i++)
			shape->gradient[i] += tension * slope[i];
	}
}

static void set_bend(struct shape *shape, double stiffening)
{
	const struct rv_equations *eq = shape->equations;
	const struct rv_reeving *reeving = &shape->layout->reeving;
	int n = eq->positions;
	double slope[RV_LINEAR_MOST] = {0.0};

	shape->linear->n = n;
	memset(shape->linear->a, 0, sizeof *shape->linear->a * (size_t)(n * n));
	for (int i = 0; i < n; i++)
		shape->linear->a[i * n + i] = stiffening;
	for (int l = 0; l < reeving->legs; l++)
		add_turning(shape, l, tension_of(shape, reeving->leg[l].piece));
	for (int k = 0; k < reeving->pieces; k++) {
		if (isnan(eq->target_m[k]) || !(shape->excess[k] > 0.0))
			continue;
		length_slope(shape, k, slope);
		for (int i = 0; i < n; i++)
			for (int j = 0; j < n; j++)
				shape->linear->a[i * n + j] +=
				    shape->stiffness * slope[i] * slope[j];
	}
}

static void move(const struct shape *shape, const double from[][RV_DIM], double factor,
		 const double *way)
{
	const struct rv_equations *eq = shape->equations;

	for (int f = 0; f < eq->floats; f++)
		for (int i = 0; i < eq->dimensions; i++)
			shape->layout->pose.at_m[eq->floating[f]][i] =
			    from[f][i] + factor * eq->length_m * way[f * eq->dimensions + i];
}

/* One step downhill.  False: none is left to take. */
static bool step(struct shape *shape, double *value)
{
	const struct rv_equations *eq = shape->equations;
	double way[RV_LINEAR_MOST] = {0.0}, from[RV_EQUATIONS_FLOATS][RV_DIM] = {{0.0}};
	double slope = 0.0, most = 0.0, tried;

	set_gradient(shape);
	set_bend(shape, 1e-6);
	(void)rv_linear_factor(shape->linear);
	for (int i = 0; i < eq->positions; i++)
		way[i] = -shape->gradient[i];
	rv_linear_solve(shape->linear, way);
	for (int i = 0; i < eq->positions; i++) {
		slope += way[i] * shape->gradient[i];
		most = fmax(most, fabs(way[i]));
	}
	if (!(slope < 0.0) || most < AT_REST)
		return false;
	for (int f = 0; f < eq->floats; f++)
		memcpy(from[f], shape->layout->pose.at_m[eq->floating[f]], sizeof from[f]);
	double factor = most > 0.3 ? 0.3 / most : 1.0;
	for (int i = 0; i < HALVINGS; i++) {
		move(shape, from, factor, way);
		if (value_of(shape, &tried) && tried <= *value + 1e-4 * factor * slope) {
			*value = tried;
			return true;
		}
		factor *= 0.5;
	}
	move(shape, from, 0.0, way);
	(void)value_of(shape, value);
	return false;
}

bool rv_rest_find(const struct rv_solving *s, bool slack[RV_REEVE_PIECES])
{
	const struct rv_equations *equations = s->equations;
	const struct rv_layout *layout = s->layout;
	struct shape shape = {.equations = equations, .layout = s->layout, .linear = s->linear};
	double value = 0.0;

	for (int i = 0; i < layout->reeving.pieces; i++)
		shape.pull[i] = fmax(1e-3, s->tension->start_n[i] / equations->force_n);
	for (int k = 0; k < STIFFENINGS; k++) {
		shape.stiffness = SOFTEST * pow(10.0, k);
		if (!value_of(&shape, &value))
			return false;
		for (int i = 0; i < STEPS && step(&shape, &value); i++)
			;
	}
	for (int i = 0; i < layout->reeving.pieces; i++) {
		double carried = tension_of(&shape, i);
		s->tension->start_n[i] = carried * equations->force_n;
		slack[i] = !isnan(equations->target_m[i]) && carried < NOTHING;
	}
	return true;
}
