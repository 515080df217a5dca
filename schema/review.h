/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A run looked at afterwards, as the JSON of `reeve runs` and `reeve show`.  SI throughout; times
 * in seconds from the run's start; null = unknown.  New references; the caller lets go of them.
 */
#ifndef RV_SCHEMA_REVIEW_H
#define RV_SCHEMA_REVIEW_H

#include <jansson.h>

#include "schema/store.h"

/* {"runs":[{"number","name","start_utc","duration_s","how","rig","readings",
 *           "peak":{"channel","value","unit"}}]}, oldest first.  rig and peak may be null: a run
 * without a rig, without a reading of tension.  An open run lasts to its newest reading. */
enum rv_err rv_store_runs_json(struct rv_store *store, json_t **runs, struct rv_error *error);

/* The object of one run as above, plus
 * "channels":[{"name","quantity","cell","device","unit","readings","low","high","high_s","mean",
 *              "calibration","due"}],
 * "pulls":[{"index","direction","start_s","end_s","mean_tension_n","log_ratio","kept","struck",
 * "why"}] (why of a struck pull: the reason a person gave),
 * "marks":[{"t_s","text","travel_m"}],
 * "alarms":[{"t_s","name","level","state","value","unit","text","by_whom"}],
 * "gaps":[{"from_s","to_s","what","device","channel","cause","count","text"}],
 * "end_utc","ended". */
enum rv_err rv_review_run_json(struct rv_store *store, int64_t number, json_t **run,
			       struct rv_error *error);

#endif
