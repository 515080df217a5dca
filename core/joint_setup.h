/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Three cells and more on one line: where between them the loss is, and which cell is out of its
 * calibration.  For the mean over all sheaves more cells tell hardly more than the two at the ends;
 * they tell which block it is.
 *
 * Cells 0 .. J-1 stand in the line's order from the winch; segment s is what lies between cell s and
 * cell s+1 and has one efficiency, x_s = ln(efficiency).  What the caller hands over:
 *   - for each cell j = 1 .. J-1 the pulls of the pair (0, j), all arrays with the same pulls in the same
 *     order (one pull stream for each pair over the same readings): near = cell 0, far = cell j;
 *   - the rig as a function of the efficiencies of all segments: ln(cell j / cell 0);
 *   - what is known of each cell, and the sheaves of each segment;
 *   - an estimate made of the pair at the two ends by rv_estimate_make: it keeps its efficiency.
 *
 * One weighted least-squares fit in log ratios (Gauss-Newton) over the mean of all cycles, Y_j = L_in -
 * L_out, of which gains fall out; where there are no three cycles, over hauls with stated gains.  The
 * weights are declared, never the sample's own covariance, which a few pulls cannot give: 0.2 % common
 * and 0.2 % own scatter of each sheave, 0.15 % of each log ratio (own choice).  A wrong weight costs
 * width, not truth: scatter is taken over what each cycle says by itself, Student's t over cycles.
 * By cycles a segment's value is the mean of both directions.
 * Method: textbook generalised least squares; linear algebra by the GNU Scientific Library.
 */
#ifndef RV_CORE_JOINT_SETUP_H
#define RV_CORE_JOINT_SETUP_H

#include "core/estimate.h"

enum { RV_JOINT_CELLS = 8, RV_JOINT_SEGMENTS = RV_JOINT_CELLS - 1 };

struct rv_joint_sheave {
	const char *block; /* borrowed */
	int sheave;	   /* as the estimate's own */
	int segment;
};

struct rv_joint_setup {
	int cells; /* 3 .. RV_JOINT_CELLS */
	const struct rv_estimate_cell *cell;
	/* x: of each segment, cells - 1 of them.  NaN where the rig has no answer. */
	double (*log_ratio)(const void *rig, int cell, const double *x, enum rv_motion motion);
	const void *rig;
	const struct rv_joint_sheave *sheave;
	int sheaves;
	const struct rv_estimate_pull *pull[RV_JOINT_CELLS]; /* of the pair (0, j); [0] is not used */
	int pulls;
	const struct rv_estimate_setup *estimate; /* uncertainty of the lag, correlation */
	bool equal_loss; /* declared: paying out costs what hauling does */
};

struct rv_joint {
	bool by_cycles;
	int units;	/* cycles or hauls used */
	int segments;	/* that were fitted: neighbours join where a cell was dropped */
	int segment_of[RV_JOINT_SEGMENTS]; /* fitted segment of each; -1: not measured */
	struct rv_estimate_interval efficiency[RV_JOINT_SEGMENTS];
	double x[RV_JOINT_SEGMENTS];
	bool differ;	/* Bonferroni at 5 %: one segment against the mean of the others */
	int worst;	/* the segment that loses most, where they differ; else -1 */
	int dropped;	/* a cell left out because too few pulls had it; -1: none */
	double gain_log[RV_JOINT_CELLS]; /* in place, of cell j over cell 0; NaN: not known */
	int suspect;	/* cell out of calibration; -1: none, or not to be named */
};

#endif
