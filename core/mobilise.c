/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/mobilise.h"

#include <math.h>

#define BACK_M 0.0003
#define AGAIN_M 0.012

void rv_mobilise_begin(struct rv_mobilise *track)
{
	*track = (struct rv_mobilise){.begun = false};
}

double rv_mobilise_passed_m(const struct rv_mobilise_setup *setup, enum rv_motion motion,
			    double payout_m, double leg_n)
{
	double way = motion == RV_MOTION_OUT ? -1.0 : 1.0;

	return way * (-payout_m / setup->slowest_ratio + setup->compliance_mpn * leg_n);
}

bool rv_mobilise_see(struct rv_mobilise *track, double passed_m)
{
	if (isnan(passed_m))
		return false;
	if (!track->begun) {
		*track = (struct rv_mobilise){.begun = true, .farthest_m = passed_m};
		return true;
	}
	if (!track->ran_back) {
		track->farthest_m = fmax(track->farthest_m, passed_m);
		track->ran_back = track->farthest_m - passed_m > BACK_M;
		track->lowest_m = passed_m;
		return !track->ran_back;
	}
	track->lowest_m = fmin(track->lowest_m, passed_m);
	if (passed_m < track->lowest_m + AGAIN_M)
		return false;
	track->ran_back = false;
	track->farthest_m = passed_m;
	return true;
}
