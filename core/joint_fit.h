/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The least-squares fit over several cells: which pulls and segments take part, the fit, and what any
 * weighted sum of segments is worth.
 */
#ifndef RV_CORE_JOINT_FIT_H
#define RV_CORE_JOINT_FIT_H

#include "core/joint_setup.h"
#include "core/repeat.h"
#include "core/value.h"

struct rv_joint_unit {
	int in, out; /* places among the pulls; out -1 in hauls */
};

struct rv_joint_fit {
	const struct rv_joint_setup *setup;
	struct rv_joint joint;
	bool has[RV_JOINT_CELLS];	/* cell takes part */
	int rows, row_cell[RV_JOINT_CELLS]; /* ratios that are fitted: cells */
	int sheaves[RV_JOINT_CELLS];	/* of each fitted segment */
	int units;
	struct rv_joint_unit unit[RV_ESTIMATE_PULLS];
	struct rv_repeat repeat;
	double mean[RV_JOINT_CELLS];		    /* Y */
	double jacobian[RV_JOINT_CELLS][RV_JOINT_CELLS];	    /* row by segment */
	double answer[RV_JOINT_CELLS][RV_JOINT_CELLS];	    /* A: segment by row */
	double each[RV_JOINT_CELLS][RV_ESTIMATE_PULLS]; /* x of each segment, unit by unit */
};

/* Sets has, units and segments; drops a cell where too few pulls have them all. */
void rv_joint_fit_prepare(struct rv_joint_fit *fit);

/* Fits the means.  False: the segments cannot be told apart. */
bool rv_joint_fit_solve(struct rv_joint_fit *fit);

/* ln(cell j / cell 0) of a fitted row at the x of the segments. */
double rv_joint_fit_at(const struct rv_joint_fit *fit, int row, const double *x,
		       enum rv_motion motion);

/* Of a sum of weight * x over the segments; closed. */
struct rv_value rv_joint_fit_value(const struct rv_joint_fit *fit, const double *weight);

/* Sets differ and worst: one segment against the mean of the others, Bonferroni over all of them (one
 * test for two). */
void rv_joint_fit_judge(struct rv_joint_fit *fit);

#endif
