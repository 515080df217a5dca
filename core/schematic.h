/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A plan as a line diagram, as SVG: each line is a serpent of its own, its legs rows one below
 * another from the winch on, its sheaves half-turns between them, grabs knots.  Not to scale; words
 * never depend on geometry, so they cannot meet.
 */
#ifndef RV_CORE_SCHEMATIC_H
#define RV_CORE_SCHEMATIC_H

#include "core/plan_result.h"
#include "core/text.h"
#include "core/units.h"

/* A whole SVG document.  Errors: those of core/reeve, RV_ERR_NOMEM. */
enum rv_err rv_schematic_svg(const struct rv_plan *plan, enum rv_force_unit unit,
			     struct rv_text *svg, struct rv_error *error);

#endif
