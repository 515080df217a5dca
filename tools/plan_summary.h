/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands first in a plan for people: line pull, drum, load, advantage, limit.
 */
#ifndef RV_TOOLS_PLAN_SUMMARY_H
#define RV_TOOLS_PLAN_SUMMARY_H

#include <stdio.h>

#include "core/plan_result.h"
#include "core/units.h"

void rv_plan_summary_print(const struct rv_plan *plan, enum rv_force_unit unit, FILE *to);

/* The line each rope takes, and what is left of it. */
void rv_plan_summary_lines(const struct rv_plan *plan, FILE *to);

#endif
