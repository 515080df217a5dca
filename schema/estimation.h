/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Runs of records -> an estimate: which design of a test they make, and what of them is given to
 * core/estimate_make.
 *
 *   two cells in each run                                    two cells (cycles, hauls)
 *   the two cells changed places, by a mark or between runs   the same, with pulls exchanged
 *   one cell, at two places of the rig over the runs           one cell moved
 *   one cell, the rig's load declared as hung                 one cell hung; without any paying out a
 *                                                              load whose resistance is a range is the
 *                                                              weight it is compared with
 *   one cell, anything else                                   refused, one_cell_no_design
 */
#ifndef RV_SCHEMA_ESTIMATION_H
#define RV_SCHEMA_ESTIMATION_H

#include "core/curve.h"
#include "core/estimate_json.h"
#include "core/estimate_make.h"
#include "schema/session.h"

struct rv_estimation_ask {
	struct rv_pulls_ask pulls;
	double excess_low_ratio, excess_high_ratio; /* NaN = 0 and 0.20 */
};

struct rv_estimation_run {
	struct rv_store *store; /* borrowed */
	int64_t number;
};

struct rv_estimation {
	int runs;
	struct rv_session *session; /* one for each run */
	struct rv_estimate_run *run;
	struct rv_curve curve;
	struct rv_curve load; /* one cell moved: from its near place to the load */
	struct rv_estimate_setup setup;
	bool across; /* the cells changed places between runs: together they are one test */
	struct rv_estimate_pull *pull;
	int pulls;
	struct rv_estimate *estimate;
	struct rv_estimate_sheave sheave[RV_RIG_LEGS];
	char near[RV_NAME_SIZE], far[RV_NAME_SIZE]; /* cells; "" = none */
};

/* Asks nothing: the best there is. */
void rv_estimation_ask_init(struct rv_estimation_ask *ask);

/* 1 .. RV_ESTIMATE_RUNS runs.  An answer or a refusal is RV_OK, both in (*estimation)->estimate; what
 * else can be wrong: run_unknown, name_unknown, what schema/recalibrate refuses, RV_ERR_STORE,
 * RV_ERR_NOMEM.  Free with
 * rv_estimation_free. */
enum rv_err rv_estimation_make(const struct rv_estimation_run *runs, int count,
			       const struct rv_estimation_ask *ask,
			       struct rv_estimation **estimation, struct rv_error *error);
void rv_estimation_free(struct rv_estimation *estimation);

/* What stands around the estimate; borrowed from it. */
struct rv_estimate_told rv_estimation_told(const struct rv_estimation *estimation);

/* The object of `reeve estimate --json`.  New reference; NULL when memory was refused. */
json_t *rv_estimation_json(const struct rv_estimation *estimation);

#endif
