/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/plan_note.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "core/friction.h"

void rv_plan_note_add(struct rv_plan *plan, const char *code, const char *format, ...)
{
	va_list args;

	if (plan->notes == RV_PLAN_NOTES)
		return;
	if (plan->notes == RV_PLAN_NOTES - 1) {
		code = "notes_cut";
		format = "There is more to say than fits: mend what is named above first.";
	}
	struct rv_plan_note *note = &plan->note[plan->notes++];
	snprintf(note->code, sizeof note->code, "%s", code);
	va_start(args, format);
	vsnprintf(note->text, sizeof note->text, format, args);
	va_end(args);
}

static double percent(double ratio)
{
	return 100.0 * ratio;
}

/* Published efficiencies seldom say which convention is theirs, so a plan says its own. */
static void note_friction(const struct rv_layout *layout, struct rv_plan *plan)
{
	bool turns = false, shares = false, drags = false, bars = false;

	for (int p = 0; p < layout->reeving.passes; p++) {
		const struct rv_block *block = &layout->rig.block[layout->reeving.pass[p].block];

		bars = bars || !isnan(block->bar_friction);
		turns = turns || isnan(block->bar_friction);
		shares = shares || block->bearing_share > 0.0;
		drags = drags || block->drag_n > 0.0 || block->pin_drag_ratio > 0.0;
	}
	if (!turns && !bars)
		return;
	rv_plan_note_add(
	    plan, "friction", "%s%s%s%s%s",
	    turns ? "Efficiency is tension out / tension in over one sheave at 180 degrees of "
		    "wrap, line moving, the same either way; those of several sheaves multiply."
		  : "",
	    turns && shares ? " At less wrap the bearing's share of a loss follows the pin load."
	    : turns	    ? " At less wrap the loss is the same (no bearing_share)."
			    : "",
	    drags ? " Drag and pin drag come on top." : "", turns && bars ? " " : "",
	    bars ? "Over a fixed bar: exp(-bar_friction x wrap)." : "");
}

static void note_limits(struct rv_plan *plan)
{
	for (int i = 0; i < plan->components; i++) {
		const struct rv_component *component = &plan->component[i];

		if (plan->use_ratio[i] > 1.0)
			rv_plan_note_add(plan, "over_limit",
					 "%s %s would carry %.0f %% of its limit.", component->kind,
					 component->name, percent(plan->use_ratio[i]));
		else if (plan->use_worst_ratio[i] > 1.0)
			rv_plan_note_add(plan, "over_limit_worst",
					 "%s %s would carry up to %.0f %% of its limit within the "
					 "declared efficiencies.",
					 component->kind, component->name,
					 percent(plan->use_worst_ratio[i]));
	}
	if (plan->weakest >= 0 && plan->weakest != plan->weakest_worst)
		rv_plan_note_add(plan, "weakest_changes",
				 "%s is the weakest at the middle efficiencies, %s at the worst.",
				 plan->component[plan->weakest].name,
				 plan->component[plan->weakest_worst].name);
}

static void note_loads(struct rv_plan *plan)
{
	for (int b = 0; b < plan->rig.loads; b++) {
		double share = plan->load[b].side_n / plan->load[b].resists_n;

		if (share > RV_PLAN_SIDE_RATIO)
			rv_plan_note_add(plan, "side_force",
					 "The lines push %s aside with %.0f %% of what it resists: "
					 "its wheels or the ground must take that.",
					 plan->rig.load[b].name, percent(share));
	}
}

static void note_sheaves(const struct rv_layout *layout, struct rv_plan *plan)
{
	bool told[RV_RIG_BLOCKS] = {false};

	for (int p = 0; p < layout->reeving.passes; p++) {
		int b = layout->reeving.pass[p].block;
		const struct rv_block *block = &layout->rig.block[b];

		if (rv_friction_is_still(&layout->reeving, &layout->pose, p))
			rv_plan_note_add(
			    plan, "sheave_still",
			    "Sheave %d of %s hardly turns: its friction may act either "
			    "way, and the ranges allow for both.",
			    layout->reeving.pass[p].sheave + 1, block->name);
		if (!told[b] && isnan(block->efficiency.middle) && isnan(block->drag_n) &&
		    isnan(block->pin_drag_ratio) && isnan(block->bar_friction))
			rv_plan_note_add(plan, "efficiency_unsaid",
					 "Block %s declares no efficiency: it is reckoned without "
					 "loss, so the line pull comes out too small.",
					 block->name);
		told[b] = true;
	}
}

