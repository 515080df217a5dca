/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/estimate_make.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/by_cycles.h"
#include "core/by_hauls.h"
#include "core/by_move.h"
#include "core/by_swap.h"
#include "core/estimate_design.h"
#include "core/estimate_say.h"
#include "core/stats.h"

struct making {
	const struct rv_estimate_setup *setup;
	const struct rv_estimate_pull *pulls;
	int count;
	bool with_struck;
	int first[RV_ESTIMATE_RUNS + 1]; /* pulls of each run */
	struct rv_chosen chosen[RV_ESTIMATE_RUNS];
	struct rv_answer answer[RV_ESTIMATE_RUNS];
	struct rv_estimate other; /* with the pulls that were struck */
};

static void choose_pulls(struct making *making)
{
	int at = 0;

	for (int r = 0; r < making->setup->runs; r++) {
		making->first[r] = at;
		while (at < making->count && making->pulls[at].run == r)
			at++;
		rv_chosen_take(making->pulls + making->first[r], at - making->first[r],
			       making->with_struck, &making->chosen[r]);
	}
	making->first[making->setup->runs] = at;
}

/* ---- the runs ---- */

/* Friction's part of a log ratio, for judging surges. */
static double friction_log(const struct rv_question *question, enum rv_estimate_mode mode)
{
	if (mode == RV_ESTIMATE_CYCLES || mode == RV_ESTIMATE_HUNG)
		return rv_answer_friction_cycles(question);
	if (mode == RV_ESTIMATE_HAULS)
		return rv_answer_friction_hauls(question);
	struct rv_invert in = {&question->setup->curve, 1.0, 0.0, 0.0};
	return rv_invert_at(&in, RV_ESTIMATE_DESIGN_X) - rv_invert_at(&in, 0.0);
}

static void ask(struct making *making, int run, struct rv_estimate *estimate)
{
	struct rv_question question = {making->setup, &making->setup->run[run],
				       &making->chosen[run], estimate};
	struct rv_answer *answer = &making->answer[run];

	*answer = rv_answer_none();
	if (!rv_chosen_guard(question.chosen, friction_log(&question, estimate->mode), estimate))
		return;
	switch (estimate->mode) {
	case RV_ESTIMATE_CYCLES:
	case RV_ESTIMATE_HUNG:
		rv_by_cycles(&question, answer);
		break;
	case RV_ESTIMATE_HAULS:
		rv_by_hauls(&question, answer);
		break;
	case RV_ESTIMATE_SWAPPED:
		rv_by_swap(&question, answer);
		break;
	case RV_ESTIMATE_MOVED:
		rv_by_move(&question, answer);
		break;
	case RV_ESTIMATE_JOINT:
	case RV_ESTIMATE_NONE:
		break;
	}
}

/* A run that refuses, among several, is named. */
static void name_run(const struct making *making, int run, struct rv_estimate *estimate)
{
	char text[sizeof estimate->refusal.text];

	if (making->setup->runs == 1)
		return;
	memcpy(text, estimate->refusal.text, sizeof text);
	snprintf(estimate->refusal.text, sizeof estimate->refusal.text, "Run %d: %.300s",
		 making->setup->run[run].number, text);
}

static bool same_calibration(const struct rv_estimate_setup *setup)
{
	for (int r = 1; r < setup->runs; r++)
		for (int c = 0; c < 2; c++) {
			const char *a = setup->run[0].cell[c].calibration;
			const char *b = setup->run[r].cell[c].calibration;
			if ((a || b) && (!a || !b || strcmp(a, b) != 0))
				return false;
		}
	return true;
}

/* The mean over the runs of one quantity.  Zeros and their drift are new in each run and lie in the
 * scatter; a calibration, a bound and what surges do are common. */
static struct rv_value over_runs(const struct making *making, size_t offset)
{
	int runs = making->setup->runs;
	bool common = same_calibration(making->setup);
	double at[RV_ESTIMATE_RUNS];
	struct rv_value mean = {0};

