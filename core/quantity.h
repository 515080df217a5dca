/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A quantity as a person writes it: a number and its unit, brought to SI, or refused with what may
 * be written instead.  "30 m", "98ft", "12.5 kN", "1000kgf", "80 %", "200 ms".
 *
 * A force and a mass are never taken for one another: a force in kg is refused with the ready text
 * to write (1000kgf), except what is stamped on gear in mass (a working load limit in t), which
 * becomes force by standard gravity, and is told apart.  A bare ton has three meanings and is
 * refused with all of them: 1000 kg (metric), 2000 lb (short), 2240 lb (long; 20 hundredweight of
 * 112 lb).  Factors from memory, not re-read.
 */
#ifndef RV_CORE_QUANTITY_H
#define RV_CORE_QUANTITY_H

#include "core/err.h"
#include "core/units.h"

enum rv_measure {
	RV_MEASURE_NUMBER,	/* plain */
	RV_MEASURE_RATIO,	/* plain, or % */
	RV_MEASURE_PERCENT,	/* % only -> ratio */
	RV_MEASURE_FORCE,	/* -> N; unit needed: N daN kN kgf tf lbf klbf */
	RV_MEASURE_STAMPED,	/* -> N; kg t lb as well */
	RV_MEASURE_FORCE_RATE,	/* -> N/s: 40 kN/s */
	RV_MEASURE_LENGTH,	/* -> m; plain metres, or mm cm m km in ft */
	RV_MEASURE_MILLIMETRES, /* -> mm; plain millimetres, or mm cm m in */
	RV_MEASURE_SPEED,	/* -> m/s: 0.5 m/s, 20 m/min */
	RV_MEASURE_TIME,	/* -> s; unit needed: ms s min h d */
	RV_MEASURE_MASS,	/* -> kg; unit needed: kg t lb */
	RV_MEASURE_RATE,	/* -> Hz; unit needed: Hz */
};

struct rv_amount {
	double value;
	bool as_mass; /* a force that was written as the mass stamped on the gear */
	bool percent; /* a ratio that was written in % */
};

/* The whole of text.  RV_ERR_SYNTAX (no number), RV_ERR_UNKNOWN (unit), RV_ERR_MISSING (no unit),
 * RV_ERR_RANGE (larger than anything that is meant: own choice, such as 1e12 N, 1e7 m); the error has a tag and a sentence, but no place. */
enum rv_err rv_quantity_read(const char *text, enum rv_measure measure, struct rv_amount *amount,
			     struct rv_error *error);

/* The smallest size above zero that a person may mean, in SI (own choice, such as 1e-6 N): where zero
 * is not allowed, less is not either. */
double rv_quantity_least(enum rv_measure measure);

/* The units that may be written, such as "N daN kN kgf tf lbf klbf". */
const char *rv_quantity_units(enum rv_measure measure);

/* The SI unit that the value is in, with a blank before it (" N"); "" for plain numbers. */
const char *rv_quantity_si(enum rv_measure measure);

/* Splits "16.5kN" into its number and the rest without blanks ("kN").  RV_ERR_SYNTAX if it does not
 * begin with a number.  The rest points into text. */
enum rv_err rv_quantity_split(const char *text, double *number, const char **rest);

#endif
