/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Three cells and more: efficiency of each segment, whether they differ, which cell is wrong.  What it
 * takes and gives is in core/joint_setup.h.
 */
#ifndef RV_CORE_JOINT_H
#define RV_CORE_JOINT_H

#include "core/joint_setup.h"

/* Fills *joint, and of the estimate per_sheave, the mode and warnings: segments_differ, cell_dropped,
 * cell_out_of_calibration, mean_of_directions.  RV_ERR_REFUSED: segments_not_resolved, segment_short,
 * too_few_pulls (the estimate is left alone then); RV_ERR_RANGE: no 3 .. RV_JOINT_CELLS cells. */
enum rv_err rv_joint_make(const struct rv_joint_setup *setup, struct rv_joint *joint,
			  struct rv_estimate *estimate, struct rv_error *error);

#endif
