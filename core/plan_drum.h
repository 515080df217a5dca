/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A plan's line on the drums: how much is left, on which layer it lies and what the winch pulls
 * there.  Needs line_out_m, line_needed_m and the travel of the plan.  Notes: drum_overfull,
 * pull_over_layer, layer_unknown, travel_over_limit.
 */
#ifndef RV_CORE_PLAN_DRUM_H
#define RV_CORE_PLAN_DRUM_H

#include "core/drum.h"
#include "core/plan_result.h"

/* The line of a winch, or -1. */
int rv_plan_drum_rope(const struct rv_rig *rig, int winch);

/* The drum with its line; NaN where not declared. */
struct rv_drum rv_plan_drum_size(const struct rv_rig *rig, int winch);

void rv_plan_drum_set(struct rv_plan *plan);

/* What the numbers say; after the travel is known. */
void rv_plan_drum_note(struct rv_plan *plan);

#endif
