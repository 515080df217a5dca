/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/facts.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_statistics_double.h>

#define OTHER_PLACE_M 0.3
#define NS_PER_S 1e9

void rv_facts_init(struct rv_facts *facts, int run)
{
	memset(facts, 0, sizeof *facts);
	facts->run = run;
	facts->stint_m = (double)NAN;
}

void rv_facts_rigged_anew(struct rv_facts *facts)
{
	facts->rigged_anew = true;
}

static bool begins_stint(const struct rv_facts *facts, const struct rv_pull_result *result)
{
	if (facts->count == 0 || facts->rigged_anew)
		return true;
	/* Unknown places compare as moved: slack alone counts then. */
	return result->unloaded_before && !(fabs(result->start_m - facts->stint_m) < OTHER_PLACE_M);
}

void rv_facts_add(struct rv_facts *facts, const struct rv_pull_result *result)
{
	if (begins_stint(facts, result)) {
		facts->stint++;
		facts->stint_m = result->start_m;
		facts->rigged_anew = false;
	}
	if (facts->count == RV_ESTIMATE_PULLS) {
		facts->left_out++;
		return;
	}
	facts->pull[facts->count] = (struct rv_estimate_pull){
	    .run = facts->run,
	    .index = facts->count + 1,
	    .direction = result->direction,
	    .start_s = (double)result->start_ns / NS_PER_S,
	    .end_s = (double)result->end_ns / NS_PER_S,
	    .since_zero_ratio = 1.0,
	    .near_n = result->mean_tension_n,
	    .far_n = result->far_n,
	    .log_ratio = result->why == RV_PULL_KEPT ? result->log_ratio : (double)NAN,
	    .slope_ps = result->slope_ps,
	    .mobilised_ratio = result->turning_ratio,
	    .surge_log = result->surge_log,
	    .lag_s = result->lag_s,
	    .travel_m = result->travelled_m,
	    .stint = facts->stint,
	    .unloaded_before = result->unloaded_before,
	    .why = result->why,
	};
	facts->count++;
}

void rv_facts_end(struct rv_facts *facts)
{
	double last_s = facts->count > 0 ? facts->pull[facts->count - 1].end_s : 0.0;

	for (int i = 0; i < facts->count; i++)
		facts->pull[i].since_zero_ratio =
		    last_s > 0.0 ? facts->pull[i].end_s / last_s : 1.0;
}

double rv_facts_lag_s(const struct rv_facts *facts)
{
	double lag[RV_ESTIMATE_PULLS];
	size_t found = 0;

	for (int i = 0; i < facts->count; i++)
		if (facts->pull[i].why == RV_PULL_KEPT && !isnan(facts->pull[i].lag_s))
			lag[found++] = facts->pull[i].lag_s;
	return found > 0 ? gsl_stats_median(lag, 1, found) : (double)NAN;
}
