/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pictures of a plan into files.
 */
#ifndef RV_TOOLS_PLAN_DRAW_H
#define RV_TOOLS_PLAN_DRAW_H

#include "core/plan_result.h"
#include "core/units.h"

/* Paths; NULL = not asked for. */
struct rv_plan_draw {
	const char *svg;       /* to scale */
	const char *schematic; /* part by part */
	enum rv_force_unit unit;
};

/* Returns how the command ends; what fails is told on stderr. */
int rv_plan_draw(const struct rv_plan *plan, const struct rv_plan_draw *wish);

#endif