	for (int r = 0; r < runs; r++) {
		const struct rv_value *value =
		    (const struct rv_value *)((const char *)&making->answer[r] + offset);
		at[r] = value->at;
		mean.parts.gain += common ? value->parts.gain / runs : 0.0;
		mean.parts.inverse += common ? value->parts.inverse / runs : 0.0;
		mean.parts.linearity += value->parts.linearity / runs;
		mean.parts.geometry += value->parts.geometry / runs;
		mean.bias += value->bias / runs;
		mean.extra += value->extra / runs;
		mean.wider += value->wider / runs;
	}
	struct rv_stats_sample sample = rv_stats_sample(at, runs);
	mean.at = sample.mean;
	mean.u = sample.sd / sqrt(runs);
	mean.dof = runs - 1;
	rv_value_close(&mean);
	return mean;
}

static struct rv_answer put_together(const struct making *making)
{
	struct rv_answer answer = making->answer[0];

	if (making->setup->runs == 1)
		return answer;
	answer.in = over_runs(making, offsetof(struct rv_answer, in));
	answer.out = over_runs(making, offsetof(struct rv_answer, out));
	answer.mean = over_runs(making, offsetof(struct rv_answer, mean));
	answer.gain = over_runs(making, offsetof(struct rv_answer, gain));
	answer.excess = rv_value_none();
	return answer;
}

/* ---- the result ---- */

static bool in_bounds(const struct rv_value *in, struct rv_estimate *estimate)
{
	if (in->at > 0.0 && !isfinite(in->at)) {
		rv_estimate_refuse(
		    estimate, "above_one",
		    "Look which cell stands where, at the encoder's direction, and at the gains.",
		    "The tension rises across the sheaves: an efficiency above 1.2 would be "
		    "needed.");
		return false;
	}
	if (in->low > 0.0) {
		rv_estimate_refuse(
		    estimate, "above_one",
		    "Look which cell stands where, at the encoder's direction, and at the gains.",
		    "The tension rises across the sheaves: an efficiency of %.3f (%.3f to %.3f) "
		    "would be needed.",
		    exp(in->at), exp(in->low), exp(in->high));
		return false;
	}
	if (isfinite(in->at) && !isnan(in->low))
		return true;
	rv_estimate_refuse(estimate, "below_floor",
			   "Look at the declared rig and at the scaling of the cells.",
			   "An efficiency below 0.4 would be needed to explain the pulls.");
	return false;
}

static struct rv_estimate_interval plain(const struct rv_value *value, double (*scale)(double))
{
	return (struct rv_estimate_interval){scale(value->at), scale(value->low),
					     scale(value->high), value->dof_effective};
}

static double as_it_is(double value)
{
	return value;
}

static enum rv_estimate_unit_kind unit_of(const struct making *making,
					  const struct rv_estimate *estimate)
{
	int stints[RV_ESTIMATE_PULLS];
	struct rv_repeat repeat;

	if (making->setup->runs > 1)
		return RV_ESTIMATE_RUN;
	for (int i = 0; i < estimate->units; i++)
		stints[i] = estimate->each[i].stint;
	rv_repeat_plan(stints, estimate->units, making->setup->correlation, &repeat);
	if (repeat.by_stint && estimate->mode != RV_ESTIMATE_SWAPPED &&
	    estimate->mode != RV_ESTIMATE_MOVED)
		return RV_ESTIMATE_STINT;
	return estimate->mode == RV_ESTIMATE_CYCLES || estimate->mode == RV_ESTIMATE_HUNG
		   ? RV_ESTIMATE_CYCLE
		   : RV_ESTIMATE_PULL;
}

static void another_day(const struct rv_estimate_setup *setup, const struct rv_value *in,
			struct rv_estimate *estimate)
{
	struct rv_value value = *in;

