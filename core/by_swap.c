/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/by_swap.h"

#include <math.h>

#include "core/stats.h"

struct side {
	int count;
	const struct rv_estimate_pull *pull[RV_ESTIMATE_PULLS];
	double x[RV_ESTIMATE_PULLS];
	double log_ratio[RV_ESTIMATE_PULLS];
};

/* The pulls of one direction, by arrangement. */
struct sides {
	struct side side[2];
	struct rv_invert f;
};

/* False: a pull no efficiency explains. */
static bool split(const struct rv_estimate_pull *const *pulls, int count, struct sides *sides)
{
	bool answered = true;

	sides->side[0].count = sides->side[1].count = 0;
	for (int i = 0; i < count; i++) {
		struct side *side = &sides->side[pulls[i]->exchanged];
		int n = side->count++;

		side->pull[n] = pulls[i];
		side->log_ratio[n] = pulls[i]->log_ratio;
		side->x[n] = rv_invert_solve(&sides->f, pulls[i]->log_ratio, rv_invert_wide());
		answered = answered && isfinite(side->x[n]);
	}
	return answered;
}

struct few {
	const double *values;
	int count;
};

/* Half of the sum of both means (sign 1) or of their difference (sign -1), scatter pooled. */
static struct rv_value half_of_both(struct few a, struct few b, double sign)
{
	struct rv_stats_sample p = rv_stats_sample(a.values, a.count);
	struct rv_stats_sample q = rv_stats_sample(b.values, b.count);
	double dof = p.count + q.count - 2;
	double pooled = ((p.count - 1) * p.sd * p.sd + (q.count - 1) * q.sd * q.sd) / dof;

	return (struct rv_value){
	    .at = 0.5 * (p.mean + sign * q.mean),
	    .u = 0.5 * sqrt(pooled * (1.0 / p.count + 1.0 / q.count)),
	    .dof = dof,
	};
}

/* Means of the stints of one arrangement, in the order of time.  Returns how many. */
static int stint_means(const struct side *side, const double *values, double *means)
{
	int stints = 0, in_stint = 0;

	for (int i = 0; i < side->count; i++) {
		if (i == 0 || side->pull[i]->stint != side->pull[i - 1]->stint) {
			means[stints++] = 0.0;
			in_stint = 0;
		}
		in_stint++;
		means[stints - 1] += (values[i] - means[stints - 1]) / in_stint;
	}
	return stints;
}

/* Half of the sum (sign 1) or difference (sign -1) of the values of the two arrangements.  The
 * stint is the unit where each has two; else the pull, which leans on its neighbours. */
static struct rv_value half_of(const struct rv_question *question, const struct sides *sides,
			       const double *const values[2], double sign)
{
	const struct side *p = &sides->side[0], *q = &sides->side[1];
	const struct rv_estimate_pull *all[RV_ESTIMATE_PULLS];
	double of_p[RV_ESTIMATE_PULLS], of_q[RV_ESTIMATE_PULLS];
	struct rv_repeat repeat;
	int np = stint_means(p, values[0], of_p), nq = stint_means(q, values[1], of_q);

	if (isnan(question->setup->correlation) && np >= 2 && nq >= 2)
		return half_of_both((struct few){of_p, np}, (struct few){of_q, nq}, sign);
	for (int i = 0; i < p->count + q->count; i++)
		all[i] = i < p->count ? p->pull[i] : q->pull[i - p->count];
	rv_answer_repeat(question, all, p->count + q->count, &repeat);
	if (repeat.by_stint)
		repeat.correlation = RV_REPEAT_SAME_STINT;
	struct rv_value value = half_of_both((struct few){values[0], p->count},
					     (struct few){values[1], q->count}, sign);
	struct rv_stats_row row = rv_stats_row(p->count + q->count, repeat.correlation);
	value.u *= row.factor;
	value.dof = fmin(value.dof, fmax(1.0, row.dof - 1.0));
	return value;
}

static struct rv_value x_of(const struct rv_question *question, const struct sides *sides)
{
	const double *const x[2] = {sides->side[0].x, sides->side[1].x};
	struct rv_value value = half_of(question, sides, x, 1.0);
	struct rv_value_effect effect = {0};
	double slope = rv_invert_slope(&sides->f, value.at);

