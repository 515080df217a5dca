/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/curve.h"

#include <math.h>

static double log_ratio(const void *rig, double x, enum rv_motion motion)
{
	const struct rv_curve *curve = rig;

	return rv_predictor_log_ratio(curve->predictor, curve->near, curve->far, exp(x), motion);
}

struct rv_estimate_curve rv_curve_function(const struct rv_curve *curve)
{
	return (struct rv_estimate_curve){log_ratio, curve};
}

static void set_declared(struct rv_curve *curve)
{
	const struct rv_rig *rig = rv_predictor_rig(curve->predictor);

	curve->declared_low_ratio = curve->declared_high_ratio = (double)NAN;
	for (int i = 0; i < curve->sheaves; i++) {
		const struct rv_range *range = &rig->block[curve->sheave[i].block].efficiency;
		curve->declared_low_ratio = fmin(curve->declared_low_ratio, range->low);
		curve->declared_high_ratio = fmax(curve->declared_high_ratio, range->high);
	}
}

/* A cell on a line that hangs from the winch's is further than all that are on it. */
static int sheaves_to(const struct rv_predictor *predictor, int cell)
{
	int sheaves = rv_predictor_cell_distance(predictor, cell);

	return sheaves < 0 ? RV_RIG_LEGS : sheaves;
}

enum rv_err rv_curve_make(const struct rv_predictor *predictor, int near, int far,
			  struct rv_curve *curve, struct rv_error *error)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);
	struct rv_curve made = {.predictor = predictor, .near = near, .far = far};

	if (far != RV_PREDICTOR_LOAD && sheaves_to(predictor, far) < sheaves_to(predictor, near)) {
		made.near = far;
		made.far = near;
	}
	double ratio = rv_predictor_log_ratio(predictor, made.near, made.far, 0.96, RV_MOTION_IN);
	if (rig->winches != 1 || isnan(ratio))
		return rv_err_refuse(
		    error, "rig_not_covered",
		    "cell %s and %s %s are not on one line that one winch moves: use cells that "
		    "are",
		    rig->cell[made.near].name, far == RV_PREDICTOR_LOAD ? "load" : "cell",
		    far == RV_PREDICTOR_LOAD ? rig->load[0].name : rig->cell[made.far].name);
	made.sheaves = rv_predictor_sheaves_shared(predictor, made.near, made.far, made.sheave);
	made.effective = fabs(rv_predictor_sheaves_between(predictor, made.near, made.far));
	if (made.sheaves == 0)
		return rv_err_refuse(
		    error, "insensitive_placement",
		    "no sheave between cell %s and %s %s changes their ratio: put one beyond a "
		    "sheave, the dead end at best",
		    rig->cell[made.near].name, far == RV_PREDICTOR_LOAD ? "load" : "cell",
		    far == RV_PREDICTOR_LOAD ? rig->load[0].name : rig->cell[made.far].name);
	set_declared(&made);
	*curve = made;
	return RV_OK;
}

enum rv_err rv_curve_choose(const struct rv_predictor *predictor, const int *cells, int count,
			    struct rv_curve *curve, struct rv_error *error)
{
	struct rv_curve best = {.effective = -1.0}, tried;
	enum rv_err err = count > 1
			      ? RV_OK
			      : rv_err_refuse(error, "one_cell_no_design",
					      "one cell cannot separate the loss in the sheaves "
					      "from the load: pay out the same hanging load, or "
					      "move the cell");

	for (int a = 0; a < count; a++)
		for (int b = a + 1; b < count; b++) {
			enum rv_err one =
			    rv_curve_make(predictor, cells[a], cells[b], &tried, error);
			if (one == RV_OK && tried.effective > best.effective)
				best = tried;
			else if (one != RV_OK)
				err = one;
		}
	if (best.effective < 0.0)
		return err;
	*curve = best;
	return RV_OK;
}
