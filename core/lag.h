/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How much later the far cell tells of a change than the near one, from the readings themselves: the
 * lag at which the changes of the two over 0.2 s (of means over 0.2 s) go together best, within 0.6 s
 * either way.  Normalised cross-correlation, peak by a parabola through its three highest points:
 * textbook.
 */
#ifndef RV_CORE_LAG_H
#define RV_CORE_LAG_H

#include <stdint.h>

#include "core/grid.h"

enum { RV_LAG_MOST = 30, RV_LAG_LAGS = 2 * RV_LAG_MOST + 1, RV_LAG_RING = 128 };

struct rv_lag {
	int64_t seen;	 /* grid points since the beginning */
	int64_t centres; /* of them, compared */
	double near_change[RV_LAG_RING], far_change[RV_LAG_RING];
	double cross[RV_LAG_LAGS], near_power[RV_LAG_LAGS], far_power[RV_LAG_LAGS];
};

void rv_lag_begin(struct rv_lag *lag);

/* Grid point k of both, each k once, in order; the grids must know k + 10. */
void rv_lag_see(struct rv_lag *lag, const struct rv_grid *near, const struct rv_grid *far,
		int64_t k);

/* Seconds, positive where the far cell is late.  NaN: less than 2 s compared, no peak inside 0.6 s,
 * or a peak of no more than 0.5. */
double rv_lag_s(const struct rv_lag *lag);

#endif
