/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/envelope_piece.h"

#include <math.h>

/* Sizes nearer than this are the same. */
#define SAME_RATIO 1e-14
/* By how much the square of one size passes that of another: d2 T^2 + 2 d1 T + d0. */
struct lead {
	double d2, d1, d0;
};

static double told_apart(double x, double y)
{
	return fabs(x - y) > SAME_RATIO * (fabs(x) + fabs(y)) ? x - y : 0.0;
}

static struct lead lead_of(const struct rv_envelope_piece *one,
			   const struct rv_envelope_piece *other)
{
	return (struct lead){
	    told_apart(rv_pose_dot(one->a, one->a), rv_pose_dot(other->a, other->a)),
	    told_apart(rv_pose_dot(one->a, one->b_n), rv_pose_dot(other->a, other->b_n)),
	    told_apart(rv_pose_dot(one->b_n, one->b_n), rv_pose_dot(other->b_n, other->b_n)),
	};
}

/* Straight lines are not squared: near zero a square has lost half of its digits. */
static bool is_line_ahead(const struct rv_envelope_piece *one,
			  const struct rv_envelope_piece *other, double load_n)
{
	double a1 = one->a[0], b1 = one->b_n[0], a2 = other->a[0], b2 = other->b_n[0];

	if (isinf(load_n)) {
		double more = told_apart(fabs(a1), fabs(a2));
		return more > 0.0 || (!(more < 0.0) && told_apart(copysign(1.0, a1) * b1,
								  copysign(1.0, a2) * b2) > 0.0);
	}
	double x = a1 * load_n + b1, y = a2 * load_n + b2, lead = fabs(x) - fabs(y);
	double tie1 = SAME_RATIO * (fabs(a1 * load_n) + fabs(b1));
	double tie2 = SAME_RATIO * (fabs(a2 * load_n) + fabs(b2));
	if (fabs(lead) > tie1 + tie2)
		return lead > 0.0;
	double up1 = fabs(x) > tie1 ? copysign(1.0, x) * a1 : fabs(a1);
	double up2 = fabs(y) > tie2 ? copysign(1.0, y) * a2 : fabs(a2);
	return told_apart(up1, up2) > 0.0;
}

static int line_even_at(const struct rv_envelope_piece *one, const struct rv_envelope_piece *other,
			double at_n[2])
{
	int count = 0;

	for (int sign = -1; sign <= 1; sign += 2) {
		double a = told_apart(one->a[0], -sign * other->a[0]);
		double b_n = told_apart(one->b_n[0], -sign * other->b_n[0]);
		if (fabs(a) > 0.0)
			at_n[count++] = -b_n / a;
	}
	if (count == 2 && at_n[0] > at_n[1]) {
		double first_n = at_n[1];
		at_n[1] = at_n[0];
		at_n[0] = first_n;
	}
	return count;
}

bool rv_envelope_piece_is_ahead(const struct rv_envelope_piece *one,
				const struct rv_envelope_piece *other, double load_n)
{
	if (one->line && other->line)
		return is_line_ahead(one, other, load_n);
	struct lead d = lead_of(one, other);
	if (isinf(load_n))
		return d.d2 > 0.0 ||
		       (!(d.d2 < 0.0) && (d.d1 > 0.0 || (!(d.d1 < 0.0) && d.d0 > 0.0)));
	double square = d.d2 * load_n * load_n, twice = 2.0 * d.d1 * load_n;
	double now = square + twice + d.d0;
	double slope = d.d2 * load_n + d.d1;

	if (fabs(now) > SAME_RATIO * (fabs(square) + fabs(twice) + fabs(d.d0)))
		return now > 0.0;
	if (fabs(slope) > SAME_RATIO * (fabs(d.d2 * load_n) + fabs(d.d1)))
		return slope > 0.0;
	return d.d2 > 0.0;
}

static int roots(const struct lead *d, double at_n[2])
{
	double under = d->d1 * d->d1 - d->d2 * d->d0;

	if (!(fabs(d->d2) > 0.0)) {
		at_n[0] = -d->d0 / (2.0 * d->d1);
		return fabs(d->d1) > 0.0 ? 1 : 0;
	}
	if (!(under > 0.0))
		return 0;
	/* The form without cancellation for either sign. */
	double sum = -(d->d1 + copysign(sqrt(under), d->d1));
	double x = sum / d->d2, y = d->d0 / sum;
	at_n[0] = fmin(x, y);
	at_n[1] = fmax(x, y);
	return 2;
}

int rv_envelope_piece_even_at(const struct rv_envelope_piece *one,
			      const struct rv_envelope_piece *other, double at_n[2])
{
	if (one->line && other->line)
		return line_even_at(one, other, at_n);
	struct lead d = lead_of(one, other);
	return roots(&d, at_n);
}

double rv_envelope_piece_overtakes_at(const struct rv_envelope_piece *one,
				      const struct rv_envelope_piece *other, double above_n)
{
	double at_n[2];
	int count = rv_envelope_piece_even_at(one, other, at_n);

	for (int i = 0; i < count; i++)
		if (at_n[i] > above_n * (1.0 + SAME_RATIO) &&
		    rv_envelope_piece_is_ahead(one, other, at_n[i]))
			return at_n[i];
	return (double)INFINITY;
}

void rv_envelope_piece_straighten(struct rv_envelope_piece *piece)
{
	double *a = piece->a, *b = piece->b_n;
	double size_a = rv_pose_size(a), size_b = rv_pose_size(b), along = rv_pose_dot(a, b);
	double cross[RV_DIM] = {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2],
				a[0] * b[1] - a[1] * b[0]};

	piece->line = !(rv_pose_size(cross) > SAME_RATIO * size_a * size_b);
	if (!piece->line)
		return;
	*piece = (struct rv_envelope_piece){.until_n = (double)INFINITY, .line = true};
	piece->a[0] = size_a;
	piece->b_n[0] = copysign(size_b, along);
}
