/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a calibration comes to, and what is asked of its curve.  See core/calibrate.
 */
#ifndef RV_CORE_CALIBRATE_RESULT_H
#define RV_CORE_CALIBRATE_RESULT_H

#include "core/applied.h"
#include "core/polynomial.h"
#include "core/station.h"

enum { RV_CALIBRATE_DEGREE = 3, RV_CALIBRATE_NOTES = 16 };

#define RV_CALIBRATE_LIMIT_FACTOR 2.4
#define RV_CALIBRATE_CLASS_A 400.0

struct rv_calibrate_note {
	char code[32];
	char text[300];
};

/* How the cell repeats.  NaN: the table does not show it. */
struct rv_calibrate_repeat {
	double reversal_n;	/* greatest difference between up and down at one load of one series */
	double reversal_load_n; /* that load */
	double series_ratio;	/* standard deviation of the gains of the series */
	double zero_return_n;	/* greatest change of the zero over a series */
	double same_sd;		/* of readings at one load, pooled; in the reading's unit */
	int same_dof;		/* 0 = no load was applied twice */
	double misfit_f;	/* how much more the curve misses than the readings repeat, as F */
	int misfit_dof;
	bool is_missed;	     /* by that F at 5 % the curve misses the readings */
	double misfit_ratio; /* then: how far the mean reading of a load lies off, greatest share of it */
};

struct rv_calibrate {
	struct rv_polynomial curve; /* reading of load in newtons */
	bool is_chosen;		    /* the degree was not asked for */
	int loads;		    /* different ones */
	double residual_sd;	    /* in the reading's unit, unweighted */
	double lower_limit_factor_n;
	struct rv_conversion inverse;
	double inverse_error_n;
	double span_low_n, span_high_n; /* lowest and highest load applied */
	struct rv_calibrate_repeat repeat;
	double gain_u_ratio, zero_u_n;
	double drift_u_n; /* NaN = not shown */
	int notes;
	struct rv_calibrate_note note[RV_CALIBRATE_NOTES];
};

/* Reading of the curve at a load. */
double rv_calibrate_result_at(const struct rv_calibrate *calibrate, double load_n);

/* What a reading beside the curve is worth in newtons. */
double rv_calibrate_result_off_n(const struct rv_calibrate *calibrate,
				 const struct rv_applied_load *load);

/* Whether the last coefficient of a curve over loads up to high_n and so wide a range of readings
 * differs from 0: the rule by which the degree is chosen. */
bool rv_calibrate_result_is_seen(const struct rv_polynomial *curve, double high_n, double range);

/* Whether the curve's change from one load to another differs from 0, by the same rule. */
bool rv_calibrate_result_rises(const struct rv_polynomial *curve, double low_n, double high_n);

/* Highest less lowest reading. */
double rv_calibrate_result_range(const struct rv_applied *applied);

#endif
