/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/suit.h"

#include <math.h>
#include <string.h>

#include "core/plan_note.h"

static const char *material_name(enum rv_material material)
{
	switch (material) {
	case RV_WIRE:
		return "wire";
	case RV_SYNTHETIC:
		return "synthetic";
	case RV_CHAIN:
		return "chain";
	case RV_MATERIAL_UNSAID:
		break;
	}
	return "unsaid";
}

static unsigned material_bit(enum rv_material material)
{
	switch (material) {
	case RV_WIRE:
		return RV_TAKES_WIRE;
	case RV_SYNTHETIC:
		return RV_TAKES_SYNTHETIC;
	case RV_CHAIN:
		return RV_TAKES_CHAIN;
	case RV_MATERIAL_UNSAID:
		break;
	}
	return 0;
}

static void check_takes(const struct rv_block *block, const struct rv_rope *rope,
			struct rv_plan *plan)
{
	unsigned bit = material_bit(rope->material);

	if (block->takes != 0 && bit != 0 && (block->takes & bit) == 0)
		rv_plan_note_add(plan, "rope_not_taken",
				 "%s is not made for %s line, and %s is run over it.", block->name,
				 material_name(rope->material), rope->name);
}

static void check_groove(const struct rv_block *block, const struct rv_rope *rope,
			 struct rv_plan *plan)
{
	double line_mm = 1000.0 * rope->diameter_m;
	/* 12 mm written in metres is not quite 12. */
	double slack_mm = 1e-6;

	if (line_mm > block->groove_high_mm + slack_mm || line_mm < block->groove_low_mm - slack_mm)
		rv_plan_note_add(plan, "groove",
				 "The groove of %s is made for %.3g to %.3g mm; %s is %.3g mm %s.",
				 block->name, block->groove_low_mm, block->groove_high_mm,
				 rope->name, line_mm,
				 line_mm > block->groove_high_mm ? "and jams" : "and is flattened");
}

double rv_suit_bend_loss_ratio(double diameter_ratio)
{
	static const double table[][2] = {
	    {6.0, 0.21}, {8.0, 0.17}, {10.0, 0.14}, {15.0, 0.11}, {20.0, 0.09}};
	size_t last = sizeof table / sizeof table[0] - 1, i = 1;

	if (diameter_ratio <= table[0][0])
		return table[0][1];
	if (diameter_ratio >= table[last][0])
		return table[last][1];
	while (table[i][0] < diameter_ratio)
		i++;
	double along = (diameter_ratio - table[i - 1][0]) / (table[i][0] - table[i - 1][0]);
	return table[i - 1][1] + along * (table[i][1] - table[i - 1][1]);
}

static void check_sheave(const struct rv_block *block, const struct rv_rope *rope,
			 struct rv_plan *plan)
{
	double ratio = block->diameter_m / rope->diameter_m;

	if (!isnan(block->bar_friction) || isnan(ratio))
		return;
	if (rope->material == RV_WIRE && ratio < RV_SUIT_WIRE_RATIO * (1.0 - 1e-9))
		rv_plan_note_add(
		    plan, "sheave_small",
		    "The sheave of %s is %.1f diameters of %s across; at least %.0f for wire (ANSI "
		    "B30.5 for hoisting blocks, as a sheave maker quotes it). The bend takes "
		    "%s%.0f %% "
		    "of its strength (a hoist maker's table).",
		    block->name, ratio, rope->name, RV_SUIT_WIRE_RATIO,
		    ratio < 6.0 ? "more than " : "some ", 100.0 * rv_suit_bend_loss_ratio(ratio));
	if (rope->material == RV_SYNTHETIC && ratio < RV_SUIT_SYNTHETIC_RATIO * (1.0 - 1e-9))
		rv_plan_note_add(
		    plan, "sheave_small",
		    "The sheave of %s is %.1f diameters of %s across; at least %.0f for "
		    "braided synthetic rope (a rope maker's advice).",
		    block->name, ratio, rope->name, RV_SUIT_SYNTHETIC_RATIO);
}

static void check_hook(const struct rv_block *block, const struct rv_rope *rope,
		       struct rv_plan *plan)
{
	if (rope->terminal == RV_HOOK && block->opens == RV_SAID_NO)
		rv_plan_note_add(plan, "hook_in_block",
				 "%s ends in a hook and %s does not open: it cannot be laid in.",
				 rope->name, block->name);
}

