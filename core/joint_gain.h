/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which cell is wrong: the gains that cells show in their places, against what is stated of them.
 */
#ifndef RV_CORE_JOINT_GAIN_H
#define RV_CORE_JOINT_GAIN_H

#include "core/joint_setup.h"

struct rv_joint_gain {
	int cells;			/* J */
	double gain_log[RV_JOINT_CELLS]; /* of cell j over cell 0; [0] is not used */
	double excess_log[RV_JOINT_CELLS]; /* what a loss excess paying out does to each, up to a factor */
	double u[RV_JOINT_CELLS];	/* standard uncertainty of each cell's gain and zero, relative */
	double u_own;			/* of each log ratio by itself */
	bool fit_excess;
};

/* chi-square test at 0.1 %, the excess fitted out where asked.  Returns true when a cell is out of its
 * calibration; *suspect: which, or -1 where that cannot be told (fewer than four cells with the excess
 * fitted, fewer than three without). */
bool rv_joint_gain_is_off(const struct rv_joint_gain *gain, int *suspect);

#endif