	if (!(setup->session_log > 0.0) || setup->runs > 1)
		return;
	value.parts.geometry = hypot(value.parts.geometry, setup->session_log);
	rv_value_close(&value);
	estimate->another_day = rv_value_interval(&value);
}

static void write_result(const struct making *making, struct rv_estimate *estimate)
{
	struct rv_answer answer = put_together(making);

	estimate->unit = unit_of(making, estimate);
	estimate->mean = rv_value_interval(&answer.mean);
	estimate->out = rv_value_interval(&answer.out);
	estimate->excess = plain(&answer.excess, as_it_is);
	estimate->relative_gain = plain(&answer.gain, exp);
	if (estimate->refused || !in_bounds(&answer.in, estimate))
		return;
	estimate->efficiency = estimate->in = rv_value_interval(&answer.in);
	if (answer.in.high > 0.0)
		rv_estimate_warn(estimate, "limit_reached",
				 "The interval reaches an efficiency of 1, where it is cut off.");
	rv_estimate_say_budget(&answer.in, making->setup->runs > 1, estimate);
	another_day(making->setup, &answer.in, estimate);
	rv_estimate_say_warnings(making->setup, estimate);
}

static void refuse_two(const struct making *making, struct rv_estimate *estimate)
{
	const struct rv_estimate_run *run = making->setup->run;
	double a = exp(making->answer[0].in.at), b = exp(making->answer[1].in.at);

	rv_estimate_refuse(
	    estimate, "two_sessions",
	    "Add a third run of the same set-up, or estimate each run by itself.",
	    "Two runs give no interval for their mean: run %d says %.4f, run %d %.4f, a "
	    "difference of %+.4f.",
	    run[0].number, a, run[1].number, b, b - a);
}

static void make(struct making *making, struct rv_estimate *estimate)
{
	rv_estimate_init(estimate);
	choose_pulls(making);
	enum rv_estimate_mode mode =
	    rv_estimate_design_mode(making->setup, making->chosen, estimate);
	if (estimate->refused || !rv_estimate_design_tells(making->setup, estimate))
		return;
	estimate->mode = mode;
	for (int r = 0; r < making->setup->runs && !estimate->refused; r++) {
		ask(making, r, estimate);
		if (estimate->refused)
			name_run(making, r, estimate);
		estimate->cycles += making->chosen[r].cycles;
	}
	estimate->pulls_used = estimate->units;
	if (making->setup->runs == 2 && !estimate->refused)
		refuse_two(making, estimate);
	write_result(making, estimate);
	rv_estimate_say_estimand(making->setup, estimate);
}

static bool is_in_order(const struct rv_estimate_setup *setup, const struct rv_estimate_pull *pulls,
			int count)
{
	for (int i = 0; i < count; i++)
		if (pulls[i].run < (i > 0 ? pulls[i - 1].run : 0) || pulls[i].run >= setup->runs)
			return false;
	return count >= 0 && count <= RV_ESTIMATE_PULLS && setup->runs >= 1 &&
	       setup->runs <= RV_ESTIMATE_RUNS;
}

enum rv_err rv_estimate_make(const struct rv_estimate_setup *setup,
			     const struct rv_estimate_pull *pulls, int count,
			     struct rv_estimate *estimate)
{
	bool struck = false;

	if (!is_in_order(setup, pulls, count))
		return RV_ERR_RANGE;
	struct making *making = calloc(1, sizeof *making);
	if (!making)
		return RV_ERR_NOMEM;
	making->setup = setup;
	making->pulls = pulls;
	making->count = count;
	make(making, estimate);
	for (int i = 0; i < count; i++)
		struck = struck || (pulls[i].struck && pulls[i].why == RV_PULL_KEPT);
	if (struck) {
		making->with_struck = true;
		make(making, &making->other);
		estimate->with_struck = making->other.efficiency;
	}
	free(making);
	return RV_OK;
}
