/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_script.h"

#include <string.h>

#include "core/units.h"

const char *rv_rehearse_script_fault_name(enum rv_rehearse_fault_kind kind)
{
	static const char *const names[RV_REHEARSE_FAULT_KINDS] = {
	    [RV_REHEARSE_PARTS] = "line parts",	   [RV_REHEARSE_DEAD_CELL] = "dead cell",
	    [RV_REHEARSE_CREEPS] = "brake creeps", [RV_REHEARSE_ZEROED] = "zeroed",
	    [RV_REHEARSE_OVERLOAD] = "overload",   [RV_REHEARSE_SURGES] = "surges",
	    [RV_REHEARSE_SILENT] = "silent",	   [RV_REHEARSE_LATE] = "late",
	    [RV_REHEARSE_GARBAGE] = "garbage",	   [RV_REHEARSE_HALF] = "half",
	    [RV_REHEARSE_EXCEPTION] = "exception", [RV_REHEARSE_WRONG_UNIT] = "wrong unit",
	    [RV_REHEARSE_UNPLUGGED] = "unplugged",
	};

	return names[kind];
}

double rv_rehearse_script_unit(const char *name)
{
	static const struct {
		const char *name;
		double si;
	} units[] = {
	    {"N", 1},
	    {"daN", 10},
	    {"kN", 1e3},
	    {"kgf", RV_STANDARD_GRAVITY_MPS2},
	    {"kg", RV_STANDARD_GRAVITY_MPS2},
	    {"tf", 1e3 * RV_STANDARD_GRAVITY_MPS2},
	    {"t", 1e3 * RV_STANDARD_GRAVITY_MPS2},
	    {"lbf", RV_POUND_KG * RV_STANDARD_GRAVITY_MPS2},
	    {"lb", RV_POUND_KG * RV_STANDARD_GRAVITY_MPS2},
	    {"m", 1},
	    {"mm", 1e-3},
	};

	for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
		if (strcmp(units[i].name, name) == 0)
			return units[i].si;
	return 0;
}
