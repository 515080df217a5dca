/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_winch.h"

#include <math.h>

/* A move too short to reach its speed turns round in the middle of its ramp. */
static double reached_mps(const struct rv_rehearse_move *move, double ramp_s)
{
	return fmin(move->speed_mps, fabs(move->distance_m) / ramp_s);
}

static double lasts_s(const struct rv_rehearse_move *move, double ramp_s)
{
	if (move->wait_s > 0)
		return move->wait_s;
	return fabs(move->distance_m) / reached_mps(move, ramp_s) + ramp_s;
}

/* Distance gone t_s into a move. */
static double gone_m(const struct rv_rehearse_move *move, double ramp_s, double t_s)
{
	if (move->wait_s > 0)
		return 0;
	double speed = reached_mps(move, ramp_s);
	double whole_s = lasts_s(move, ramp_s);
	if (t_s < ramp_s)
		return speed * t_s * t_s / (2 * ramp_s);
	if (t_s > whole_s - ramp_s) {
		double left_s = whole_s - t_s;
		return fabs(move->distance_m) - speed * left_s * left_s / (2 * ramp_s);
	}
	return speed * (t_s - ramp_s / 2);
}

double rv_rehearse_winch_out_m(const struct rv_rehearse_winch *winch, double t_s)
{
	double in_m = 0;

	for (int i = 0; i < winch->moves; i++) {
		const struct rv_rehearse_move *move = &winch->move[i];
		double whole_s = lasts_s(move, winch->ramp_s);
		if (t_s < whole_s)
			return -(in_m +
				 copysign(gone_m(move, winch->ramp_s, t_s), move->distance_m));
		in_m += move->distance_m;
		t_s -= whole_s;
	}
	return -in_m;
}

double rv_rehearse_winch_lasts_s(const struct rv_rehearse_winch *winch)
{
	double total_s = 0;

	for (int i = 0; i < winch->moves; i++)
		total_s += lasts_s(&winch->move[i], winch->ramp_s);
	return total_s;
}
