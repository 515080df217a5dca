/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/by_cycles.h"

#include <math.h>

#include "core/stats.h"

/* Scatter of a log ratio from pull to pull that the weights are chosen for; own choice. */
#define NOMINAL_SCATTER 0.009
#define CONFLICT 2.5

struct work {
	const struct rv_question *question;
	int count;
	struct rv_repeat repeat;
	struct rv_invert both, in;
	double u_gain; /* NaN: not stated */
	double weight; /* of the cycles against the calibration */
	double h1, h2; /* slopes */
	double bias;   /* of x1 */
	double x1[RV_ESTIMATE_PULLS], x2[RV_ESTIMATE_PULLS], z[RV_ESTIMATE_PULLS];
	const struct rv_estimate_pull *haul[RV_ESTIMATE_PULLS];
};

static double mean_difference(const struct work *work)
{
	double sum = 0.0;

	for (int i = 0; i < work->count; i++)
		sum += work->repeat.weight[i] * (work->question->chosen->cycle[i].in->log_ratio -
						 work->question->chosen->cycle[i].out->log_ratio);
	return sum;
}

static bool solve_each(struct work *work)
{
	struct rv_invert_range range = rv_invert_usual();
	bool answered = true;

	for (int i = 0; i < work->count; i++) {
		double in = work->haul[i]->log_ratio;
		double out = work->question->chosen->cycle[i].out->log_ratio;

		work->x1[i] = rv_invert_solve(&work->both, in - out, range);
		work->x2[i] =
		    isnan(work->u_gain) ? work->x1[i] : rv_invert_solve(&work->in, in, range);
		answered = answered && isfinite(work->x1[i]) && isfinite(work->x2[i]);
	}
	return answered;
}

/* Half of what the bounds of the excess do to the x of the mean difference. */
static double excess_bias(const struct work *work)
{
	const struct rv_estimate_setup *setup = work->question->setup;
	struct rv_invert low = work->both, high = work->both;
	double difference = mean_difference(work);

	low.excess_ratio = setup->excess_low_ratio;
	high.excess_ratio = setup->excess_high_ratio;
	return 0.5 * fabs(rv_invert_solve(&low, difference, rv_invert_usual()) -
			  rv_invert_solve(&high, difference, rv_invert_usual()));
}

static double choose_weight(const struct work *work)
{
	double best = 1.0, least = INFINITY, u2 = work->u_gain / fabs(work->h2);
	double scatter = NOMINAL_SCATTER / (fabs(work->h2) * sqrt(work->count));

	if (isnan(work->u_gain) || !(work->bias > 0.0))
		return 1.0;
	for (int tenth = 0; tenth <= 10; tenth++) {
		double w = tenth / 10.0, u = hypot((1.0 - w) * u2, scatter);
		double half = u * rv_stats_biased(w * work->bias / u);

		if (half < least) {
			least = half;
			best = w;
		}
	}
	return best;
}

/* How errors move a w1 x1 + w2 x2 of the mean. */
static struct rv_value_effect effect_of(const struct work *work, double w1, double w2)
{
	struct rv_value_effect effect = {0};

	for (int i = 0; i < work->count; i++) {
		double share = work->repeat.weight[i];
		rv_value_add_pull(&effect, work->haul[i], share * (w1 / work->h1 + w2 / work->h2));
		rv_value_add_pull(&effect, work->question->chosen->cycle[i].out,
				  -share * w1 / work->h1);
	}
	return effect;
}

static void add_units(const struct work *work)
{
	for (int i = 0; i < work->count; i++) {
		const struct rv_estimate_pull *out = work->question->chosen->cycle[i].out;
		struct rv_value_effect effect = {0};

		rv_value_add_pull(&effect, work->haul[i],
				  work->weight / work->h1 + (1.0 - work->weight) / work->h2);
		rv_value_add_pull(&effect, out, -work->weight / work->h1);
		rv_answer_add_unit(work->question, work->haul[i], work->z[i],
				   work->haul[i]->log_ratio - out->log_ratio, &effect);
	}
}

static struct rv_value combine(const struct work *work)
{
	struct rv_repeat_mean mean = rv_repeat_mean(&work->repeat, work->z);
	struct rv_value value = {.at = mean.mean, .u = mean.u, .dof = mean.dof};
	struct rv_value_effect effect = effect_of(work, work->weight, 1.0 - work->weight);
	const struct rv_question *question = work->question;

