/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Newton's method for the equations of a rig: one pose and its tensions for a given friction.
 */
#ifndef RV_CORE_FULL_STEP_H
#define RV_CORE_FULL_STEP_H

#include "core/equations.h"
#include "core/linear.h"

enum rv_full_step {
	RV_FULL_STEP_DONE,
	RV_FULL_STEP_STALLED,  /* no better place is found */
	RV_FULL_STEP_SINGULAR, /* the equations do not decide all unknowns here */
	RV_FULL_STEP_MEETS,    /* two points of a leg coincide */
};

/* Start tensions that come nearest to balance where the pose is. */
enum rv_full_step rv_full_step_start(const struct rv_solving *s);

/* From the layout's pose and tension->start_n on.  When DONE, linear holds the factors of the
 * matrix there.  steps: how many were made. */
enum rv_full_step rv_full_step_solve(const struct rv_solving *s, int *steps);

#endif
