/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a vehicle on a slope holds against a line.
 *
 * With W = mass times standard gravity and slope a (degrees, up the way it is hauled):
 * hauling in, W sin a + rolling W cos a + mire W; paying out, the friction helps:
 * W sin a - rolling W cos a - mire W.  Statics of a body on an incline, derived here.  rolling and
 * mire are shares of weight that the user names; none is chosen for him.
 */
#ifndef RV_CORE_RESIST_H
#define RV_CORE_RESIST_H

#include "core/rig.h"

/* Newtons; below zero where the load would run the other way by itself.  middle is halfway. */
struct rv_range rv_resist_vehicle(const struct rv_load *load, bool haul_out);

#endif