static bool is_stamped(const struct rv_rating *rating)
{
	return rating->as_mass && !isnan(rv_rig_limit_n(*rating));
}

static void add_name(char *list, size_t size, const char *name)
{
	size_t len = strlen(list);

	if (len < size)
		snprintf(list + len, size - len, "%s%s", len ? ", " : "", name);
}

static void note_stamped(struct rv_plan *plan)
{
	const struct rv_rig *rig = &plan->rig;
	char list[160] = "";

	for (int i = 0; i < rig->points; i++)
		if (is_stamped(&rig->point[i].rating))
			add_name(list, sizeof list, rig->point[i].name);
	for (int i = 0; i < rig->winches; i++)
		if (rig->winch[i].rated_as_mass)
			add_name(list, sizeof list, rig->winch[i].name);
	for (int i = 0; i < rig->ropes; i++)
		if (is_stamped(&rig->rope[i].rating))
			add_name(list, sizeof list, rig->rope[i].name);
	for (int i = 0; i < rig->blocks; i++)
		if (is_stamped(&rig->block[i].rating) || rig->block[i].becket_as_mass)
			add_name(list, sizeof list, rig->block[i].name);
	for (int i = 0; i < rig->fittings; i++)
		if (is_stamped(&rig->fitting[i].rating))
			add_name(list, sizeof list, rig->fitting[i].name);
	if (list[0])
		rv_plan_note_add(plan, "stamped_mass",
				 "Ratings stamped as a mass are taken as force, times standard "
				 "gravity 9.80665 m/s2: %s.",
				 list);
}

static void note_wraps(struct rv_plan *plan)
{
	for (int w = 0; w < plan->rig.winches; w++)
		if (plan->rig.winch[w].wraps_left > 0.0 &&
		    isnan(plan->rig.winch[w].drum_diameter_m))
			rv_plan_note_add(
			    plan, "wraps_unsized",
			    "The %.3g wraps that stay on %s are not in the line needed: "
			    "its drum has no diameter.",
			    plan->rig.winch[w].wraps_left, plan->rig.winch[w].name);
}

void rv_plan_note_all(const struct rv_layout *layout, struct rv_plan *plan)
{
	note_friction(layout, plan);
	note_limits(plan);
	note_loads(plan);
	note_sheaves(layout, plan);
	note_stamped(plan);
	note_wraps(plan);
}

void rv_plan_note_slack(const struct rv_layout *layout, const bool *slack, struct rv_plan *plan)
{
	for (int i = 0; i < layout->reeving.pieces; i++)
		if (slack[i])
			rv_plan_note_add(plan, "slack_noted",
					 "%s hangs slack and carries nothing; the rig holds "
					 "without it.",
					 layout->rig.rope[layout->reeving.piece[i].rope].name);
}

void rv_plan_note_travel(const struct rv_layout *layout, struct rv_plan *plan)
{
	const struct rv_travel *travel = &plan->travel;
	double end_m = travel->rows > 0 ? travel->row[travel->rows - 1].travel_m : 0.0;

	switch (travel->end) {
	case RV_TRAVEL_WHOLE:
		return;
	case RV_TRAVEL_TWO_BLOCKED: {
		const struct rv_reeve_leg *leg = &layout->reeving.leg[travel->leg];
		rv_plan_note_add(plan, "two_blocked",
				 "After %.2f m of travel %s and %s are %.2f m apart: two-blocked.",
				 end_m, rv_reeve_name(&layout->rig, leg->from),
				 rv_reeve_name(&layout->rig, leg->to),
				 layout->pose.length_m[travel->leg]);
		return;
	}
	case RV_TRAVEL_NO_FORCES:
		rv_plan_note_add(plan, "travel_ends", "Beyond %.2f m of travel: %s.", end_m,
				 travel->why.text);
		return;
	}
}
