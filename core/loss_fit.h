/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Is a part of the loss the same whatever the load?  A sheave that loses a constant force c besides
 * its share changes ln(tension out / tension in) to x - c / T: over pulls at different loads the x
 * that each pull gives by itself is a straight line in 1 / T, with slope -c.
 *
 * Fitted by least squares over the units of an estimate, each run and each arrangement of the cells
 * with a level of its own, so that neither gains nor days enter.  T is the tension of a leg: harmonic
 * mean over both cells and, in a cycle, both ways (cycles go by their difference in - out, the mean
 * of both directions).  A zero that is wrong by some newtons looks like a constant part: it enters
 * beside the scatter, and hardly matters in cycles, where it cancels.
 * "With constant" where Student's t test (5 %, two-sided) rejects 0.  Least squares and t test:
 * textbook.  Fewer than 6 units, or no two loads of 1 : 2 (RV_LOSS_FIT_LEVELS): not known.
 */
#ifndef RV_CORE_LOSS_FIT_H
#define RV_CORE_LOSS_FIT_H

#include "core/estimate.h"

enum { RV_LOSS_FIT_UNITS = 6 };

/* Ratio of the highest to the lowest load of a run that counts as two levels: 2, less what a load is
 * off; own choice. */
#define RV_LOSS_FIT_LEVELS 1.8

struct rv_loss_fit_ask {
	const struct rv_estimate_setup *setup;
	const struct rv_estimate_pull *pull; /* those the estimate was made of */
	int pulls;
	double legs[2]; /* of the line that the near and the far cell feel; NaN = 1 */
};

/* Fills estimate->loss, from its units: after rv_estimate_make.  Warns single_load where the loads
 * cannot tell, constant_loss where there is a constant part, better_at_low_load where
 * it would be below 0.  Leaves a refused estimate, and that of a moved cell or of several cells
 * together, alone.  RV_ERR_NOMEM. */
enum rv_err rv_loss_fit(const struct rv_loss_fit_ask *ask, struct rv_estimate *estimate);

#endif
