/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pictures of a plan into files.
 */
#ifndef RV_TOOLS_PLAN_DRAW_H
#define RV_TOOLS_PLAN_DRAW_H

#include "core/plan_result.h"
#include "core/units.h"

/* The rig to scale.  Returns how the command ends; what fails is told on stderr. */
int rv_plan_draw(const struct rv_plan *plan, const char *path, enum rv_force_unit unit);

#endif
