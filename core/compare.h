/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Is one block, rope or set-up better than another?  Two groups of pulls, by what each unit (pull or
 * cycle) says by itself, in x = ln(efficiency).
 *
 *   taken in turns (3 changes of group or more)   one line: level + step + drift, least squares; a
 *                                                 drift or a warming falls out
 *   one after the other                           Welch's t; drift_confounded is said
 *   three runs or more in both groups             the mean of a run is the unit
 *
 * A gain that both groups share falls out as far as it moves both alike, and so does a zero; where
 * the cells or their calibrations differ, both enter.  "differ" where the 95 % interval of the
 * difference leaves out 0; otherwise "not shown to differ", which is no proof of likeness.
 * Sources: Welch, Biometrika 34 (1947); common line over an interleaved order: analysis of covariance,
 * textbook; power by the noncentral t; all from memory.
 */
#ifndef RV_CORE_COMPARE_H
#define RV_CORE_COMPARE_H

#include "core/estimate.h"

enum { RV_COMPARE_GROUPS = 8, RV_COMPARE_MOST_PULLS = 1000 };

struct rv_compare_run {
	int number;	/* in its record */
	double start_s; /* by one clock for all groups; NaN: not known, the order then neither */
	struct rv_estimate_cell cell[2]; /* near, far */
};

struct rv_compare_group {
	const struct rv_estimate *estimate; /* its units; also of one refused as two_sessions */
	const struct rv_compare_run *run;   /* as its units count them */
	int runs;
	double u_gain_ratio; /* of the ratio of the cells; NaN: from the cells */
};

struct rv_compare_difference {
	double ratio_difference, low, high; /* of the efficiencies, b - a */
	double dof;
	bool differ;
	bool by_line, by_run;
	int units_a, units_b, changes;
	double mean_x;
	double unit_sd; /* scatter of x from unit to unit */
	bool drift_confounded, gain_added, gain_unknown, modes_differ, two_runs;
};

/* RV_ERR_REFUSED too_few_pulls: fewer than two units in a group; RV_ERR_NOMEM. */
enum rv_err rv_compare_pair(const struct rv_compare_group *a, const struct rv_compare_group *b,
			    struct rv_compare_difference *difference, struct rv_error *error);

/* Units in each group that tell a difference of x with this power (two-sided test at 5 %), 2 or
 * more; 0: more than RV_COMPARE_MOST_PULLS, or the scatter is not known. */
struct rv_compare_aim {
	double difference_x, unit_sd, power;
};

int rv_compare_needed(struct rv_compare_aim aim);

#endif
