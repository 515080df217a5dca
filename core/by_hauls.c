/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/by_hauls.h"

#include <math.h>

static struct rv_value log_ratio(const struct rv_question *question, const struct rv_repeat *repeat)
{
	const struct rv_chosen *chosen = question->chosen;
	struct rv_value_effect effect = {0};
	double values[RV_ESTIMATE_PULLS];

	for (int i = 0; i < chosen->hauls; i++) {
		values[i] = chosen->haul[i]->log_ratio;
		rv_value_add_pull(&effect, chosen->haul[i], repeat->weight[i]);
	}
	struct rv_repeat_mean mean = rv_repeat_mean(repeat, values);
	struct rv_value value = {.at = mean.mean, .u = mean.u, .dof = mean.dof};
	value.parts = rv_value_parts_of(&effect, question->setup, question->run);
	value.extra = rv_answer_surge(question);
	rv_value_close(&value);
	return value;
}

static void add_units(const struct rv_question *question, const double *x, double slope)
{
	const struct rv_chosen *chosen = question->chosen;

	for (int i = 0; i < chosen->hauls; i++) {
		struct rv_value_effect effect = {0};
		rv_value_add_pull(&effect, chosen->haul[i], 1.0 / slope);
		rv_answer_add_unit(question, chosen->haul[i], x[i], chosen->haul[i]->log_ratio,
				   &effect);
	}
}

/* x of each haul; false, and refused: one that no sensible efficiency explains. */
static bool solve_each(const struct rv_question *question, const struct rv_invert *in, double *x)
{
	const struct rv_chosen *chosen = question->chosen;

	for (int i = 0; i < chosen->hauls; i++) {
		x[i] = rv_invert_solve(in, chosen->haul[i]->log_ratio, rv_invert_wide());
		if (isfinite(x[i]))
			continue;
		rv_estimate_refuse(
		    question->estimate, x[i] > 0.0 ? "above_one" : "below_floor",
		    "Strike that pull if something happened in it; else look at the declared rig "
		    "and at the scaling of the cells.",
		    "Pull %d would need an efficiency outside 0.3 to 2.5.", chosen->haul[i]->index);
		return false;
	}
	return true;
}

void rv_by_hauls(const struct rv_question *question, struct rv_answer *answer)
{
	const struct rv_chosen *chosen = question->chosen;
	struct rv_invert in = {&question->setup->curve, 1.0, 0.0, 0.0};
	struct rv_repeat repeat;
	double x[RV_ESTIMATE_PULLS] = {0};

	if (!solve_each(question, &in, x))
		return;
	rv_answer_repeat(question, chosen->haul, chosen->hauls, &repeat);
	rv_answer_judge(question, chosen->haul, x, &repeat);
	struct rv_value value = log_ratio(question, &repeat);
	answer->in = rv_value_map(&value, &in);
	add_units(question, x, rv_invert_slope(&in, rv_repeat_mean(&repeat, x).mean));
}
