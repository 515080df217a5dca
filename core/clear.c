/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/clear.h"

#include <math.h>

#include "core/plan_drum.h"
#include "core/plan_note.h"

const char *rv_clear_rule(enum rv_clear_rule rule)
{
	return rule == RV_CLEAR_APART ? "the two most distant points of the rigging (US Army FM "
					"21-305 ch. 22 as reprinted)"
				      : "twice the line paid out (US Army FM 9-43-2 as reprinted)";
}

static double farthest_apart_m(const struct rv_layout *layout)
{
	const struct rv_reeving *reeving = &layout->reeving;
	bool used[RV_RIG_POINTS] = {false};
	double most_m = 0.0;

	for (int l = 0; l < reeving->legs; l++)
		used[reeving->leg[l].a] = used[reeving->leg[l].b] = true;
	for (int p = 0; p < layout->rig.points; p++)
		for (int q = 0; q < p; q++) {
			double apart[RV_DIM];

			if (!used[p] || !used[q])
				continue;
			for (int i = 0; i < RV_DIM; i++)
				apart[i] = layout->pose.at_m[p][i] - layout->pose.at_m[q][i];
			most_m = fmax(most_m, rv_pose_size(apart));
		}
	return most_m;
}

static void note_bight(const struct rv_layout *layout, int pass, struct rv_plan *plan)
{
	const struct rv_reeving *reeving = &layout->reeving;
	int before = reeving->pass[pass].before;
	/* A declared wrap or full turns round a bar say nothing of the angle between the legs. */
	double angle_deg = 2.0 * acos(fmin(1.0, layout->pose.half_sine[pass])) * 180.0 / M_PI;

	if (angle_deg < RV_CLEAR_BIGHT_DEG)
		return;
	rv_plan_note_add(plan, "bight",
			 "Nobody inside the angle of %.0f degrees at %s, between %s and %s: that "
			 "way the block and the line fly.",
			 angle_deg, layout->rig.block[reeving->pass[pass].block].name,
			 rv_reeve_name(&layout->rig, reeving->leg[before].from),
			 rv_reeve_name(&layout->rig, reeving->leg[before + 1].to));
}

void rv_clear_set(const struct rv_layout *layout, struct rv_plan *plan)
{
	for (int r = 0; r < plan->rig.ropes; r++)
		plan->clear.longest_m = fmax(plan->clear.longest_m, plan->line_out_m[r]);
	plan->clear.apart_m = farthest_apart_m(layout);
	for (int p = 0; p < layout->reeving.passes; p++)
		note_bight(layout, p, plan);
}

void rv_clear_choose(struct rv_plan *plan)
{
	struct rv_plan_clear *clear = &plan->clear;
	int rope = plan->has_travel ? rv_plan_drum_rope(&plan->rig, 0) : -1;

	for (int i = 0; i < plan->travel.rows && rope >= 0; i++)
		clear->longest_m =
		    fmax(clear->longest_m, plan->line_out_m[rope] - plan->travel.row[i].line_in_m);
	clear->twice_out_m = 2.0 * clear->longest_m; /* never less than the longest line in use */
	clear->rule = RV_CLEAR_TWICE_OUT;
	clear->keep_m = clear->twice_out_m;
	if (clear->apart_m > clear->keep_m) {
		clear->rule = RV_CLEAR_APART;
		clear->keep_m = clear->apart_m;
	}
	rv_plan_note_add(plan, "keep_clear",
			 "Everybody %.0f m away, outside every angle of the line: %s, the "
			 "largest of three published rules.",
			 ceil(clear->keep_m), rv_clear_rule(clear->rule));
}
