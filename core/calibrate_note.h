/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a person should know besides the numbers of a calibration.  Codes: few_loads, span_above_zero,
 * one_way, zero_once, term_weak, degree_low, curve_misses, scatter_above_stated, outlier, reversal,
 * series_differ, zero_return, lower_limit_high, inverse_error.
 *
 * Limits: eight loads above zero, reversal 0.5 %, series 0.4 %, zero 0.1 % are those of ISO 376's
 * widest class 2 (from memory, not re-read; whole differences there, standard deviation of the
 * gains here); 5 % for each test (common practice).
 */
#ifndef RV_CORE_CALIBRATE_NOTE_H
#define RV_CORE_CALIBRATE_NOTE_H

#include "core/calibrate_result.h"

/* All notes that follow from the numbers.  points: those the curve was fitted to, count of applied.
 * RV_ERR_NOMEM. */
enum rv_err rv_calibrate_note_all(const struct rv_applied *applied,
				  const struct rv_polynomial_point *points,
				  struct rv_calibrate *calibrate, struct rv_error *error);

#endif
