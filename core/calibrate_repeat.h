/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How a cell repeats itself, as far as a table of applied loads shows it: up against down, series
 * against series, zero after against zero before, and readings at one load among each other.
 *
 * Misfit: F test of lack of fit, (what the curve misses beyond the scatter at one load) / (that
 * scatter), N. R. Draper and H. Smith, Applied Regression Analysis (from memory); readings at one
 * load and from one direction count as repeats.
 */
#ifndef RV_CORE_CALIBRATE_REPEAT_H
#define RV_CORE_CALIBRATE_REPEAT_H

#include "core/calibrate_result.h"

/* Fills calibrate->repeat; curve and loads are set already.  RV_ERR_NOMEM. */
enum rv_err rv_calibrate_repeat_measure(const struct rv_applied *applied,
					struct rv_calibrate *calibrate, struct rv_error *error);

#endif
