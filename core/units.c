/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/units.h"

#include <string.h>

static const struct {
	const char *name;
	double newtons;
	int places;
} forces[RV_FORCE_UNITS] = {
    [RV_FORCE_KN] = {"kN", 1000.0, 2},
    [RV_FORCE_N] = {"N", 1.0, 0},
    [RV_FORCE_DAN] = {"daN", 10.0, 0},
    [RV_FORCE_KGF] = {"kgf", RV_STANDARD_GRAVITY_MPS2, 0},
    [RV_FORCE_TF] = {"tf", 1000.0 * RV_STANDARD_GRAVITY_MPS2, 3},
    [RV_FORCE_LBF] = {"lbf", RV_POUND_KG * RV_STANDARD_GRAVITY_MPS2, 0},
    [RV_FORCE_KLBF] = {"klbf", 1000.0 * RV_POUND_KG * RV_STANDARD_GRAVITY_MPS2, 2},
};

const char *rv_units_force_name(enum rv_force_unit unit)
{
	return forces[unit].name;
}

double rv_units_force_n(enum rv_force_unit unit)
{
	return forces[unit].newtons;
}

int rv_units_force_places(enum rv_force_unit unit)
{
	return forces[unit].places;
}

enum rv_err rv_units_force_find(const char *name, enum rv_force_unit *unit)
{
	for (int i = 0; i < RV_FORCE_UNITS; i++)
		if (strcmp(name, forces[i].name) == 0) {
			*unit = (enum rv_force_unit)i;
			return RV_OK;
		}
	return RV_ERR_UNKNOWN;
}
