/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/surge.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_sort_double.h>
#include <gsl/gsl_statistics_double.h>

#define LEAST 100
#define SHARE 0.3

void rv_surge_begin(struct rv_surge *surge)
{
	surge->count = surge->skipped = 0;
	surge->stride = 1;
}

static void thin(struct rv_surge *surge)
{
	for (int i = 0; i < RV_SURGE_POINTS / 2; i++) {
		surge->slope[i] = surge->slope[2 * i];
		surge->ratio[i] = surge->ratio[2 * i];
	}
	surge->count = RV_SURGE_POINTS / 2;
	surge->stride *= 2;
}

void rv_surge_see(struct rv_surge *surge, double slope, double log_ratio)
{
	if (isnan(slope) || isnan(log_ratio) || ++surge->skipped < surge->stride)
		return;
	surge->skipped = 0;
	if (surge->count == RV_SURGE_POINTS)
		thin(surge);
	surge->slope[surge->count] = slope;
	surge->ratio[surge->count++] = log_ratio;
}

double rv_surge_log(const struct rv_surge *surge)
{
	double sorted[RV_SURGE_POINTS], rising = 0.0, falling = 0.0;
	int risings = 0, fallings = 0;

	if (surge->count < LEAST)
		return NAN;
	memcpy(sorted, surge->slope, (size_t)surge->count * sizeof *sorted);
	gsl_sort(sorted, 1, (size_t)surge->count);
	double low = gsl_stats_quantile_from_sorted_data(sorted, 1, (size_t)surge->count, SHARE);
	double high =
	    gsl_stats_quantile_from_sorted_data(sorted, 1, (size_t)surge->count, 1.0 - SHARE);
	for (int i = 0; i < surge->count; i++) {
		if (surge->slope[i] >= high) {
			rising += surge->ratio[i];
			risings++;
		} else if (surge->slope[i] <= low) {
			falling += surge->ratio[i];
			fallings++;
		}
	}
	return risings > 0 && fallings > 0 ? rising / risings - falling / fallings : (double)NAN;
}
