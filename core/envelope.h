/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The loads of all components, legs and cells from one cell's, made ready for every reading.
 *
 * Where no line is about to go slack, each load at each corner of the friction is |a T + b| of what
 * the cell measures, T: a straight line, or for what holds several lines the size of a vector.  What
 * is largest and smallest over the corners is made of few such pieces, which are found once for a
 * flow: from the loads at which the last line gets tight upward, and from zero to where the first
 * does.  In between, and for a cell that feels several legs beside drag or weights, the corners are
 * tried one by one (core/evaluate).  Where all loads grow in proportion, one newton's are scaled.
 */
#ifndef RV_CORE_ENVELOPE_H
#define RV_CORE_ENVELOPE_H

#include "core/envelope_piece.h"
#include "core/evaluate.h"

/* from_n <= T <= to_n; low, nominal, high of each component, leg and cell, one after the
 * other. */
struct rv_envelope_band {
	bool is_made;
	double from_n, to_n;
	struct rv_envelope_piece *piece;
};

enum { RV_ENVELOPE_HIGH, RV_ENVELOPE_LOW, RV_ENVELOPE_BANDS };

struct rv_envelope {
	bool is_proportional;
	int outputs, room; /* pieces that fit into a band */
	struct rv_envelope_band band[RV_RIG_CELLS][RV_ENVELOPE_BANDS];
	struct rv_loads *per_newton;	 /* owned: one for each cell, if proportional */
	struct rv_envelope_piece *piece; /* owned: those of all bands, and last those being compared */
	double *tension;		 /* owned: a and b of every leg at every corner */
};

/* Room for this flow, and made.  Allocates; RV_ERR_NOMEM.  Free with rv_envelope_free, whatever came. */
enum rv_err rv_envelope_make(const struct rv_layout *layout, const struct rv_flow *flow,
			     struct rv_envelope *envelope);
void rv_envelope_free(struct rv_envelope *envelope);

/* Anew after the flow was renewed; allocates nothing. */
void rv_envelope_renew(const struct rv_layout *layout, const struct rv_flow *flow,
		       struct rv_envelope *envelope);

/* As rv_evaluate_loads, to rounding. */
void rv_envelope_loads(const struct rv_envelope *envelope, const struct rv_layout *layout,
		       const struct rv_flow *flow, int cell, double load_n,
		       struct rv_loads *loads);

#endif
