/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Chance for a rehearsal: the same seed plays the same rehearsal.
 *
 * Generator: splitmix64 (Steele, Lea, Flood: Fast splittable pseudorandom number generators,
 * 2014; from memory, not re-read).  Normal deviates by the polar method of Marsaglia.
 */
#ifndef RV_TOOLS_REHEARSE_DICE_H
#define RV_TOOLS_REHEARSE_DICE_H

#include <stdint.h>

struct rv_rehearse_dice {
	uint64_t state;
};

uint64_t rv_rehearse_dice_bits(struct rv_rehearse_dice *dice);

/* Even over [0, 1). */
double rv_rehearse_dice_even(struct rv_rehearse_dice *dice);

/* Normal, mean 0, standard deviation 1. */
double rv_rehearse_dice_normal(struct rv_rehearse_dice *dice);

enum { RV_REHEARSE_WAVES = 6 };

/* An irregularity along a way: mean 0, standard deviation 1, the same each time the same place is
 * passed, and smooth, so that a standing line stays at rest. */
struct rv_rehearse_bumps {
	double phase_rad[RV_REHEARSE_WAVES];
	double wave_m[RV_REHEARSE_WAVES];
};

/* over_m: the length over which it keeps its sign, about. */
void rv_rehearse_dice_bumps(struct rv_rehearse_dice *dice, double over_m,
			    struct rv_rehearse_bumps *bumps);
double rv_rehearse_dice_bump_at(const struct rv_rehearse_bumps *bumps, double place_m);

#endif
