/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The range of something computed from a rig when its efficiencies are only known as ranges, and
 * when it is not known which way a sheave's friction acts.
 *
 * Each thing not known is a parameter with two ends; a corner is one end of each, bit i of a mask
 * saying "high" for parameter i.  With up to 8 parameters every corner is tried.  With more, the
 * corners at which each output is largest and smallest as the sign of its change at the middle
 * says, and every neighbour of these; a vector sum that rises and falls again inside the box may
 * pass them a little.
 */
#ifndef RV_CORE_VARY_H
#define RV_CORE_VARY_H

#include <stdint.h>

#include "core/friction.h"
#include "core/layout.h"

enum { RV_VARY_PARAMETERS = 63, RV_VARY_ALL = 8 };

/* Stands for no corner, but the nominal friction. */
#define RV_VARY_NOMINAL UINT64_MAX

enum rv_vary_kind {
	RV_VARY_EFFICIENCY, /* of a block, between its declared ends */
	RV_VARY_PASS_TURN,  /* of one nearly still sheave: -1 or +1 */
	RV_VARY_PASS_STILL, /* the same sheave: as it turns, or held without friction */
	RV_VARY_BLOCK_TURN, /* of all sheaves of a block: -1 or +1 */
};

struct rv_vary {
	const struct rv_layout *layout; /* borrowed */
	struct rv_friction nominal;
	int parameters;
	struct {
		enum rv_vary_kind kind;
		int index; /* block or pass */
	} parameter[RV_VARY_PARAMETERS];
};

/* sense: +1 hauling in, -1 paying out, 0 it may be either (then every block in use may turn either
 * way, at its lowest efficiency).  RV_ERR_RANGE: too many parameters. */
enum rv_err rv_vary_set(const struct rv_layout *layout, int sense, struct rv_vary *vary,
			struct rv_error *error);

/* The friction at a corner. */
void rv_vary_corner(const struct rv_vary *vary, uint64_t corner, struct rv_friction *friction);

/* What is computed: outputs for a friction.  False = no answer there; the corner is left out. */
struct rv_vary_question {
	bool (*answer)(void *context, const struct rv_friction *friction, double *outputs);
	void *context;
	int outputs;
};

/* One entry for each output.  NaN where the outputs are.  low and high take in the nominal friction
 * too, unless sense is 0. */
struct rv_vary_extremes {
	double *low, *high;
	uint64_t *low_at, *high_at; /* the corners; may be NULL */
	int unanswered;		    /* corners left out */
};

/* Allocates while it works.  The arrays are the caller's. */
enum rv_err rv_vary_extremes(const struct rv_vary *vary, const struct rv_vary_question *question,
			     struct rv_vary_extremes *extremes);

#endif
