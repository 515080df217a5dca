/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/rig.h"

#include <math.h>
#include <string.h>

double rv_rig_limit_n(struct rv_rating rating)
{
	if (!isnan(rating.wll_n))
		return rating.wll_n;
	return rating.mbs_n / rating.design_factor; /* NaN unless both were given */
}

int rv_rig_find_cell(const struct rv_rig *rig, const char *name)
{
	for (int i = 0; i < rig->cells; i++)
		if (strcmp(rig->cell[i].name, name) == 0)
			return i;
	return -1;
}

int rv_rig_find_winch(const struct rv_rig *rig, const char *name)
{
	for (int i = 0; i < rig->winches; i++)
		if (strcmp(rig->winch[i].name, name) == 0)
			return i;
	return -1;
}

int rv_rig_find_load(const struct rv_rig *rig, const char *name)
{
	for (int i = 0; i < rig->loads; i++)
		if (strcmp(rig->load[i].name, name) == 0)
			return i;
	return -1;
}
