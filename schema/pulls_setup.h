/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which channels tell the pulls of a run: the pair of cells that are compared, and what tells how the
 * line moves.
 */
#ifndef RV_SCHEMA_PULLS_SETUP_H
#define RV_SCHEMA_PULLS_SETUP_H

#include "core/estimate.h"
#include "core/predict.h"
#include "core/pull.h"
#include "schema/recalibrate.h"

/* What a person asks for; all zero but line_speed_mps (NaN) = the best there is. */
struct rv_pulls_ask {
	const char *near, *far; /* cells of the rig; NULL = the pair with most sheaves between */
	const char *motion;	/* "payout", "turns", "switch", "marks"; NULL = payout before turns before
				   switch, marks never */
	double line_speed_mps;	/* for switch and marks; NaN = not declared */
	bool one_cell;		/* near alone, against a load of 1 N */
	/* Other calibrations than the frozen ones, for an estimate; borrowed. */
	const struct rv_recalibration *recalibration;
	int recalibrations;
};

/* What tells the pulls of a run. */
struct rv_pulls_setup {
	int near, far;		   /* channels of the pair; -1 = there is none */
	int near_cell, far_cell;   /* their cells in the rig */
	double sheaves;		   /* effective number between them */
	int motion;		   /* the channel that tells the motion; -1 = there is none */
	int motion_in, motion_out; /* by switches: contacts for either way, -1 = not wired */
	const char *source;	   /* "payout", "turns", "switch", "marks"; NULL = none */
	enum rv_estimate_source by;
	double line_speed_mps; /* by switch and marks; NaN */
	bool stiffness_known;  /* of the line */
	struct rv_motion_setup track;
	struct rv_pull_setup pull;
	char why[200]; /* when something is lacking: what */
};

/* From the run's rig as solved.  RV_ERR_REFUSED "name_unknown": a cell or a source that was asked for
 * is not there; what is there is named.  Anything lacking that nobody asked for is no error: why. */
enum rv_err rv_pulls_choose(const struct rv_predictor *predictor,
			    const struct rv_store_channels *channels,
			    const struct rv_pulls_ask *ask, struct rv_pulls_setup *setup,
			    struct rv_error *error);

/* Looks at the run's rig and channels.  A run without what it takes is no error: see why. */
enum rv_err rv_pulls_set_up(struct rv_store *store, int64_t number,
			    const struct rv_store_channels *channels, struct rv_pulls_setup *setup,
			    struct rv_error *error);

#endif
