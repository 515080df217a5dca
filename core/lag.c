/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/lag.h"

#include <math.h>
#include <string.h>

#define SPAN 10 /* grid points in 0.2 s */
#define LEAST_CENTRES 100
#define LEAST_PEAK 0.5

void rv_lag_begin(struct rv_lag *lag)
{
	memset(lag, 0, sizeof *lag);
}

/* Mean of the 0.2 s after k less that of the 0.2 s before: the change over 0.2 s of means of 0.2 s.
 */
static double change(const struct rv_grid *grid, int64_t k)
{
	double sum = 0.0;

	for (int i = 1; i <= SPAN; i++)
		sum += rv_grid_at(grid, k + i) - rv_grid_at(grid, k + 1 - i);
	return sum / SPAN;
}

static void compare(struct rv_lag *lag, int64_t centre)
{
	double near = lag->near_change[centre % RV_LAG_RING];

	if (isnan(near))
		return;
	for (int i = 0; i < RV_LAG_LAGS; i++) {
		double far = lag->far_change[(centre + i - RV_LAG_MOST) % RV_LAG_RING];

		if (isnan(far))
			continue;
		lag->cross[i] += near * far;
		lag->near_power[i] += near * near;
		lag->far_power[i] += far * far;
	}
	lag->centres++;
}

void rv_lag_see(struct rv_lag *lag, const struct rv_grid *near, const struct rv_grid *far,
		int64_t k)
{
	lag->near_change[lag->seen % RV_LAG_RING] = change(near, k);
	lag->far_change[lag->seen % RV_LAG_RING] = change(far, k);
	lag->seen++;
	if (lag->seen > 2 * RV_LAG_MOST)
		compare(lag, lag->seen - 1 - RV_LAG_MOST);
}

static double correlation(const struct rv_lag *lag, int i)
{
	double power = lag->near_power[i] * lag->far_power[i];

	return power > 0.0 ? lag->cross[i] / sqrt(power) : (double)NAN;
}

double rv_lag_s(const struct rv_lag *lag)
{
	int best = 0;

	if (lag->centres < LEAST_CENTRES)
		return NAN;
	for (int i = 1; i < RV_LAG_LAGS; i++)
		if (isnan(correlation(lag, best)) || correlation(lag, i) > correlation(lag, best))
			best = i;
	double peak = correlation(lag, best);
	if (best == 0 || best == RV_LAG_LAGS - 1 || !(peak > LEAST_PEAK))
		return NAN;
	double before = correlation(lag, best - 1), after = correlation(lag, best + 1);
	double bend = before - 2.0 * peak + after;
	double aside = bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;
	return (best - RV_LAG_MOST + aside) / RV_GRID_HZ;
}
