/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands beside an efficiency: whether a part of the loss is the same whatever the load, and
 * how many parts of line fit what was measured.
 */
#ifndef RV_SCHEMA_BESIDE_H
#define RV_SCHEMA_BESIDE_H

#include "core/curve.h"
#include "core/estimate.h"
#include "schema/session.h"

struct rv_beside {
	const struct rv_session *session; /* of one set-up */
	int sessions;
	const struct rv_curve *curve;
	const struct rv_estimate_setup *setup;
	const struct rv_estimate_pull *pull;
	int pulls;
};

/* Fills estimate->loss and estimate->agreement; a refused estimate gets the agreement only. */
enum rv_err rv_beside_fill(const struct rv_beside *beside, struct rv_estimate *estimate,
			   struct rv_error *error);

#endif
