/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/answer.h"

#include <math.h>

#include "core/stats.h"

struct rv_answer rv_answer_none(void)
{
	struct rv_value none = rv_value_none();

	return (struct rv_answer){none, none, none, none, none};
}

double rv_answer_friction_hauls(const struct rv_question *question)
{
	const struct rv_chosen *chosen = question->chosen;
	struct rv_invert in = {&question->setup->curve, 1.0, 0.0, 0.0};
	double without = rv_invert_at(&in, 0.0), sum = 0.0;

	for (int i = 0; i < chosen->hauls; i++)
		sum += chosen->haul[i]->log_ratio - without;
	return sum / chosen->hauls;
}

double rv_answer_friction_cycles(const struct rv_question *question)
{
	const struct rv_chosen *chosen = question->chosen;
	double sum = 0.0;

	for (int i = 0; i < chosen->cycles; i++)
		sum += chosen->cycle[i].in->log_ratio - chosen->cycle[i].out->log_ratio;
	return 0.5 * sum / chosen->cycles;
}

double rv_answer_surge(const struct rv_question *question)
{
	return rv_estimate_has_warning(question->estimate, "mobilisation")
		   ? question->chosen->surge_log
		   : 0.0;
}

void rv_answer_repeat(const struct rv_question *question,
		      const struct rv_estimate_pull *const *pulls, int count,
		      struct rv_repeat *repeat)
{
	int stints[RV_ESTIMATE_PULLS];

	for (int i = 0; i < count; i++)
		stints[i] = pulls[i]->stint;
	rv_repeat_plan(stints, count, question->setup->correlation, repeat);
	if (repeat->same_stint)
		rv_estimate_warn(
		    question->estimate, "same_stint",
		    "Pulled in a row without unloading and moving the line: neighbours are taken "
		    "to "
		    "resemble each other (correlation 0.6), which widens the interval much. Unload "
		    "and start from another place of the line between pulls.");
}

static void judge_drift(const struct rv_question *question,
			const struct rv_estimate_pull *const *pulls, const double *x, int count)
{
	struct rv_estimate *estimate = question->estimate;
	double at_h[RV_ESTIMATE_PULLS], ratio[RV_ESTIMATE_PULLS];

	if (count < 4 || question->setup->runs > 1)
		return;
	for (int i = 0; i < count; i++) {
		at_h[i] = 0.5 * (pulls[i]->start_s + pulls[i]->end_s) / 3600.0;
		ratio[i] = exp(x[i]);
	}
	struct rv_stats_line line = rv_stats_line(at_h, ratio, count);
	if (isnan(line.slope))
		return;
	double half = rv_stats_t95(line.dof) * line.u_slope;
	estimate->drift_ph = line.slope;
	estimate->drift_low_ph = line.slope - half;
	estimate->drift_high_ph = line.slope + half;
	if (fabs(line.slope) > half)
		rv_estimate_warn(estimate, "drift",
				 "The efficiency changed by %+.2f percent points an hour (%.2f to "
				 "%.2f): the value is the "
				 "mean of these pulls; it was still moving.",
				 100.0 * line.slope, 100.0 * (line.slope - half),
				 100.0 * (line.slope + half));
}

void rv_answer_judge(const struct rv_question *question,
		     const struct rv_estimate_pull *const *pulls, const double *x,
		     struct rv_repeat *repeat)
{
	judge_drift(question, pulls, x, repeat->count);
	if (repeat->count >= 15)
		question->estimate->neighbours = rv_stats_neighbours(x, repeat->count);
	if (rv_repeat_follows(repeat, x)) {
		repeat->correlation = RV_REPEAT_SAME_STINT;
		rv_estimate_warn(
		    question->estimate, "serial_correlation",
		    "Neighbouring pulls resemble each other (correlation %.2f over %d pulls): the "
		    "interval is that for a correlation of 0.6.",
		    rv_stats_neighbours(x, repeat->count), repeat->count);
	}
}

struct rv_value rv_answer_mean(const struct rv_question *question, const struct rv_repeat *repeat)
{
	const struct rv_chosen *chosen = question->chosen;
	struct rv_invert both = {&question->setup->curve, 1.0, -1.0, 0.0};
	struct rv_value_effect effect = {0};
	double difference[RV_ESTIMATE_PULLS];

	for (int i = 0; i < chosen->cycles; i++) {
		difference[i] = chosen->cycle[i].in->log_ratio - chosen->cycle[i].out->log_ratio;
		rv_value_add_pull(&effect, chosen->cycle[i].in, repeat->weight[i]);
		rv_value_add_pull(&effect, chosen->cycle[i].out, -repeat->weight[i]);
	}
	struct rv_repeat_mean mean = rv_repeat_mean(repeat, difference);
	struct rv_value value = {.at = mean.mean, .u = mean.u, .dof = mean.dof};
	value.parts = rv_value_parts_of(&effect, question->setup, question->run);
	value.extra = 2.0 * rv_answer_surge(question);
	value.wider = question->setup->state_bias_log;
	rv_value_close(&value);
	return rv_value_map(&value, &both);
}

double rv_answer_excess_k(const struct rv_estimate_curve *curve, double x)
{
	struct rv_invert difference = {curve, 1.0, -1.0, 0.0};

	return 0.25 * x * rv_invert_slope(&difference, x);
}

double rv_answer_half_sum(const struct rv_estimate_curve *curve, double x)
{
	struct rv_invert half_sum = {curve, 0.5, 0.5, 0.0};

	return rv_invert_at(&half_sum, x);
}

static double excess_of(double q)
{
	return q / (1.0 - 0.5 * fmin(1.9, q));
}

void rv_answer_set_excess(const struct rv_value *half_sum, double k, struct rv_answer *answer)
{
	double a = -half_sum->low / k, b = -half_sum->high / k;

	answer->excess.at = excess_of(-half_sum->at / k);
	answer->excess.low = excess_of(fmin(a, b));
	answer->excess.high = excess_of(fmax(a, b));
	answer->excess.dof_effective = half_sum->dof_effective;
}

void rv_answer_add_unit(const struct rv_question *question, const struct rv_estimate_pull *pull,
			double x, double log_value, const struct rv_value_effect *effect)
{
	struct rv_estimate *estimate = question->estimate;
	double tension = isnan(pull->near_n)  ? pull->far_n
			 : isnan(pull->far_n) ? pull->near_n
					      : 0.5 * (pull->near_n + pull->far_n);

	if (estimate->units == RV_ESTIMATE_PULLS)
		return;
	estimate->each[estimate->units++] = (struct rv_estimate_unit){
	    .x = x,
	    .log_value = log_value,
	    .at_s = 0.5 * (pull->start_s + pull->end_s),
	    .mean_n = tension,
	    .run = pull->run,
	    .stint = pull->stint,
	    .index = pull->index,
	    .per_gain = effect->gain,
	    .per_near_n = effect->zero_per_n[0],
	    .per_far_n = effect->zero_per_n[1],
	};
}
