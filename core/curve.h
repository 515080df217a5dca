/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig as an estimate sees it: which sheaves are in question between two cells, and ln(far / near)
 * as a function of their one shared efficiency.
 *
 * A few microseconds for a value where the rig is reckoned directly; where points float every value
 * is solved for anew.
 */
#ifndef RV_CORE_CURVE_H
#define RV_CORE_CURVE_H

#include "core/estimate.h"
#include "core/predict.h"

struct rv_curve {
	const struct rv_predictor *predictor; /* borrowed */
	int near, far;			      /* cells; far may be RV_PREDICTOR_LOAD */
	int sheaves;
	struct rv_predictor_sheave sheave[RV_RIG_LEGS];
	double effective;			/* number of sheaves between them */
	double declared_low_ratio, declared_high_ratio; /* of these blocks together; NaN: none */
};

/* RV_ERR_REFUSED, tags: rig_not_covered (several winches, or the two are not on one line),
 * insensitive_placement (no sheave lies between them).  The one with fewer sheaves between it and the
 * winch becomes near. */
enum rv_err rv_curve_make(const struct rv_predictor *predictor, int near, int far,
			  struct rv_curve *curve, struct rv_error *error);

/* The pair of these cells (count of them, by index) between which most sheaves lie.  RV_ERR_REFUSED
 * as above when there is no pair. */
enum rv_err rv_curve_choose(const struct rv_predictor *predictor, const int *cells, int count,
			    struct rv_curve *curve, struct rv_error *error);

/* As an estimate takes it; borrows the curve. */
struct rv_estimate_curve rv_curve_function(const struct rv_curve *curve);

#endif
