/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A calibration file's text -> what turns a cell's raw readings into force.
 *
 * Keys: calibration (name), made, cell, certificate, laboratory, due, unit_of_reading,
 * coefficients (reading as a polynomial of load in newtons, lowest power first), inverse (load in
 * newtons as a polynomial of reading, the one that is applied), span ([low, high], forces),
 * gain_uncertainty, zero_uncertainty, drift_uncertainty, points (SHA-256 of the measured points).
 */
#ifndef RV_CORE_CALIBRATION_READ_H
#define RV_CORE_CALIBRATION_READ_H

#include <stddef.h>

#include "core/station.h"

struct rv_calibration_file {
	struct rv_calibration calibration; /* file and delay are not set */
	char made[16];			   /* ISO date; "" when not said */
	char cell[RV_NAME_SIZE], certificate[RV_NAME_SIZE], laboratory[RV_NAME_SIZE];
	char unit_of_reading[RV_NAME_SIZE];
	double coefficients[4]; /* lowest power first */
	int degree;		/* of coefficients; -1 = not stated */
	double span_low_n, span_high_n;
};

/* capacity_n: of the channel that uses it, for uncertainties "of: capacity"; NaN = not stated.
 * On failure *file is untouched; the place is one in this text. */
enum rv_err rv_calibration_read(const char *text, size_t len, double capacity_n,
				struct rv_calibration_file *file, struct rv_error *error);

/* True for a date of the form 2026-03-31. */
bool rv_calibration_is_date(const char *text);

/* True if the calibration's due date lies before today ("2026-03-31"). */
bool rv_calibration_is_past(const struct rv_calibration *calibration, const char *today);

#endif
