/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the pulls of one run say, before runs are put together: shared by the modes.
 */
#ifndef RV_CORE_ANSWER_H
#define RV_CORE_ANSWER_H

#include "core/chosen.h"
#include "core/value.h"

struct rv_answer {
	struct rv_value in, out, mean; /* x */
	struct rv_value gain;	       /* ln(far / near) that is left */
	struct rv_value excess;	       /* at, low and high only */
};

/* What a mode works on; estimate takes refusals, warnings and units. */
struct rv_question {
	const struct rv_estimate_setup *setup;
	const struct rv_estimate_run *run;
	const struct rv_chosen *chosen;
	struct rv_estimate *estimate;
};

struct rv_answer rv_answer_none(void);

/* Median of all log ratios' friction parts: a haul's without, a cycle's by half its difference. */
double rv_answer_friction_hauls(const struct rv_question *question);
double rv_answer_friction_cycles(const struct rv_question *question);

/* Half-width that surges add, per log ratio; 0 below the threshold of a warning. */
double rv_answer_surge(const struct rv_question *question);

/* Plans the repetitions of these pulls and warns same_stint. */
void rv_answer_repeat(const struct rv_question *question,
		      const struct rv_estimate_pull *const *pulls, int count,
		      struct rv_repeat *repeat);

/* Judges the row of values of x: serial_correlation (which sets the repeat's correlation), drift. */
void rv_answer_judge(const struct rv_question *question,
		     const struct rv_estimate_pull *const *pulls, const double *x,
		     struct rv_repeat *repeat);

/* Difference of the two ways of each cycle, as a closed log value and as x: the mean of both
 * directions. */
struct rv_value rv_answer_mean(const struct rv_question *question, const struct rv_repeat *repeat);

/* answer->excess from the closed half sum of both ways less what the rig gives at x, the mean of both
 * directions: gain - q k with q = excess / (1 + excess / 2). */
void rv_answer_set_excess(const struct rv_value *half_sum, double k, struct rv_answer *answer);

/* That k, and what the rig gives: half the sum of both ways at x. */
double rv_answer_excess_k(const struct rv_estimate_curve *curve, double x);
double rv_answer_half_sum(const struct rv_estimate_curve *curve, double x);

/* Adds one unit for each pull; per_gain and the rest as the effect of that pull alone. */
void rv_answer_add_unit(const struct rv_question *question, const struct rv_estimate_pull *pull,
			double x, double log_value, const struct rv_value_effect *effect);

#endif
