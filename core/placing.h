/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a point placed a little elsewhere changes: for points with a tolerance (within, +- each
 * coordinate), by the slope of every load with each coordinate where the rig is solved.
 *
 * worst: all tolerances used up the worst way, sum of |slope| * within.  sd: as if every coordinate
 * lay anywhere within its limits, each alike: root of the sum of (slope * within)^2 / 3 (rectangular
 * limits, JCGM 100:2008, 4.3.7; from memory, not re-read).  Lines whose length is measured from the
 * declared points are measured anew; turns of sheaves stay.
 */
#ifndef RV_CORE_PLACING_H
#define RV_CORE_PLACING_H

#include "core/plan_result.h"
#include "core/solver.h"

/* Fills plan->placing and adds the note "placing", where any point has a tolerance.  The pose stays
 * as it is. */
void rv_placing_set(struct rv_solver *solver, struct rv_plan *plan);

#endif
