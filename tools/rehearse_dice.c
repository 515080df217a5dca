/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_dice.h"

#include <math.h>

uint64_t rv_rehearse_dice_bits(struct rv_rehearse_dice *dice)
{
	dice->state += 0x9e3779b97f4a7c15U;
	uint64_t bits = dice->state;
	bits = (bits ^ (bits >> 30)) * 0xbf58476d1ce4e5b9U;
	bits = (bits ^ (bits >> 27)) * 0x94d049bb133111ebU;
	return bits ^ (bits >> 31);
}

double rv_rehearse_dice_even(struct rv_rehearse_dice *dice)
{
	return (double)(rv_rehearse_dice_bits(dice) >> 11) * 0x1p-53;
}

double rv_rehearse_dice_normal(struct rv_rehearse_dice *dice)
{
	double a, square;

	do {
		a = 2 * rv_rehearse_dice_even(dice) - 1;
		double b = 2 * rv_rehearse_dice_even(dice) - 1;
		square = a * a + b * b;
	} while (square >= 1 || square <= 0);
	return a * sqrt(-2 * log(square) / square);
}

void rv_rehearse_dice_bumps(struct rv_rehearse_dice *dice, double over_m,
			    struct rv_rehearse_bumps *bumps)
{
	for (int i = 0; i < RV_REHEARSE_WAVES; i++) {
		bumps->phase_rad[i] = 2 * M_PI * rv_rehearse_dice_even(dice);
		/* Waves of one to eight times the length, none a multiple of another. */
		double stretch = (i + rv_rehearse_dice_even(dice)) / RV_REHEARSE_WAVES;
		bumps->wave_m[i] = over_m * exp2(3 * stretch);
	}
}

double rv_rehearse_dice_bump_at(const struct rv_rehearse_bumps *bumps, double place_m)
{
	double sum = 0;

	for (int i = 0; i < RV_REHEARSE_WAVES; i++)
		sum += sin(2 * M_PI * place_m / bumps->wave_m[i] + bumps->phase_rad[i]);
	return sum * sqrt(2.0 / RV_REHEARSE_WAVES);
}
