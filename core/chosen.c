/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/chosen.h"

#include <math.h>

#include "core/stats.h"

/* Thresholds of estimates from tensions; own choices, tried by simulation. */
#define LEAST_MOBILISED 0.75
#define SURGE_REFUSED 0.15
#define SURGE_WARNED 0.03
#define LAG_S 0.060

static void take(struct rv_chosen *chosen, const struct rv_estimate_pull *pull)
{
	if (pull->direction == RV_MOTION_OUT)
		chosen->out[chosen->outs++] = pull;
	else
		chosen->haul[chosen->hauls++] = pull;
}

static double significant_surge(const struct rv_chosen *chosen)
{
	double surge[RV_ESTIMATE_PULLS];
	int count = 0;

	for (int i = 0; i < chosen->hauls; i++)
		if (!isnan(chosen->haul[i]->surge_log))
			surge[count++] = chosen->haul[i]->surge_log;
	for (int i = 0; i < chosen->outs && count < RV_ESTIMATE_PULLS; i++)
		if (!isnan(chosen->out[i]->surge_log))
			surge[count++] = chosen->out[i]->surge_log;
	double mean = rv_stats_mean(surge, count), sd = rv_stats_sd(surge, count);
	return fabs(mean) > 3.0 * sd / sqrt(count) ? fabs(mean) : 0.0;
}

void rv_chosen_take(const struct rv_estimate_pull *pulls, int count, bool with_struck,
		    struct rv_chosen *chosen)
{
	const struct rv_estimate_pull *haul = NULL;

	chosen->hauls = chosen->outs = chosen->cycles = chosen->dropped = chosen->slack = 0;
	for (int i = 0; i < count; i++) {
		const struct rv_estimate_pull *pull = &pulls[i];
		if (pull->why != RV_PULL_KEPT || !isfinite(pull->log_ratio)) {
			chosen->dropped++;
			chosen->slack += pull->why == RV_PULL_SLACK;
			continue;
		}
		if (pull->struck && !with_struck)
			continue;
		take(chosen, pull);
		if (haul && pull->direction == RV_MOTION_OUT &&
		    pull->exchanged == haul->exchanged) {
			chosen->cycle[chosen->cycles].in = haul;
			chosen->cycle[chosen->cycles++].out = pull;
		}
		haul = pull->direction == RV_MOTION_IN ? pull : NULL;
	}
	chosen->surge_log = significant_surge(chosen);
}

static void guard_lag(const struct rv_chosen *chosen, struct rv_estimate *estimate)
{
	double lag[RV_ESTIMATE_PULLS], work[RV_ESTIMATE_PULLS];
	int count = 0;

	for (int i = 0; i < chosen->hauls; i++)
		if (!isnan(chosen->haul[i]->lag_s))
			lag[count++] = chosen->haul[i]->lag_s;
	double median = rv_stats_median(lag, count, work);
	if (fabs(median) > LAG_S)
		rv_estimate_warn(
		    estimate, "lag_mismatch",
		    "The far cell lags %.0f ms more behind the near one than the declared delays "
		    "say. State the delays, or look whether load surges turn the sheaves back.",
		    1000.0 * median);
}

static double mean_mobilised(const struct rv_chosen *chosen)
{
	double sum = 0.0;
	int known = 0;

	for (int i = 0; i < chosen->hauls + chosen->outs; i++) {
		const struct rv_estimate_pull *pull =
		    i < chosen->hauls ? chosen->haul[i] : chosen->out[i - chosen->hauls];
		if (isnan(pull->mobilised_ratio))
			continue;
		sum += pull->mobilised_ratio;
		known++;
	}
	return known > 0 ? sum / known : (double)NAN;
}

bool rv_chosen_guard(const struct rv_chosen *chosen, double friction_log,
		     struct rv_estimate *estimate)
{
	static const char cure[] =
	    "Haul faster or steadier, so that every sheave keeps turning one way.";
	double mobilised = mean_mobilised(chosen);
	double share = chosen->surge_log / fabs(friction_log);

	if (mobilised < LEAST_MOBILISED) {
		rv_estimate_refuse(estimate, "not_mobilised", cure,
				   "In only %.0f %% of the pulls' time were all sheaves certainly "
				   "turning: load surges let them run back.",
				   100.0 * mobilised);
		return false;
	}
	if (chosen->surge_log > 0.0 && share > SURGE_REFUSED) {
		rv_estimate_refuse(
		    estimate, "not_mobilised", cure,
		    "The ratio of the tensions follows the surges of the load (%.0f %% of the "
		    "friction): the sheaves run back.",
		    100.0 * share);
		return false;
	}
	if (chosen->surge_log > 0.0 && share > SURGE_WARNED)
		rv_estimate_warn(
		    estimate, "mobilisation",
		    "The ratio of the tensions follows the surges of the load a little "
		    "(%.0f %% of the friction); the interval is wider for it.",
		    100.0 * share);
	guard_lag(chosen, estimate);
	return true;
}

void rv_chosen_refuse_few(const struct rv_chosen *chosen, int have, int need, const char *what,
			  struct rv_estimate *estimate)
{
	if (2 * chosen->slack > chosen->dropped && chosen->dropped > have)
		rv_estimate_refuse(
		    estimate, "slack",
		    "Pull a heavier load, or use cells whose zero is known better.",
		    "The line was slack for what the cells can tell in %d of %d pulls.",
		    chosen->slack, chosen->dropped + chosen->hauls + chosen->outs);
	else
		rv_estimate_refuse(estimate, "too_few_pulls", "Pull again.",
				   "%s that count: %d. Needed: %d, so %d more.", what, have, need,
				   need - have);
}
