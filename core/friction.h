/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The friction a rig is reckoned with, and the tensions along each piece that follow from it:
 * every tension is slope * (tension at the start of the piece) + constant.
 */
#ifndef RV_CORE_FRICTION_H
#define RV_CORE_FRICTION_H

#include "core/pose.h"
#include "core/sheave.h"

/* A sheave slower than this share of the fastest line: static friction may hold it, so the
 * direction its friction has is not certain.  Own choice (common practice, no source). */
#define RV_FRICTION_NEARLY_STILL_RATIO 0.02

struct rv_friction {
	double efficiency_ratio[RV_RIG_BLOCKS]; /* 1 where none is declared */
	signed char turn[RV_RIG_LEGS];		/* of each pass: see rv_sheave_across */
	bool lossless;				/* no friction at all, whatever is declared */
};

struct rv_chain {
	double slope[RV_RIG_LEGS];
	double constant_n[RV_RIG_LEGS];
};

/* The middle of the declared efficiencies, and turns as the pose's speeds say; sense: +1 hauling
 * in, -1 paying out. */
void rv_friction_start(const struct rv_rig *rig, const struct rv_reeving *reeving,
		       const struct rv_pose *pose, int sense, struct rv_friction *friction);

/* Passes whose turning is nearly still. */
bool rv_friction_is_still(const struct rv_reeving *reeving, const struct rv_pose *pose, int pass);

/* The sheave of a pass as it lies in this pose. */
struct rv_sheave rv_friction_sheave(const struct rv_rig *rig, const struct rv_reeving *reeving,
				    const struct rv_pose *pose, const struct rv_friction *friction,
				    int pass);

/* True when the loss depends on the wrap, which the pose decides. */
bool rv_friction_feels_wrap(const struct rv_block *block);

/* Sets the turns as the pose's speeds say; true when none of them changed. */
bool rv_friction_turn(const struct rv_reeving *reeving, const struct rv_pose *pose, int sense,
		      struct rv_friction *friction);

void rv_friction_chain(const struct rv_rig *rig, const struct rv_reeving *reeving,
		       const struct rv_pose *pose, const struct rv_friction *friction,
		       struct rv_chain *chain);

#endif
