/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What carries what: every component and every cell as sums of line tensions and outside forces.
 *
 * A block carries the larger of the sum at its sheaves and that sum with its becket's; a line its
 * largest leg; a point all forces at it; a grab the difference of the tensions it joins; a fitting
 * the resultant of what it holds, through the chain, and each leg of a two-legged strop that
 * resultant / (2 cos(included angle / 2)).
 */
#ifndef RV_CORE_COMPONENT_H
#define RV_CORE_COMPONENT_H

#include "core/parts.h"

/* RV_ERR_REFUSED, tags: holds_loop, cell_place, angle_missing.  RV_ERR_RANGE: too many. */
enum rv_err rv_component_list(const struct rv_rig *rig, const struct rv_reeving *reeving,
			      struct rv_component_set *set, struct rv_error *error);

#endif