	for (int s = 0; s < 2; s++)
		for (int i = 0; i < sides->side[s].count; i++)
			rv_value_add_pull(&effect, sides->side[s].pull[i],
					  0.5 / sides->side[s].count / slope);
	effect.gain = 0.0; /* by design; what rounding leaves is no uncertainty */
	value.parts = rv_value_parts_of(&effect, question->setup, question->run);
	value.parts.remount = question->setup->u_remount_ratio / fabs(slope);
	value.extra = rv_answer_surge(question) / fabs(slope);
	rv_value_close(&value);
	return value;
}

static struct rv_value gain_of(const struct rv_question *question, const struct sides *sides)
{
	const double *const values[2] = {sides->side[0].log_ratio, sides->side[1].log_ratio};
	struct rv_value value = half_of(question, sides, values, -1.0);
	struct rv_value_effect effect = {0};

	for (int s = 0; s < 2; s++)
		for (int i = 0; i < sides->side[s].count; i++)
			rv_value_add_pull(&effect, sides->side[s].pull[i],
					  (s == 0 ? 0.5 : -0.5) / sides->side[s].count);
	effect.gain = 0.0; /* it is what is found */
	value.parts = rv_value_parts_of(&effect, question->setup, question->run);
	value.parts.remount = question->setup->u_remount_ratio;
	rv_value_close(&value);
	return value;
}

/* The excess of the loss paying out, from cycles the one and the other way round. */
static void set_excess(const struct rv_question *question, struct rv_answer *answer)
{
	const struct rv_chosen *chosen = question->chosen;
	const struct rv_estimate_curve *curve = &question->setup->curve;
	struct sides sums = {0};
	struct rv_value_effect effect = {0};
	double at = rv_answer_half_sum(curve, answer->mean.at);
	double k = rv_answer_excess_k(curve, answer->mean.at);

	for (int i = 0; i < chosen->cycles; i++) {
		const struct rv_estimate_pull *in = chosen->cycle[i].in,
					      *out = chosen->cycle[i].out;
		struct side *side = &sums.side[in->exchanged];
		side->pull[side->count] = in;
		side->x[side->count++] = 0.5 * (in->log_ratio + out->log_ratio) - at;
	}
	if (sums.side[0].count < 2 || sums.side[1].count < 2 || !(fabs(k) > 0.0))
		return;
	for (int i = 0; i < chosen->cycles; i++) {
		double share = 0.25 / sums.side[chosen->cycle[i].in->exchanged].count;
		rv_value_add_pull(&effect, chosen->cycle[i].in, share);
		rv_value_add_pull(&effect, chosen->cycle[i].out, share);
	}
	const double *const values[2] = {sums.side[0].x, sums.side[1].x};
	struct rv_value value = half_of(question, &sums, values, 1.0);
	effect.gain = 0.0;
	value.parts = rv_value_parts_of(&effect, question->setup, question->run);
	value.parts.remount = question->setup->u_remount_ratio;
	rv_value_close(&value);
	rv_answer_set_excess(&value, k, answer);
}

static void compare_with_calibration(const struct rv_question *question,
				     const struct rv_value *gain)
{
	double stated = rv_value_gain_u(question->setup, question->run);
	double u = hypot(hypot(gain->u, rv_value_parts_u(&gain->parts)), stated);

	if (fabs(gain->at) > 3.0 * u)
		rv_estimate_warn(
		    question->estimate, "gain_or_asymmetry",
		    "The gain ratio of the two cells is %+.2f %% off their calibrations: a cell is "
		    "outside its calibration. The efficiency is free of it.",
		    100.0 * gain->at);
}

