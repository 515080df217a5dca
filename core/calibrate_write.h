/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A calibration as text: the file that core/calibration_read takes, and JSON.
 */
#ifndef RV_CORE_CALIBRATE_WRITE_H
#define RV_CORE_CALIBRATE_WRITE_H

#include <jansson.h>

#include "core/calibrate_result.h"

/* What the numbers do not hold. */
struct rv_calibrate_paper {
	const char *name;   /* of the calibration, below RV_NAME_SIZE bytes */
	const char *made;   /* ISO date */
	const char *sha256; /* of the table of points */
};

/* YAML; numbers with 17 digits, so that they come back bit for bit. */
void rv_calibrate_write_yaml(const struct rv_calibrate *calibrate,
			     const struct rv_calibrate_paper *paper, struct rv_text *text);

/* {"degree","coefficients","u","covariance","residual_sd","dof","lower_limit_factor_n","inverse",
 * "inverse_error_n","span_n","warnings":[{"code","text"}]}: lowest power first; readings in their own
 * unit.  New reference, NULL without memory. */
json_t *rv_calibrate_write_json(const struct rv_calibrate *calibrate);

#endif
