/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the declared rig says every part carries, given one known force.
 *
 * rv_predictor_new does all the work that depends on the rig alone; an evaluation is a few
 * multiplications for each component, allocates nothing and may be done at every reading.
 */
#ifndef RV_CORE_PREDICT_H
#define RV_CORE_PREDICT_H

#include "core/evaluate.h"
#include "core/station.h"

struct rv_predictor;

/* In the place of a far cell below: the rig's only load, by what pulls it along its way. */
enum { RV_PREDICTOR_LOAD = -1 };

/* Refusals carry a tag of lower-case letters (name_unknown, line_slack, ...).  The rig is
 * copied.  Free with rv_predictor_free. */
enum rv_err rv_predictor_new(const struct rv_rig *rig, struct rv_predictor **predictor,
			     struct rv_error *error);
void rv_predictor_free(struct rv_predictor *predictor);

/* Brings the prediction to the geometry at which the winch has taken in so much line since the rig was
 * declared (metres; below zero: paid out), for a rig with one winch and one load.  Where points
 * float, what the cell reads is what weights and drag are reckoned beside (cell -1, or a load that is
 * not above zero: as before).  Some 10 us directly and some 10 us for each friction at which an
 * extreme lies where points float; allocates nothing.  Not for a reader of the predictor at the same
 * time.  RV_ERR_REFUSED, RV_ERR_RANGE: the load cannot be there; the prediction stays as it was. */
enum rv_err rv_predictor_at_payout(struct rv_predictor *predictor, double line_in_m, int cell,
				   double load_n, struct rv_error *error);

/* The rig with its hanging blocks made pins and pendants (core/hang). */
const struct rv_rig *rv_predictor_rig(const struct rv_predictor *predictor);
int rv_predictor_components(const struct rv_predictor *predictor);
const struct rv_component *rv_predictor_component(const struct rv_predictor *predictor, int index);
int rv_predictor_legs(const struct rv_predictor *predictor);
const struct rv_leg *rv_predictor_leg(const struct rv_predictor *predictor, int index);

/* Velocity ratio of the line of a winch to the load: line speed / load speed. */
double rv_predictor_velocity_ratio(const struct rv_predictor *predictor, int winch);

/* All loads when the cell measures load_n and the line moves that way.  Motion hold, unsteady or
 * unknown: low and high span both directions, block by block and at the lowest efficiencies;
 * nominal is halfway.  NaN for what other lines carry, of which the cell tells nothing.
 * RV_ERR_REFUSED: the cell cannot tell the rest (it feels no line, or several). */
enum rv_err rv_predictor_loads(const struct rv_predictor *predictor, int cell, double load_n,
			       enum rv_motion motion, struct rv_loads *loads);

/* How far a cell is from the winch, for choosing the given and the near cell: number of sheaves
 * between it and the winch, or -1 when no line leads from the winch to it. */
int rv_predictor_cell_distance(const struct rv_predictor *predictor, int cell);

/* Effective number of sheaves between two cells: d ln(far/near) / d ln(efficiency), with one
 * efficiency shared by all sheaves whose turning changes the ratio, hauling in.  0 = they see the
 * same legs, or are not on one line. */
double rv_predictor_sheaves_between(const struct rv_predictor *predictor, int near, int far);

struct rv_predictor_sheave {
	int block, sheave; /* sheave from 0 */
};

/* These sheaves, in the order the line meets them; a fixed bar is none.  Returns how many. */
int rv_predictor_sheaves_shared(const struct rv_predictor *predictor, int near, int far,
				struct rv_predictor_sheave sheaves[RV_RIG_LEGS]);

/* ln(far / near) for a shared efficiency, without the drag and weights that do not grow with the
 * load.  NaN unless the motion is in or out, or when the cells are not on one line. */
double rv_predictor_log_ratio(const struct rv_predictor *predictor, int near, int far,
			      double efficiency, enum rv_motion motion);

/* The shared efficiency that gives this log ratio.  RV_ERR_RANGE outside 0.4 .. 1.2;
 * RV_ERR_REFUSED when the two cells see the same legs. */
enum rv_err rv_predictor_efficiency(const struct rv_predictor *predictor, int near, int far,
				    double log_ratio, enum rv_motion motion, double *efficiency);

#endif
