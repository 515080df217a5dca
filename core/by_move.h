/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One cell, at the near and the far place in turn, the same load hauled each time.  The gain cancels,
 * for it is the same cell; the load need not hang free if only it repeats.
 *
 * The step of ln(tension) between the places is in(x), found over a common straight drift of the load
 * (rv_stats_step); with fewer than three pulls at a place, or a load declared constant, by the
 * difference of the means (rv_stats_welch).
 *
 * With pay-outs too, and where the rig tells the load from the near place, the loads that hauling and
 * paying out say differ by what the load rubs on: ln((1 + r) / (1 - r)).  Where that is not 0 the warning
 * load_side_friction is given; the efficiency does not suffer, that of one hung cell would.
 */
#ifndef RV_CORE_BY_MOVE_H
#define RV_CORE_BY_MOVE_H

#include "core/answer.h"

/* Refuses too_few_pulls (fewer than two hauls at a place), drift_confounded (fewer than three changes
 * of place, unless the load is declared constant; or speeds that differ by more than 30 %). */
void rv_by_move(const struct rv_question *question, struct rv_answer *answer);

#endif