/* Each block and line that meet, once. */
static void check_meetings(const struct rv_layout *layout, struct rv_plan *plan)
{
	const struct rv_reeving *reeving = &layout->reeving;
	bool told[RV_RIG_BLOCKS][RV_RIG_LINES];

	memset(told, 0, sizeof told);
	for (int p = 0; p < reeving->passes; p++) {
		int b = reeving->pass[p].block, r = reeving->piece[reeving->pass[p].piece].rope;
		const struct rv_block *block = &layout->rig.block[b];
		const struct rv_rope *rope = &layout->rig.rope[r];

		if (told[b][r])
			continue;
		told[b][r] = true;
		check_takes(block, rope, plan);
		check_groove(block, rope, plan);
		check_sheave(block, rope, plan);
		check_hook(block, rope, plan);
	}
}

static bool travels(const struct rv_layout *layout, int block)
{
	int point = layout->rig.block[block].point;

	return rv_pose_size(layout->pose.point_speed[point]) > RV_SUIT_TRAVELS_RATIO;
}

/* The widest angle at each travelling block; a block that stays where it is only redirects. */
static void check_spread(const struct rv_layout *layout, struct rv_plan *plan)
{
	const struct rv_reeving *reeving = &layout->reeving;
	double widest_deg[RV_RIG_BLOCKS] = {0.0};

	for (int p = 0; p < reeving->passes; p++) {
		int b = reeving->pass[p].block;
		double angle_deg = 2.0 * acos(fmin(1.0, layout->pose.half_sine[p])) * 180.0 / M_PI;

		if (travels(layout, b) && isnan(layout->rig.block[b].bar_friction))
			widest_deg[b] = fmax(widest_deg[b], angle_deg);
	}
	for (int b = 0; b < layout->rig.blocks; b++)
		if (widest_deg[b] > RV_SUIT_SPREAD_DEG)
			rv_plan_note_add(plan, "legs_spread",
					 "The parts of line at %s are %.0f degrees apart: together "
					 "they pull like %.2f parts instead of 2.",
					 layout->rig.block[b].name, widest_deg[b],
					 2.0 * cos(0.5 * widest_deg[b] * M_PI / 180.0));
}

void rv_suit_gear(const struct rv_layout *layout, struct rv_plan *plan)
{
	check_meetings(layout, plan);
	check_spread(layout, plan);
}

static int winch_of(const struct rv_rope *rope)
{
	const struct rv_step *last = &rope->path[rope->steps - 1];

	if (rope->path[0].kind == RV_STEP_WINCH)
		return rope->path[0].index;
	return last->kind == RV_STEP_WINCH ? last->index : -1;
}

/* Line that the travel pays out besides. */
static double paid_out_m(const struct rv_plan *plan, int winch)
{
	if (winch < 0 || !plan->has_travel || plan->travel.rows == 0)
		return 0.0;
	return fmax(0.0, -plan->travel.row[plan->travel.rows - 1].line_in_m);
}

static void check_wraps(const struct rv_winch *winch, const struct rv_rope *rope,
			struct rv_plan *plan)
{
	bool synthetic = rope->material == RV_SYNTHETIC;
	double least = synthetic ? RV_SUIT_SYNTHETIC_WRAPS : RV_SUIT_WIRE_WRAPS;

	if (rope->material == RV_CHAIN || rope->material == RV_MATERIAL_UNSAID)
		return;
	if (winch->wraps_left < least)
		rv_plan_note_add(
		    plan, "wraps_few", "%.3g turns stay on %s; at least %.0f of %s line (%s).",
		    winch->wraps_left, winch->name, least, material_name(rope->material),
		    synthetic ? "a rope maker's advice for low-friction fibre"
			      : "US Army TM 9-2320-279-10-2");
}

void rv_suit_lengths(struct rv_plan *plan)
{
	for (int r = 0; r < plan->rig.ropes; r++) {
		const struct rv_rope *rope = &plan->rig.rope[r];
		int winch = winch_of(rope);
		double needed_m = plan->line_needed_m[r] + paid_out_m(plan, winch);

		/* The length of a line without a winch is where it is laid out to. */
		if (winch >= 0 && needed_m > rope->length_m)
			rv_plan_note_add(plan, "line_short",
					 "%s is %.1f m long; %.1f m are needed%s.", rope->name,
					 rope->length_m, needed_m,
					 plan->rig.winch[winch].wraps_left > 0.0
					     ? ", with the turns that stay on the drum"
					     : "");
		if (winch >= 0 && !plan->rig.winch[winch].is_vehicle)
			check_wraps(&plan->rig.winch[winch], rope, plan);
	}
}
