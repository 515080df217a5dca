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

int rv_rig_find_point(const struct rv_rig *rig, const char *name)
{
	for (int i = 0; i < rig->points; i++)
		if (strcmp(rig->point[i].name, name) == 0)
			return i;
	return -1;
}

int rv_rig_find_block(const struct rv_rig *rig, const char *name)
{
	for (int i = 0; i < rig->blocks; i++)
		if (strcmp(rig->block[i].name, name) == 0)
			return i;
	return -1;
}

int rv_rig_find_fitting(const struct rv_rig *rig, const char *name)
{
	for (int i = 0; i < rig->fittings; i++)
		if (strcmp(rig->fitting[i].name, name) == 0)
			return i;
	return -1;
}

int rv_rig_find_rope(const struct rv_rig *rig, const char *name)
{
	for (int i = 0; i < rig->ropes; i++)
		if (strcmp(rig->rope[i].name, name) == 0)
			return i;
	return -1;
}

int rv_rig_legs(const struct rv_rope *rope)
{
	if (rope->steps == 0)
		return 0;
	return rope->steps - 1 - (rope->path[0].kind == RV_STEP_TAIL) -
	       (rope->path[rope->steps - 1].kind == RV_STEP_TAIL);
}

int rv_rig_step_point(const struct rv_rig *rig, const struct rv_step *step)
{
	switch (step->kind) {
	case RV_STEP_POINT:
		return step->index;
	case RV_STEP_BLOCK:
		return rig->block[step->index].point;
	case RV_STEP_WINCH:
		return rig->winch[step->index].point;
	case RV_STEP_TAIL:
		break;
	}
	return -1;
}