/* A haul that lies where the other arrangement's do, judged by the rest. */
static void look_for_labels(const struct rv_question *question, const struct sides *sides)
{
	for (int s = 0; s < 2; s++)
		for (int i = 0; i < sides->side[s].count; i++) {
			const struct side *own = &sides->side[s], *other = &sides->side[1 - s];
			double rest[RV_ESTIMATE_PULLS];
			int n = 0;

			for (int j = 0; j < own->count; j++)
				if (j != i)
					rest[n++] = own->log_ratio[j];
			double sd =
			    fmax(rv_stats_sd(rest, n), rv_stats_sd(other->log_ratio, other->count));
			double at = own->log_ratio[i];
			double away = fabs(at - rv_stats_mean(rest, n));
			double across = fabs(at - rv_stats_mean(other->log_ratio, other->count));
			if (n >= 2 && away > 5.0 * sd && across < 2.0 * sd)
				rv_estimate_warn(
				    question->estimate, "arrangement_label",
				    "Pull %d reads like those of the other arrangement of "
				    "the cells: look whether it is noted rightly.",
				    own->pull[i]->index);
		}
}

static void add_units(const struct rv_question *question, const struct sides *sides, double slope)
{
	const struct side *a = &sides->side[0], *b = &sides->side[1];
	double shift = 0.5 * (rv_stats_mean(a->x, a->count) - rv_stats_mean(b->x, b->count));

	for (int i = 0; i < a->count + b->count; i++) {
		int s = i >= a->count, n = s ? i - a->count : i;
		const struct side *side = &sides->side[s];
		struct rv_value_effect effect = {0};

		rv_value_add_pull(&effect, side->pull[n], 1.0 / slope);
		rv_answer_add_unit(question, side->pull[n], side->x[n] + (s ? shift : -shift),
				   side->log_ratio[n], &effect);
	}
}

static bool may_be_exchanged(const struct rv_question *question)
{
	double a = question->run->cell[RV_PULL_NEAR].capacity_n;
	double b = question->run->cell[RV_PULL_FAR].capacity_n;

	if (a > 2.0 * b || b > 2.0 * a) {
		rv_estimate_refuse(
		    question->estimate, "exchange_not_possible",
		    "Exchange two cells of like capacity, or calibrate them in series.",
		    "The two cells are for forces that differ by more than twice (%.0f and "
		    "%.0f N).",
		    a, b);
		return false;
	}
	return true;
}

void rv_by_swap(const struct rv_question *question, struct rv_answer *answer)
{
	const struct rv_chosen *chosen = question->chosen;
	const struct rv_estimate_curve *curve = &question->setup->curve;
	struct sides in = {.f = {curve, 1.0, 0.0, 0.0}}, out = {.f = {curve, 0.0, 1.0, 0.0}};

	if (!may_be_exchanged(question))
		return;
	bool answered = split(chosen->haul, chosen->hauls, &in);
	if (in.side[0].count < 2 || in.side[1].count < 2) {
		rv_estimate_refuse(
		    question->estimate, "exchange_incomplete",
		    "Haul at least twice, better three times, with the cells each way round.",
		    "%d hauls count with the cells as declared and %d with them exchanged; 2 of "
		    "each "
		    "are needed.",
		    in.side[0].count, in.side[1].count);
		return;
	}
	if (!answered) {
		rv_estimate_refuse(question->estimate, "below_floor",
				   "Look at the declared rig and at the scaling of the cells.",
				   "No efficiency from 0.3 to 2.5 explains a pull.");
		return;
	}
	answer->in = x_of(question, &in);
	answer->gain = gain_of(question, &in);
	look_for_labels(question, &in);
	compare_with_calibration(question, &answer->gain);
	add_units(question, &in, rv_invert_slope(&in.f, answer->in.at));
	if (!split(chosen->out, chosen->outs, &out) || out.side[0].count < 2 ||
	    out.side[1].count < 2)
		return;
	answer->out = x_of(question, &out);
	if (chosen->cycles >= 3) {
		const struct rv_estimate_pull *haul[RV_ESTIMATE_PULLS];
		struct rv_repeat repeat;
		for (int i = 0; i < chosen->cycles; i++)
			haul[i] = chosen->cycle[i].in;
		rv_answer_repeat(question, haul, chosen->cycles, &repeat);
		answer->mean = rv_answer_mean(question, &repeat);
		set_excess(question, answer);
	}
}
