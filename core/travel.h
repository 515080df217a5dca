/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What happens while the load travels: line taken in, velocity ratio and line pull along the way.
 * For a rig with one winch and one load.
 */
#ifndef RV_CORE_TRAVEL_H
#define RV_CORE_TRAVEL_H

#include "core/solver.h"

enum { RV_TRAVEL_ROWS = 25 };

/* Nearer than this, or than their sheaves touch, two ends of a leg count as two-blocked.  Own choice
 * (common practice, no source): gear has a length that points do not have. */
#define RV_TRAVEL_CLOSEST_M 0.3

struct rv_travel_row {
	double travel_m;       /* the load's, from where it is declared; grows either way it goes */
	double line_in_m;      /* grows while hauling; below zero while paying out */
	double velocity_ratio;
	double line_pull_n;
};

enum rv_travel_end {
	RV_TRAVEL_WHOLE,       /* as far as was asked */
	RV_TRAVEL_TWO_BLOCKED, /* the last row is where two ends of a leg meet */
	RV_TRAVEL_NO_FORCES,   /* further on the rig has no balance: why */
};

struct rv_travel {
	int rows;
	struct rv_travel_row row[RV_TRAVEL_ROWS];
	enum rv_travel_end end;
	int leg;	     /* TWO_BLOCKED: the leg that got too short */
	struct rv_error why; /* NO_FORCES */
};

/* Rows stand at each eighth of the way (as asked, or to where it ends) and, up to RV_TRAVEL_ROWS, where
 * the velocity ratio changes.  Moves the pose of the solver's layout along; it stays where the travel
 * ended. */
void rv_travel_go(struct rv_solver *solver, double travel_m, struct rv_travel *travel);

#endif
