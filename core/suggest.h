/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether a rig of a library would do for the job in hand.
 *
 * A rig of the library is a pattern: its lines and where they go.  What it is laid with comes from a
 * rig file that says what is at hand: one rated winch with its line, blocks, fittings, fixed points
 * as anchors, further lines; parts of it need not be used in any line.  Gear of the pattern gives way
 * to gear at hand (core/suggest_gear); what is not at hand has to be found and is not rated.  Where the
 * file at hand places its load too, the pattern is drawn to that distance, all angles kept.
 *
 * A rig does when its line pull, at the worst of the declared efficiencies, is no more than the winch
 * pulls on the layer its line then lies on, when no rated part is beyond its limit and the line is
 * long enough.
 */
#ifndef RV_CORE_SUGGEST_H
#define RV_CORE_SUGGEST_H

#include "core/plan.h"
#include "core/suggest_gear.h"

/* Up to here there is something left of every limit; such rigs come first.  The level at which
 * a station's example warns (own choice; common practice, no source). */
#define RV_SUGGEST_EASY_RATIO 0.8

struct rv_suggest {
	char rig[2 * RV_NAME_SIZE];
	bool does;
	char code[32]; /* why it does not */
	char why[320];
	struct rv_plan *plan; /* NULL when there is none */
	struct rv_suggest_gear gear;
	double pull_n;	  /* the most it may be */
	double rated_n;	  /* of the winch on its layer, or of the winch where the layer is unknown */
	double use_ratio; /* the worst of all rated parts and the winch on its layer */
	char weakest[2 * RV_NAME_SIZE + 8];
};

/* Checks that the rig at hand can be used so.  RV_ERR_REFUSED, tags: winches (not exactly one),
 * winch_unrated, winch_unused. */
enum rv_err rv_suggest_check(const struct rv_rig *hand, struct rv_error *error);

/* Tries one pattern.  A pattern that does not do is no failure: reach says why.  RV_ERR_NOMEM only.
 * Free with rv_suggest_free. */
enum rv_err rv_suggest_try(const struct rv_rig *pattern, const struct rv_rig *hand, double resists_n,
			 struct rv_suggest *reach, struct rv_error *error);
void rv_suggest_free(struct rv_suggest *reach);

/* Below zero when a is better than b: it does; nothing has to be found; something is left of every
 * limit; less line for a metre of travel (so it is the quicker); fewer blocks; more is left; the name.
 * 0 for two that do not. */
int rv_suggest_compare(const struct rv_suggest *a, const struct rv_suggest *b);

#endif
