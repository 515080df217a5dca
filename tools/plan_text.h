/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A plan as people read it on a terminal.
 */
#ifndef RV_TOOLS_PLAN_TEXT_H
#define RV_TOOLS_PLAN_TEXT_H

#include "core/plan.h"
#include "core/units.h"

/* On stdout. */
void rv_plan_text_print(const struct rv_plan *plan, enum rv_force_unit unit);

#endif
