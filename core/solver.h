/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A layout solved by the way it needs: directly where the pose is known beforehand, else with its
 * floating points.
 */
#ifndef RV_CORE_SOLVER_H
#define RV_CORE_SOLVER_H

#include "core/full.h"

/* What friction leaves of a tension, or makes of it, is no more than this times it.  Own choice (common
 * practice, no source): beyond, a cell tells nothing of the other end. */
#define RV_SOLVER_MOST_RATIO 1e12

struct rv_solver {
	struct rv_layout *layout;	 /* borrowed; its pose changes */
	const struct rv_givens *givens; /* borrowed */
	struct rv_full *full;		 /* owned; NULL = the direct way */
	struct rv_friction friction;	 /* of the last rv_solver_settle */
};

/* Checks and prepares.  Sets layout->group: with floating points and one winch that pulls one
 * load, all that hangs together is one group.  Close with rv_solver_close.  RV_ERR_REFUSED: tags of core/direct and
 * core/full. */
enum rv_err rv_solver_open(struct rv_layout *layout, const struct rv_givens *givens,
			   struct rv_solver *solver, struct rv_error *error);
void rv_solver_close(struct rv_solver *solver);

/* Other forces of the same things. */
void rv_solver_give(struct rv_solver *solver, const struct rv_givens *givens);

/* The pose is not near the one solved last. */
void rv_solver_forget(struct rv_solver *solver);

/* Pose, speeds, turns, tensions.  sense: +1 hauling in, -1 paying out. */
enum rv_err rv_solver_settle(struct rv_solver *solver, int sense, struct rv_balance *balance,
			     struct rv_error *error);

/* How every leg's tension follows from one: of each group of pieces, the tension at the start of the
 * piece that gives the group its number.  With floating points, the pose for this friction as well,
 * and what changes with the tension is taken at that of givens.  The layout's pose stays.  False: it
 * cannot be solved for this friction, or loses more than RV_SOLVER_MOST_RATIO. */
bool rv_solver_chain(struct rv_solver *solver, const struct rv_friction *friction,
		     struct rv_chain *chain, struct rv_pose *pose);

/* For a friction as it is. */
enum rv_err rv_solver_balance(struct rv_solver *solver, const struct rv_friction *friction,
			      struct rv_balance *balance, struct rv_error *error);

/* Moves the loads on along their travels (metres, hauling in), floating points by their speeds.  To
 * be settled after that. */
enum rv_err rv_solver_advance(struct rv_solver *solver, double step_m, struct rv_error *error);

/* The ends of the leg can move apart: they are on two bodies.  A floating point is a body of its own;
 * a strop or sling of one leg keeps its length. */
bool rv_solver_joins_bodies(const struct rv_layout *layout, int leg);

/* How far the loads may be moved at once, so that no leg gets shorter by more than half: none can
 * then jump over the place where its ends would meet. */
double rv_solver_stride_m(const struct rv_solver *solver);

#endif
