/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Units of measurement.  Inside reeve everything is SI and double; other units exist only here
 * and where people read or write them.
 *
 * Exact by definition: inch 0.0254 m and pound 0.45359237 kg (international yard and pound
 * agreement, 1959), standard gravity 9.80665 m/s2 (3rd CGPM, 1901).  From memory, not re-read.
 */
#ifndef RV_CORE_UNITS_H
#define RV_CORE_UNITS_H

#include "core/err.h"

#define RV_STANDARD_GRAVITY_MPS2 9.80665
#define RV_POUND_KG 0.45359237
#define RV_FOOT_M 0.3048

enum rv_force_unit {
	RV_FORCE_KN,
	RV_FORCE_N,
	RV_FORCE_DAN,
	RV_FORCE_KGF,
	RV_FORCE_TF,
	RV_FORCE_LBF,
	RV_FORCE_KLBF,
	RV_FORCE_UNITS
};

/* "kN", "N", ...  Never NULL for a valid unit. */
const char *rv_units_force_name(enum rv_force_unit unit);

/* Newtons in one of the unit. */
double rv_units_force_n(enum rv_force_unit unit);

/* Decimal places that suit people for this unit, so that the last place is some 10 N. */
int rv_units_force_places(enum rv_force_unit unit);

/* Finds a unit of force by its name, letter for letter.  RV_ERR_UNKNOWN otherwise. */
enum rv_err rv_units_force_find(const char *name, enum rv_force_unit *unit);

#endif
