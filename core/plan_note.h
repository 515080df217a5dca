/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a person should know besides the numbers of a plan.  Codes: friction (which convention the
 * losses follow; no caution), sheave_still, side_force, weakest_changes, over_limit,
 * over_limit_worst, efficiency_unsaid, stamped_mass, wraps_unsized, two_blocked, travel_ends,
 * travel_unknown, slack_possible, slack_noted, placing.
 */
#ifndef RV_CORE_PLAN_NOTE_H
#define RV_CORE_PLAN_NOTE_H

#include "core/layout.h"
#include "core/plan_result.h"

/* Adds one; the last place of RV_PLAN_NOTES is for saying that there were more (notes_cut). */
void rv_plan_note_add(struct rv_plan *plan, const char *code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* All notes that follow from the plan's numbers. */
void rv_plan_note_all(const struct rv_layout *layout, struct rv_plan *plan);

/* Lines that hang slack and need not carry; one entry for each piece. */
void rv_plan_note_slack(const struct rv_layout *layout, const bool *slack, struct rv_plan *plan);

/* How the travel ended, if not as asked. */
void rv_plan_note_travel(const struct rv_layout *layout, struct rv_plan *plan);

#endif
