/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Design factors: breaking strength / the load it would carry, against what is published for that
 * kind of gear.  Note: factor_low.
 *
 *	line			pulling 3.5, lifting 5: a winch maker's manual, p. 6 (read)
 *	line, chain		6: US Army FM 5-125, chapter 3 (read)
 *	line, synthetic, lifting 7: Directive 2006/42/EC annex I 4.1.2.5 (from memory)
 *	shackle			5: ASME B30.26 (from memory)
 *	block			4: ASME B30.26 (from memory)
 *	strop, sling		5: ASME B30.9, wire rope and synthetic (from memory)
 *	other metal fittings	4: Directive 2006/42/EC annex I 4.1.2.5 (from memory)
 *	point			3: common practice, no source
 *
 * A rig lifts when a load is declared to hang, a weight hangs from a point, or (in space) a load goes
 * up more steeply than 45 degrees.  In a flat rig nobody says which way is up, but for those.
 */
#ifndef RV_CORE_SUIT_FACTOR_H
#define RV_CORE_SUIT_FACTOR_H

#include "core/layout.h"
#include "core/plan_result.h"

struct rv_suit_factor {
	double least;	    /* breaking strength / load; 0 = none */
	const char *source; /* lives for ever */
};

/* The least design factor published for a kind of component. */
struct rv_suit_factor rv_suit_factor_least(const char *kind, enum rv_material material, bool lifts);

bool rv_suit_factor_lifts(const struct rv_rig *rig);

/* Judges every component with a declared breaking strength by the high end of its load. */
void rv_suit_factors(struct rv_plan *plan);

#endif
