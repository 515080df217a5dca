/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve plan --reach: the rigs of a folder that would do with what is at hand.
 */
#ifndef RV_TOOLS_PLAN_REACH_H
#define RV_TOOLS_PLAN_REACH_H

#include "core/units.h"

struct rv_plan_reach {
	const char *folder;    /* every *.yaml in it is tried */
	const char *hand_file; /* the rig file of the winch and the gear at hand */
	double resists_n;
	enum rv_force_unit unit;
	bool json;
};

/* Prints them, best first, then those that do not do and why.  Returns RV_EXIT_... */
int rv_plan_reach(const struct rv_plan_reach *asked);

#endif
