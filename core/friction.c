/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/friction.h"

#include <math.h>
#include <string.h>

/* Slower than this is rounding, not motion. */
#define STILL_RATIO 1e-9

static double fastest(const struct rv_reeving *reeving, const struct rv_pose *pose)
{
	double speed = 0.0;

	for (int i = 0; i < reeving->pieces; i++)
		speed = fmax(speed, fabs(pose->line_speed_ratio[i]));
	return speed;
}

bool rv_friction_is_still(const struct rv_reeving *reeving, const struct rv_pose *pose, int pass)
{
	return fabs(pose->rope_speed_ratio[pass]) <
	       RV_FRICTION_NEARLY_STILL_RATIO * fastest(reeving, pose);
}

bool rv_friction_turn(const struct rv_reeving *reeving, const struct rv_pose *pose, int sense,
		      struct rv_friction *friction)
{
	double still = STILL_RATIO * fastest(reeving, pose);
	bool same = true;

	for (int p = 0; p < reeving->passes; p++) {
		double speed = sense * pose->rope_speed_ratio[p];
		signed char turn = (signed char)(speed > still ? 1 : speed < -still ? -1 : 0);

		same = same && friction->turn[p] == turn;
		friction->turn[p] = turn;
	}
	return same;
}

void rv_friction_start(const struct rv_rig *rig, const struct rv_reeving *reeving,
		       const struct rv_pose *pose, int sense, struct rv_friction *friction)
{
	memset(friction, 0, sizeof *friction);
	for (int b = 0; b < rig->blocks; b++) {
		double middle = rig->block[b].efficiency.middle;
		friction->efficiency_ratio[b] = isnan(middle) ? 1.0 : middle;
	}
	(void)rv_friction_turn(reeving, pose, sense, friction);
}

static double or_zero(double declared)
{
	return isnan(declared) ? 0.0 : declared;
}

struct rv_sheave rv_friction_sheave(const struct rv_rig *rig, const struct rv_reeving *reeving,
				    const struct rv_pose *pose, const struct rv_friction *friction,
				    int pass)
{
	int b = reeving->pass[pass].block;
	const struct rv_block *block = &rig->block[b];

	return (struct rv_sheave){
	    .efficiency_ratio = friction->efficiency_ratio[b],
	    .bearing_share_ratio = or_zero(block->bearing_share),
	    .drag_n = or_zero(block->drag_n),
	    .pin_drag_ratio = or_zero(block->pin_drag_ratio),
	    .bar_friction_ratio = or_zero(block->bar_friction),
	    .half_sine = pose->half_sine[pass],
	    .wrap_rad = pose->wrap_rad[pass],
	};
}

bool rv_friction_feels_wrap(const struct rv_block *block)
{
	return block->bearing_share > 0.0 || block->pin_drag_ratio > 0.0 ||
	       (block->bar_friction > 0.0 && isnan(block->wrap_deg));
}

void rv_friction_chain(const struct rv_rig *rig, const struct rv_reeving *reeving,
		       const struct rv_pose *pose, const struct rv_friction *friction,
		       struct rv_chain *chain)
{
	for (int i = 0; i < reeving->pieces; i++) {
		const struct rv_reeve_piece *piece = &reeving->piece[i];
		int leg = piece->first_leg;

		chain->slope[leg] = 1.0;
		chain->constant_n[leg] = 0.0;
		for (int p = piece->first_pass; p < piece->first_pass + piece->passes; p++) {
			int turn = friction->lossless ? 0 : friction->turn[p];
			struct rv_sheave sheave =
			    rv_friction_sheave(rig, reeving, pose, friction, p);
			struct rv_sheave_law law = rv_sheave_law(&sheave);
			struct rv_sheave_law slope = {.ratio = law.ratio};

			leg++;
			chain->slope[leg] = rv_sheave_across(slope, turn, chain->slope[leg - 1]);
			chain->constant_n[leg] =
			    rv_sheave_across(law, turn, chain->constant_n[leg - 1]);
		}
	}
}
