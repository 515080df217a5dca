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

/* Share of what the load resists that each sheave adds by the additive rule of thumb. */
#define RV_RESIST_SHEAVE_RATIO 0.1

/* Line pull by that rule: resists (1 + 0.1 sheaves) / advantage.  US Army course sheet 63H34F01 (after
 * FM 9-43-2, 10/95) and US Navy Steelworker vol. 2, "allowance for friction", both read in excerpts.
 * More cautious than a loss of 10 % at each sheave in turn: for comparison, never a prediction. */
double rv_resist_additive_n(double resists_n, int sheaves, double advantage_ratio);

#endif
