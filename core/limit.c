/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/limit.h"

#include <math.h>

#include "core/force.h"

enum { DOUBLINGS = 40, HALVINGS = 80 };

static double direct_limit_n(const struct rv_layout *layout, const struct rv_chain *chain)
{
	const struct rv_component_set *set = &layout->set;
	double least_n = (double)NAN;

	for (int i = 0; i < set->components; i++)
		for (int k = 0; k < set->part_count[i]; k++) {
			double slope[RV_DIM], constant_n[RV_DIM];
			double limit_n = set->component[i].limit_n / set->scale[i];

			rv_force_sum(set, &layout->pose, set->first_part[i] + k, chain->slope,
				     false, slope);
			rv_force_sum(set, &layout->pose, set->first_part[i] + k, chain->constant_n,
				     true, constant_n);
			double pull_n = rv_pose_size(constant_n) >= limit_n
					    ? 0.0
					    : rv_force_root(slope, constant_n, limit_n);
			least_n = fmin(least_n, pull_n); /* fmin passes over NaN */
		}
	return least_n;
}

static double largest_use(const struct rv_layout *layout, const double *tension_n)
{
	double most = (double)NAN;

	for (int i = 0; i < layout->set.components; i++)
		most = fmax(most, rv_force_on(&layout->set, &layout->pose, i, tension_n) /
				      layout->set.component[i].limit_n);
	return most;
}

/* The largest use with this line pull; NaN when the rig does not hold with it. */
static double use_at(struct rv_solver *solver, double pull_n)
{
	const struct rv_givens *own = solver->givens;
	struct rv_givens pulled = {1, {{RV_GIVEN_LINE_PULL, 0, {pull_n, pull_n, pull_n}}}};
	struct rv_friction friction = solver->friction;
	struct rv_balance balance;
	double use = (double)NAN;

	rv_solver_give(solver, &pulled);
	if (rv_solver_balance(solver, &friction, &balance, NULL) == RV_OK)
		use = largest_use(solver->layout, balance.tension_n);
	rv_solver_give(solver, own);
	return use;
}

static double sought_limit_n(struct rv_solver *solver, double pull_n)
{
	struct rv_pose nominal = solver->layout->pose;
	double low_n = pull_n, high_n = pull_n;

	for (int i = 0; i < DOUBLINGS && use_at(solver, high_n) < 1.0; i++) {
		low_n = high_n;
		high_n *= 2.0;
	}
	for (int i = 0; i < DOUBLINGS && use_at(solver, low_n) > 1.0; i++)
		low_n *= 0.5;
	for (int i = 0; i < HALVINGS && high_n - low_n > 1e-12 * high_n; i++) {
		double middle_n = 0.5 * (low_n + high_n);

		if (use_at(solver, middle_n) < 1.0)
			low_n = middle_n;
		else
			high_n = middle_n;
	}
	solver->layout->pose = nominal;
	return low_n;
}

static double limit_n(struct rv_solver *solver, const struct rv_balance *balance)
{
	const struct rv_layout *layout = solver->layout;

	if (!solver->full)
		return direct_limit_n(layout, &balance->chain);
	double pull_n = balance->start_n[rv_reeve_winch_piece(&layout->reeving, 0)];
	double use = largest_use(layout, balance->tension_n);
	if (isnan(use))
		return use;
	return rv_layout_is_proportional(layout) ? pull_n / use : sought_limit_n(solver, pull_n);
}

double rv_limit_line_pull(struct rv_solver *solver, const struct rv_balance *balance)
{
	double pull_n = limit_n(solver, balance);

	/* Where all that is rated carries next to nothing, no pull brings it to its limit. */
	return isfinite(pull_n) ? pull_n : (double)NAN;
}
