/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/drum.h"

#include <math.h>

double rv_drum_holds_m(const struct rv_drum *drum, int layer)
{
	/* A hair more than a whole number of turns is not one turn less. */
	double turns = floor(drum->width_m / drum->line_m * (1.0 + 1e-9));

	return turns * M_PI * layer * (drum->diameter_m + layer * drum->line_m);
}

int rv_drum_layer(const struct rv_drum *drum, double on_drum_m)
{
	if (isnan(rv_drum_holds_m(drum, 1)) || isnan(on_drum_m))
		return 0;
	int layer = 1;
	while (layer <= RV_DRUM_LAYERS && rv_drum_holds_m(drum, layer) < on_drum_m)
		layer++;
	return layer;
}

double rv_drum_pull_ratio(const struct rv_drum *drum, int layer)
{
	return (drum->diameter_m + drum->line_m) /
	       (drum->diameter_m + (2.0 * layer - 1.0) * drum->line_m);
}
