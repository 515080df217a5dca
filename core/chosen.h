/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The pulls of one run that count, which of them make cycles, and whether what guards them lets an
 * efficiency be told at all.
 */
#ifndef RV_CORE_CHOSEN_H
#define RV_CORE_CHOSEN_H

#include "core/estimate.h"

struct rv_chosen {
	int hauls, outs, cycles;
	const struct rv_estimate_pull *haul[RV_ESTIMATE_PULLS];
	const struct rv_estimate_pull *out[RV_ESTIMATE_PULLS];
	struct {
		const struct rv_estimate_pull *in, *out;
	} cycle[RV_ESTIMATE_PULLS];
	int dropped, slack; /* not kept, and of these for slack */
	double surge_log;   /* mean over the pulls, where it is significant (3 standard errors); else 0 */
};

/* The pulls [first, first + count) are those of one run.  A cycle is a haul that counts and the
 * paying out that is the next to count after it, with the cells at the same places. */
void rv_chosen_take(const struct rv_estimate_pull *pulls, int count, bool with_struck,
		    struct rv_chosen *chosen);

/* Adds not_mobilised as a refusal; mobilisation and lag_mismatch as warnings.  friction_log: the part of a log
 * ratio that friction makes, which a surge is compared with; NaN: not known.  False: refused. */
bool rv_chosen_guard(const struct rv_chosen *chosen, double friction_log,
		     struct rv_estimate *estimate);

/* Refuses for want of pulls: slack, or too_few_pulls, with how many more are needed. */
void rv_chosen_refuse_few(const struct rv_chosen *chosen, int have, int need, const char *what,
			  struct rv_estimate *estimate);

#endif
