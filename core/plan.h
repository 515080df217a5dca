/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All that a rig is expected to do, from the forces given.  Lows and highs are over the declared
 * ranges of efficiency, forces held as given; a range of what a load resists is shown apart.
 */
#ifndef RV_CORE_PLAN_H
#define RV_CORE_PLAN_H

#include "core/plan_result.h"

struct rv_plan_request {
	struct rv_givens givens; /* asked for; count 0 = what the rig gives */
	double travel_m;	 /* NaN = none */
};

/* Free with rv_plan_free.  Refusals: those of core/given, core/direct and core/balance. */
enum rv_err rv_plan_new(const struct rv_rig *rig, const struct rv_plan_request *request,
			struct rv_plan **plan, struct rv_error *error);
void rv_plan_free(struct rv_plan *plan);

/* Exactly one winch and one load. */
bool rv_plan_is_single(const struct rv_plan *plan);

#endif
