/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Equilibrium: all tensions and what the loads hold, from the given forces.  Here for a pose that is
 * known beforehand; a solver that finds the pose as well fills the same result.
 */
#ifndef RV_CORE_BALANCE_H
#define RV_CORE_BALANCE_H

#include "core/friction.h"
#include "core/given.h"
#include "core/layout.h"

/* No line carries more: such a figure comes of a rig that is none.  Own choice (common practice, no
 * source). */
#define RV_BALANCE_MOST_N 1e15

struct rv_balance {
	struct rv_chain chain;
	double start_n[RV_REEVE_PIECES]; /* tension at the start of each piece */
	double tension_n[RV_RIG_LEGS];
	double resists_n[RV_RIG_LOADS]; /* against travel */
	double side_n[RV_RIG_LOADS];	/* across it: what wheels or the ground must take */
	bool slack[RV_REEVE_PIECES];	/* hangs loose and need not carry */
};

/* Uses the middle of each given.  RV_ERR_REFUSED, tags: line_slack, load_not_pulled, split_unknown,
 * cell_unreachable, no_equilibrium. */
enum rv_err rv_balance_solve(const struct rv_layout *layout, const struct rv_friction *friction,
			     const struct rv_givens *givens, struct rv_balance *balance,
			     struct rv_error *error);

/* What the loads hold, from the tensions.  RV_ERR_REFUSED, tag load_not_pulled. */
enum rv_err rv_balance_weigh(const struct rv_layout *layout, struct rv_balance *balance,
			     struct rv_error *error);

/* RV_ERR_REFUSED, tag no_equilibrium: more than RV_BALANCE_MOST_N, or no number. */
enum rv_err rv_balance_check_leg(const struct rv_layout *layout, int leg, double tension_n,
				 struct rv_error *error);

/* Says that a leg would have to push. */
enum rv_err rv_balance_refuse_slack(const struct rv_layout *layout, int leg,
				    struct rv_error *error);

#endif
