/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An estimate as the JSON of `reeve estimate`: SI, null = there is none or it is not known.
 */
#ifndef RV_CORE_ESTIMATE_JSON_H
#define RV_CORE_ESTIMATE_JSON_H

#include "core/estimate.h"
#include "core/json.h"

struct rv_estimate_sheave {
	const char *block;
	int sheave; /* from 1 */
};

/* What stands around an estimate; everything is borrowed. */
struct rv_estimate_told {
	const char *rig;	 /* its name; NULL = none */
	const char *near, *far;	 /* cells; NULL = none */
	const struct rv_estimate_sheave *sheave; /* in question */
	int sheaves;
	const struct rv_estimate_pull *pull; /* all, kept or not */
	int pulls;
};

/* New reference; NULL when memory was refused. */
json_t *rv_estimate_json(const struct rv_estimate_setup *setup, const struct rv_estimate *estimate,
			 const struct rv_estimate_told *told);

#endif