	value.parts = rv_value_parts_of(&effect, question->setup, question->run);
	value.bias = work->weight * work->bias;
	value.extra = 2.0 * rv_answer_surge(question) / fabs(work->h1);
	value.wider = question->setup->state_bias_log / fabs(work->h1);
	rv_value_close(&value);
	return value;
}

/* Efficiency paying out, from those pulls and the calibrated gain alone. */
static struct rv_value paying_out(const struct work *work)
{
	const struct rv_question *question = work->question;
	struct rv_invert out = {&question->setup->curve, 0.0, 1.0, 0.0};
	struct rv_value_effect effect = {0};
	double log_ratio[RV_ESTIMATE_PULLS];

	if (isnan(work->u_gain))
		return rv_value_none();
	for (int i = 0; i < work->count; i++) {
		log_ratio[i] = question->chosen->cycle[i].out->log_ratio;
		rv_value_add_pull(&effect, question->chosen->cycle[i].out, work->repeat.weight[i]);
	}
	struct rv_repeat_mean mean = rv_repeat_mean(&work->repeat, log_ratio);
	struct rv_value value = {.at = mean.mean, .u = mean.u, .dof = mean.dof};
	value.parts = rv_value_parts_of(&effect, question->setup, question->run);
	value.extra = rv_answer_surge(question);
	rv_value_close(&value);
	return rv_value_map(&value, &out);
}

/* What is left of the gain and the excess of the loss paying out: half the sum of both ways, less
 * what the rig gives at the mean efficiency, is gain - q k with q = excess / (1 + excess / 2). */
static void gain_and_excess(const struct work *work, const struct rv_value *mean,
			    struct rv_answer *answer)
{
	const struct rv_question *question = work->question;
	const struct rv_estimate_setup *setup = question->setup;
	struct rv_value_effect effect = {0};
	double sum[RV_ESTIMATE_PULLS];
	double at = rv_answer_half_sum(&setup->curve, mean->at);
	double k = rv_answer_excess_k(&setup->curve, mean->at);

	for (int i = 0; i < work->count; i++) {
		const struct rv_estimate_pull *pay = question->chosen->cycle[i].out;
		sum[i] = 0.5 * (work->haul[i]->log_ratio + pay->log_ratio) - at;
		rv_value_add_pull(&effect, work->haul[i], 0.5 * work->repeat.weight[i]);
		rv_value_add_pull(&effect, pay, 0.5 * work->repeat.weight[i]);
	}
	struct rv_repeat_mean row = rv_repeat_mean(&work->repeat, sum);
	struct rv_value whole = {.at = row.mean, .u = row.u, .dof = row.dof};
	whole.parts = rv_value_parts_of(&effect, setup, question->run);
	struct rv_value in_place = whole;
	double q_low = setup->excess_low_ratio / (1.0 + 0.5 * setup->excess_low_ratio);
	double q_high = setup->excess_high_ratio / (1.0 + 0.5 * setup->excess_high_ratio);
	in_place.parts.gain = in_place.parts.geometry = 0.0;
	in_place.at += 0.5 * (q_low + q_high) * k;
	in_place.bias = 0.5 * fabs(k) * (q_high - q_low);
	rv_value_close(&in_place);
	answer->gain = in_place;
	if (isnan(work->u_gain) || !(fabs(k) > 0.0))
		return;
	rv_value_close(&whole);
	rv_answer_set_excess(&whole, k, answer);
	if (fabs(whole.at) > 3.0 * hypot(whole.u, rv_value_parts_u(&whole.parts)))
		rv_estimate_warn(question->estimate, "gain_or_asymmetry",
				 "Hauling and paying out do not agree with the calibration by %.2f "
				 "%%: a cell is "
				 "outside its calibration, or paying out costs more than hauling.",
				 100.0 * fabs(whole.at));
}

/* True: the cycles contradict the calibration beyond the bounds of the excess. */
static bool conflict(const struct work *work, const struct rv_value *mean)
{
	struct rv_value_effect effect = effect_of(work, 1.0, -1.0);
	const struct rv_question *question = work->question;
	double difference[RV_ESTIMATE_PULLS];

	if (isnan(work->u_gain))
		return false;
	for (int i = 0; i < work->count; i++)
		difference[i] = work->x1[i] - work->x2[i];
	struct rv_repeat_mean row = rv_repeat_mean(&work->repeat, difference);
	struct rv_value_parts parts = rv_value_parts_of(&effect, question->setup, question->run);
	double beyond = fabs(row.mean) - work->bias;
	double u = sqrt(row.u * row.u + pow(rv_value_parts_u(&parts), 2));
	if (!(beyond > CONFLICT * u))
		return false;
	struct rv_repeat_mean by_gain = rv_repeat_mean(&work->repeat, work->x2);
	rv_estimate_refuse(
	    question->estimate, "gain_asymmetry_conflict",
	    "Exchange the two cells half-way, calibrate them in series on one line, or "
	    "declare a wider excess.",
	    "By the calibration the efficiency is %.4f, by the cycles (mean of both directions) "
	    "%.4f: "
	    "they do not fit for any excess of the loss paying out from %.0f to %.0f %%.",
	    exp(by_gain.mean), exp(mean->at), 100.0 * question->setup->excess_low_ratio,
	    100.0 * question->setup->excess_high_ratio);
	return true;
}

