/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Speeds of everything in a solved rig, from the factors of its equations.
 */
#ifndef RV_CORE_FULL_SPEED_H
#define RV_CORE_FULL_SPEED_H

#include "core/equations_rate.h"
#include "core/linear.h"

/* s->linear holds the factors of the solved pose.  Fills the pose's speeds, for hauling in.  With loads: each at speed 1 along its travel; where the
 * rig says how fast its winches run beside one another (drive), and there are as many as loads, as
 * that makes them go, the first load that moves at speed 1.  Without loads: as the winches are
 * driven. */
void rv_full_speed_set(const struct rv_solving *s);

/* How the unknowns change, per unit of this motion of points that do not float: in units of force
 * and length; way has equations->n entries. */
void rv_full_speed_answer(const struct rv_solving *s, const struct rv_motions *motions,
			  double *way);

/* True when the drive settles how fast each load goes. */
bool rv_full_speed_is_driven(const struct rv_rig *rig);

#endif
