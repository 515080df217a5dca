/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Does what was measured fit the declared rig?  How many parts of line fit it at all?
 *
 * Two things tell: the ratio of the tensions at two cells while hauling, which the unknown efficiency
 * of the sheaves blurs (a 4 : 1 of good sheaves and a 5 : 1 of poor ones pull alike), and metres of line in
 * per metre that the load went, which nothing blurs but how well it is known.
 *
 * Each candidate tackle gets the likelihood of both, the efficiency averaged over its plausible range
 * in steps of 0.001:
 *     ll = ln mean N(L; ln ratio(efficiency), u) + ln N(ln V; ln its travel ratio, u_V).
 * Contradicted: L lies more than 3.3 u outside all that the declared rig allows, or V more than
 * 3.3 u_V, or another candidate is 100 times as likely.  Compatible: what is at least 1/20 as likely as
 * the best.  Confirmed: only the declared number of parts is compatible.  Otherwise: not resolved.
 * The thresholds are own choices; the likelihood over a nuisance parameter is textbook.
 *
 * Candidates: simple tackles of 1 .. 12 parts with the line coming off the fixed block (sum of e^k,
 * k = 1 .. n) or the moving one (k = 0 .. n-1), and one tackle on another (2 on 2, 2 on 3, 3 on 3), all
 * brought to the declared rig's geometry by the ratio of its own travel ratio to the whole number of
 * parts.  "Parts of line" of a tackle on a tackle is that product.
 */
#ifndef RV_CORE_AGREEMENT_H
#define RV_CORE_AGREEMENT_H

#include "core/estimate.h"

/* What the far cell feels. */
enum rv_agreement_far {
	RV_AGREEMENT_LOAD,     /* all parts together: at the load, or the load's own weight */
	RV_AGREEMENT_DEAD_END, /* the last leg */
	RV_AGREEMENT_OTHER,    /* something between: only the declared rig says what it feels */
};

struct rv_agreement_measured {
	double log_ratio, u_log; /* ln(far / near) hauling in; near = the leg at the winch.  NaN: none */
	double travel_ratio;	 /* line in per travel of the load; NaN: none */
	double u_travel_ratio;	 /* standard, relative: with drum layers, slip, stretch */
};

struct rv_agreement_declared {
	struct rv_estimate_curve curve; /* of the two cells */
	enum rv_agreement_far far;
	double travel_ratio;	      /* by its geometry: rv_predictor_velocity_ratio */
	double low_ratio, high_ratio; /* efficiencies that are plausible: rv_agreement_range */
};

struct rv_agreement_range {
	double low_ratio, high_ratio;
};

/* From what is declared of the sheaves in question (NaN = nothing): at least 0.80 to 0.995 and all that is
 * declared; 0.50 to 0.995 where nothing is. */
struct rv_agreement_range rv_agreement_range(double declared_low, double declared_high);

/* log_ratio and u_log of the hauls that count, the mean of both arrangements where the cells were
 * exchanged.  NaN: no haul, or the gain is not stated and the cells stood as they were. */
void rv_agreement_tensions(const struct rv_estimate_setup *setup,
			   const struct rv_estimate_pull *pulls, int count,
			   struct rv_agreement_measured *measured);

/* A stretch of steady hauling: line that came in, way that the load went. */
struct rv_agreement_stretch {
	double line_in_m, load_m;
};

/* travel_ratio and u_travel_ratio over all stretches; u_ratio: stated of the travel, relative,
 * standard; u_end_m: of each end of a stretch, 0 for an instrument that is read on and on.
 * NaN: nothing moved. */
void rv_agreement_travel(const struct rv_agreement_stretch *stretches, int count, double u_ratio,
			 double u_end_m, struct rv_agreement_measured *measured);

/* Fills estimate->agreement and warns rig_contradicted or rig_not_resolved with what fits; neither
 * measured: NOT_ASKED.  Also for a refused estimate: the wrong rig may be why. */
void rv_agreement_judge(const struct rv_agreement_declared *declared,
			const struct rv_agreement_measured *measured, struct rv_estimate *estimate);

#endif
