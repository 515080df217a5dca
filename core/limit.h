/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The line pull that brings the first rated component to its limit, at the friction a rig was
 * settled with.  For a rig with one winch and one load.
 *
 * At a pose that stays, every load is the size of (slope times pull plus constant), and the pull is
 * the smallest root over the components.  Where points float and there are weights or drag, the pose
 * moves with the pull, and the pull is halved in on.
 */
#ifndef RV_CORE_LIMIT_H
#define RV_CORE_LIMIT_H

#include "core/solver.h"

/* balance: as settled.  NaN: nothing is rated, or what is carries nothing. */
double rv_limit_line_pull(struct rv_solver *solver, const struct rv_balance *balance);

#endif
