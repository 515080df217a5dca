/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/pull_rope.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Any load does: where drag and weights count, the force of a common pull. */
#define PROBE_N 10e3

struct mean {
	double length_m, tension_n;
	int legs;
};

int rv_pull_rope_line(const struct rv_predictor *predictor)
{
	const char *winch = rv_predictor_rig(predictor)->winch[0].name;

	for (int i = 0; i < rv_predictor_legs(predictor); i++) {
		const struct rv_leg *leg = rv_predictor_leg(predictor, i);

		if (leg->leg == 1 && (strcmp(leg->from, winch) == 0 || strcmp(leg->to, winch) == 0))
			return leg->rope;
	}
	return -1;
}

static struct mean mean_leg(const struct rv_predictor *predictor, const struct rv_loads *loads,
			    int line)
{
	struct mean mean = {.legs = 0};

	for (int i = 0; i < rv_predictor_legs(predictor); i++) {
		const struct rv_leg *leg = rv_predictor_leg(predictor, i);

		if (leg->rope != line || isnan(loads->leg[i].nominal_n))
			continue;
		mean.length_m += leg->length_m;
		mean.tension_n += loads->leg[i].nominal_n;
		mean.legs++;
	}
	mean.length_m /= fmax(mean.legs, 1.0);
	mean.tension_n /= fmax(mean.legs, 1.0);
	return mean;
}

static double seen(const struct rv_loads *loads, int cell, double leg_n)
{
	double load_n = cell < 0 ? (double)NAN : loads->cell[cell].nominal_n;

	return load_n > 0.0 && leg_n > 0.0 ? load_n / leg_n : 1.0;
}

struct rv_mobilise_setup rv_pull_rope_of(const struct rv_predictor *predictor, int near, int far)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);
	struct rv_mobilise_setup setup = {.slowest_ratio = 1.0, .legs_seen = {1.0, 1.0}};
	struct rv_loads *loads = malloc(sizeof *loads);
	double ratio = fabs(rv_predictor_velocity_ratio(predictor, 0));

	if (ratio > 1.0)
		setup.slowest_ratio = ratio;
	int line = rv_pull_rope_line(predictor);
	if (loads && line >= 0 &&
	    rv_predictor_loads(predictor, near, PROBE_N, RV_MOTION_IN, loads) == RV_OK) {
		double stiffness_n = rig->rope[line].stiffness_n;
		struct mean leg = mean_leg(predictor, loads, line);

		setup.legs_seen[0] = seen(loads, near, leg.tension_n);
		setup.legs_seen[1] = seen(loads, far, leg.tension_n);
		if (stiffness_n > 0.0)
			setup.compliance_mpn = leg.length_m / stiffness_n;
	}
	free(loads);
	return setup;
}