static void prepare(const struct rv_question *question, struct work *work)
{
	const struct rv_estimate_setup *setup = question->setup;
	double middle = 0.5 * (setup->excess_low_ratio + setup->excess_high_ratio);

	work->question = question;
	work->count = question->chosen->cycles;
	work->both = (struct rv_invert){&setup->curve, 1.0, -1.0, middle};
	work->in = (struct rv_invert){&setup->curve, 1.0, 0.0, 0.0};
	work->u_gain = rv_value_gain_u(setup, question->run);
	for (int i = 0; i < work->count; i++)
		work->haul[i] = question->chosen->cycle[i].in;
	rv_answer_repeat(question, work->haul, work->count, &work->repeat);
}

/* True: hauling loses less tension than paying out gains, which friction cannot do. */
static bool goes_backwards(const struct work *work)
{
	double difference[RV_ESTIMATE_PULLS], without = rv_invert_at(&work->both, 0.0);

	for (int i = 0; i < work->count; i++)
		difference[i] = work->haul[i]->log_ratio -
				work->question->chosen->cycle[i].out->log_ratio - without;
	struct rv_repeat_mean mean = rv_repeat_mean(&work->repeat, difference);
	if (!(mean.mean > rv_stats_t95(mean.dof) * mean.u))
		return false;
	rv_estimate_refuse(
	    work->question->estimate, "above_one",
	    "Reverse the sign of metres_per_count, or look which way the marks or contacts "
	    "mean.",
	    "The tension falls across the sheaves when the line goes out and rises when it comes "
	    "in: "
	    "the encoder's sign looks reversed.");
	return true;
}

static void refuse_outside(const struct work *work, const struct rv_value *mean)
{
	double x = mean->at;

	for (int i = 0; i < work->count && isfinite(x); i++)
		x = isfinite(work->x1[i]) ? work->x2[i] : work->x1[i];
	if (x > 0.0)
		rv_estimate_refuse(
		    work->question->estimate, "above_one",
		    "Look which cell stands where, at the direction of the encoder, and at the "
		    "gains.",
		    "The tension rises across the sheaves: no efficiency up to 1.2 explains a "
		    "pull.");
	else
		rv_estimate_refuse(work->question->estimate, "below_floor",
				   "Look at the declared rig and at the scaling of the cells.",
				   "An efficiency below 0.4 would be needed to explain a pull.");
}

void rv_by_cycles(const struct rv_question *question, struct rv_answer *answer)
{
	struct work work;

	prepare(question, &work);
	int alone = question->chosen->hauls + question->chosen->outs - 2 * work.count;
	if (alone > 0)
		rv_estimate_warn(
		    question->estimate, "not_in_cycles",
		    "Pulls without the other direction beside them, and so not used: %d.", alone);
	if (goes_backwards(&work))
		return;
	struct rv_value mean = rv_answer_mean(question, &work.repeat);
	if (!solve_each(&work) || !isfinite(mean.at)) {
		refuse_outside(&work, &mean);
		return;
	}
	work.h1 = rv_invert_slope(&work.both, rv_repeat_mean(&work.repeat, work.x1).mean);
	work.h2 = rv_invert_slope(&work.in, rv_repeat_mean(&work.repeat, work.x2).mean);
	work.bias = excess_bias(&work);
	work.weight = choose_weight(&work);
	for (int i = 0; i < work.count; i++)
		work.z[i] = work.weight * work.x1[i] + (1.0 - work.weight) * work.x2[i];
	rv_answer_judge(question, work.haul, work.z, &work.repeat);
	answer->mean = rv_answer_mean(question, &work.repeat);
	answer->out = paying_out(&work);
	if (question->setup->design != RV_ESTIMATE_ONE_HUNG)
		gain_and_excess(&work, &mean, answer);
	add_units(&work);
	if (!conflict(&work, &mean))
		answer->in = combine(&work);
}
