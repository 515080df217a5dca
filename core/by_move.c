/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/by_move.h"

#include <math.h>

#include "core/stats.h"

#define SPEEDS_DIFFER 0.3

/* The pulls of one direction in the order they were made. */
struct row {
	int count, near, far, changes;
	const struct rv_estimate_pull *const *pull;
	double log_n[RV_ESTIMATE_PULLS]; /* ln of the tension */
	bool at_far[RV_ESTIMATE_PULLS];
};

static void lay_out(const struct rv_estimate_pull *const *pulls, int count, struct row *row)
{
	*row = (struct row){.count = count, .pull = pulls};
	for (int i = 0; i < count; i++) {
		row->at_far[i] = pulls[i]->exchanged;
		row->log_n[i] = row->at_far[i] ? pulls[i]->log_ratio : -pulls[i]->log_ratio;
		row->far += row->at_far[i];
		row->near += !row->at_far[i];
		row->changes += i > 0 && row->at_far[i] != row->at_far[i - 1];
	}
}

static double mean_speed_mps(const struct row *row, bool far)
{
	double sum = 0.0;
	int known = 0;

	for (int i = 0; i < row->count; i++) {
		const struct rv_estimate_pull *pull = row->pull[i];
		double speed = fabs(pull->travel_m) / (pull->end_s - pull->start_s);
		if (row->at_far[i] != far || !isfinite(speed))
			continue;
		sum += speed;
		known++;
	}
	return known > 0 ? sum / known : (double)NAN;
}

static struct rv_stats_sample sample_of(const struct row *row, bool far)
{
	double values[RV_ESTIMATE_PULLS];
	int count = 0;

	for (int i = 0; i < row->count; i++)
		if (row->at_far[i] == far)
			values[count++] = row->log_n[i];
	return rv_stats_sample(values, count);
}

static bool by_line(const struct rv_question *question, const struct row *row)
{
	return !question->setup->load_constant && row->near >= 3 && row->far >= 3;
}

/* The step of ln(tension) from the near to the far place. */
static struct rv_value step_of(const struct rv_question *question, const struct row *row)
{
	struct rv_stats_difference step =
	    by_line(question, row) ? rv_stats_step(row->log_n, row->at_far, row->count)
				   : rv_stats_welch(sample_of(row, false), sample_of(row, true));
	struct rv_value value = {.at = step.value, .u = step.u, .dof = step.dof};
	struct rv_value_effect effect = {0};
	struct rv_repeat repeat;

	for (int i = 0; i < row->count; i++)
		rv_value_add_pull(&effect, row->pull[i],
				  1.0 / (row->at_far[i] ? row->far : row->near));
	effect.gain = 0.0; /* one and the same cell */
	effect.place *= 0.5;
	rv_answer_repeat(question, row->pull, row->count, &repeat);
	double correlation = repeat.by_stint ? 0.0 : repeat.correlation;
	struct rv_stats_row lean = rv_stats_row(row->count, correlation);
	value.u *= lean.factor;
	if (correlation > 0.0)
		value.dof = fmin(value.dof, lean.dof);
	value.parts = rv_value_parts_of(&effect, question->setup, question->run);
	value.parts.remount = sqrt(2.0) * question->setup->u_remount_ratio;
	value.parts.linearity = question->setup->u_linearity_ratio;
	value.extra = rv_answer_surge(question);
	rv_value_close(&value);
	return value;
}

static bool may_be_told(const struct rv_question *question, const struct row *row)
{
	struct rv_estimate *estimate = question->estimate;
	double near = mean_speed_mps(row, false), far = mean_speed_mps(row, true);

	if (row->near < 2 || row->far < 2) {
		rv_estimate_refuse(
		    estimate, "too_few_pulls",
		    "Haul the same load at least three times with the cell at each place, in "
		    "turn.",
		    "%d hauls count with the cell at the near place and %d at the far one; 2 "
		    "of each are needed.",
		    row->near, row->far);
		return false;
	}
	if (row->changes < 3 && !question->setup->load_constant) {
		rv_estimate_refuse(
		    estimate, "drift_confounded",
		    "Move the cell after each pull or two (near, far, far, near ...), or declare "
		    "that the load does not change.",
		    "The cell changed its place only %d times: a load that drifts looks like "
		    "an efficiency.",
		    row->changes);
		return false;
	}
	if (fabs(near - far) > SPEEDS_DIFFER * fmax(near, far)) {
		rv_estimate_refuse(
		    estimate, "drift_confounded",
		    "Haul at one speed with the cell at either place.",
		    "The hauls with the cell at the near place went at %.3f m/s, those at the "
		    "far one at %.3f m/s.",
		    near, far);
		return false;
	}
	return true;
}

