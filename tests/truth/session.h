/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A played session seen by reeve's own rooms: motion, pulls, facts, estimate.
 */
#ifndef RV_TESTS_SESSION_H
#define RV_TESTS_SESSION_H

#include "core/estimate.h"
#include "core/facts.h"
#include "tests/truth/simrig.h"

struct session_told {
	double u_gain_ratio;  /* stated of both cells */
	double u_delay_s;     /* error of the declared delays, standard */
	double stiffness_log; /* error of the declared stiffness, ln, uniform, half-width */
	bool gain_unknown;
};

/* The setup of the estimate is ready, and the caller's to change. */
struct session {
	const struct sim_setup *sim;
	struct sim_truth truth;
	struct rv_facts facts;
	struct rv_estimate_run run;
	struct rv_estimate_setup setup;
	double lag_s; /* found in the first pass, and taken off in the second */
};

/* Plays it, twice where the far cell was found to be late, and puts the facts into *session. */
void session_play(const struct sim_setup *sim, const struct session_told *told, uint64_t seed,
		  struct session *session);

/* What the tackle says of its two cells at one efficiency e^x: the function that the estimate is
 * given.  By its own arithmetic, not by the project's solver. */
double session_curve(const void *sim, double x, enum rv_motion motion);

#endif
