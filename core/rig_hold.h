/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Second pass over a rig file: what fittings hold, where cells sit, how fast winches are driven.
 */
#ifndef RV_CORE_RIG_HOLD_H
#define RV_CORE_RIG_HOLD_H

#include "core/rig_part.h"

/* Fills the holdings, the places of the cells and the drive; the paths must be known.  Refused by
 * tag: name_unknown, name_twice, holds_loop, cell_place. */
enum rv_err rv_rig_hold_all(struct rv_rig *rig, const struct rv_rig_nodes *nodes,
			    struct rv_error *error);

#endif
