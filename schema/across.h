/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One test that lies across several runs: the cells changed places from run to run, so that no run
 * says anything by itself.  All pulls are reckoned as those of one run, each run at least one stint.
 */
#ifndef RV_SCHEMA_ACROSS_H
#define RV_SCHEMA_ACROSS_H

#include "core/estimate_make.h"
#include "schema/session.h"

/* As rv_estimate_make; session: one for each run of the setup.  The runs may be given in any order
 * if they are of one record. */
enum rv_err rv_across_make(const struct rv_session *session, const struct rv_estimate_setup *setup,
			   const struct rv_estimate_pull *pulls, int count,
			   struct rv_estimate *estimate);

#endif
