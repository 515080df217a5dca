/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * `reeve estimate --pulls SHEET.csv --rig RIG`: an estimate from pulls read by eye.
 */
#ifndef RV_TOOLS_ESTIMATE_SHEET_H
#define RV_TOOLS_ESTIMATE_SHEET_H

#include <stdbool.h>

#include "core/units.h"

struct rv_estimate_sheet {
	const char *sheet, *rig;		    /* paths */
	double excess_low_ratio, excess_high_ratio; /* NaN = as usual */
	enum rv_force_unit unit;
	bool json;
};

/* Prints the answer or the refusal; returns the exit status. */
int rv_estimate_sheet_run(const struct rv_estimate_sheet *asked);

#endif