static void add_units(const struct rv_question *question, const struct row *row,
		      const struct rv_invert *in, double step)
{
	double near = sample_of(row, false).mean, far = sample_of(row, true).mean;
	double x = rv_invert_solve(in, step, rv_invert_usual());
	double slope = rv_invert_slope(in, x);

	for (int i = 0; i < row->count; i++) {
		struct rv_value_effect effect = {0};
		double away = row->at_far[i] ? row->log_n[i] - far : near - row->log_n[i];

		rv_value_add_pull(&effect, row->pull[i], 1.0 / slope);
		rv_answer_add_unit(question, row->pull[i], x + away / slope, row->log_n[i],
				   &effect);
	}
}

/* Change of the load against that of the far place, both against the near one. */
static double share_of_far(const struct rv_estimate_setup *setup, double x, enum rv_motion motion)
{
	double in = motion == RV_MOTION_IN, out = motion == RV_MOTION_OUT;
	struct rv_invert load = {&setup->load, in, out, 0.0}, far = {&setup->curve, in, out, 0.0};

	return rv_invert_slope(&load, x) / rv_invert_slope(&far, x);
}

static void say_load_friction(struct rv_estimate *estimate, double twice, double half)
{
	if (isnan(twice) || isnan(half))
		return;
	estimate->load_friction = tanh(0.5 * twice);
	estimate->load_friction_low = tanh(0.5 * (twice - half));
	estimate->load_friction_high = tanh(0.5 * (twice + half));
	if (fabs(twice) > half)
		rv_estimate_warn(
		    estimate, "load_side_friction",
		    "The load itself rubs: %.1f %% of it (%.1f to %.1f) changes sign with the "
		    "direction. "
		    "One cell that stays in its place would give no efficiency with it.",
		    100.0 * estimate->load_friction, 100.0 * estimate->load_friction_low,
		    100.0 * estimate->load_friction_high);
}

static void look_for_load_friction(const struct rv_question *question,
				   const struct rv_answer *answer)
{
	const struct rv_estimate_setup *setup = question->setup;
	const struct rv_chosen *chosen = question->chosen;
	double value[2][RV_ESTIMATE_PULLS], near = 0.0;
	double in = share_of_far(setup, answer->in.at, RV_MOTION_IN);
	double out = share_of_far(setup, answer->out.at, RV_MOTION_OUT);
	int count[2] = {0, 0};

	for (int i = 0; i < chosen->cycles; i++) {
		bool far = chosen->cycle[i].in->exchanged;
		double sign = far ? 1.0 : -1.0;
		double a = sign * chosen->cycle[i].in->log_ratio;
		double b = sign * chosen->cycle[i].out->log_ratio;
		value[far][count[far]++] =
		    far ? in * a - out * b : (1.0 - in) * a - (1.0 - out) * b;
		near += far ? 0.0 : a - b;
	}
	struct rv_stats_difference scatter = rv_stats_welch(rv_stats_sample(value[0], count[0]),
							    rv_stats_sample(value[1], count[1]));
	struct rv_invert load_in = {&setup->load, 1.0, 0.0, 0.0};
	struct rv_invert load_out = {&setup->load, 0.0, 1.0, 0.0};
	double twice = near / count[0] + rv_invert_at(&load_in, answer->in.at) -
		       rv_invert_at(&load_out, answer->out.at);
	say_load_friction(question->estimate, twice, rv_stats_t95(scatter.dof) * scatter.u);
}

void rv_by_move(const struct rv_question *question, struct rv_answer *answer)
{
	const struct rv_chosen *chosen = question->chosen;
	const struct rv_estimate_setup *setup = question->setup;
	const struct rv_estimate_curve *curve = &setup->curve;
	struct rv_invert in = {curve, 1.0, 0.0, 0.0}, out = {curve, 0.0, 1.0, 0.0};
	struct row row;

	lay_out(chosen->haul, chosen->hauls, &row);
	if (!may_be_told(question, &row))
		return;
	if (!by_line(question, &row))
		rv_estimate_warn(
		    question->estimate, "load_taken_constant",
		    "The load is taken as the same at every pull but for scatter: a drift would "
		    "be an error of the efficiency.");
	struct rv_value step = step_of(question, &row);
	answer->in = rv_value_map(&step, &in);
	add_units(question, &row, &in, step.at);
	lay_out(chosen->out, chosen->outs, &row);
	if (row.near < 2 || row.far < 2 || (row.changes < 3 && !setup->load_constant))
		return;
	step = step_of(question, &row);
	answer->out = rv_value_map(&step, &out);
	if (setup->load.log_ratio && isfinite(answer->in.at) && isfinite(answer->out.at))
		look_for_load_friction(question, answer);
}
