/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Facts of pulls -> estimate: chooses the mode by what was pulled, lets each run speak, and puts three
 * or more runs together with the run as the unit (t over the means of the runs; what is common to
 * all of them, a calibration or a bound, enters once and undivided).
 *
 * Which mode: see core/estimate.h.  Cycles need three of them in one run, hauls two and a stated gain;
 * where there are three runs or more, one of each in every run.  Two runs are refused (two_sessions).
 */
#ifndef RV_CORE_ESTIMATE_MAKE_H
#define RV_CORE_ESTIMATE_MAKE_H

#include "core/estimate.h"

/* An answer or a refusal is RV_OK; both are in *estimate.  count 0 .. RV_ESTIMATE_PULLS and 1 ..
 * RV_ESTIMATE_RUNS runs, pulls in the order of their runs, else RV_ERR_RANGE; RV_ERR_NOMEM. */
enum rv_err rv_estimate_make(const struct rv_estimate_setup *setup,
			     const struct rv_estimate_pull *pulls, int count,
			     struct rv_estimate *estimate);

#endif
