/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/plan_drum.h"

#include <math.h>
#include <stdio.h>

#include "core/plan_note.h"

int rv_plan_drum_rope(const struct rv_rig *rig, int winch)
{
	for (int r = 0; r < rig->ropes; r++) {
		const struct rv_rope *rope = &rig->rope[r];
		const struct rv_step *ends[] = {&rope->path[0], &rope->path[rope->steps - 1]};

		for (int e = 0; e < 2; e++)
			if (ends[e]->kind == RV_STEP_WINCH && ends[e]->index == winch)
				return r;
	}
	return -1;
}

struct rv_drum rv_plan_drum_size(const struct rv_rig *rig, int winch)
{
	int rope = rv_plan_drum_rope(rig, winch);

	return (struct rv_drum){
	    .diameter_m = rig->winch[winch].drum_diameter_m,
	    .width_m = rig->winch[winch].drum_width_m,
	    .line_m = rope < 0 ? (double)NAN : rig->rope[rope].diameter_m,
	};
}

void rv_plan_drum_set(struct rv_plan *plan)
{
	for (int w = 0; w < plan->rig.winches; w++) {
		const struct rv_winch *winch = &plan->rig.winch[w];
		struct rv_plan_drum *drum = &plan->winch[w].drum;
		struct rv_drum size = rv_plan_drum_size(&plan->rig, w);
		int rope = rv_plan_drum_rope(&plan->rig, w);

		*drum = (struct rv_plan_drum){(double)NAN, (double)NAN, 0, (double)NAN};
		if (winch->is_vehicle || rope < 0)
			continue;
		double length_m = plan->rig.rope[rope].length_m;
		drum->on_drum_m = fmax(0.0, length_m - plan->line_out_m[rope]);
		drum->left_m = length_m - plan->line_needed_m[rope];
		if (isnan(length_m))
			drum->on_drum_m = (double)NAN; /* fmax passes over NaN */
		drum->layer = rv_drum_layer(&size, drum->on_drum_m);
		if (drum->layer > 0)
			drum->rated_n = winch->rated_n * rv_drum_pull_ratio(&size, drum->layer);
	}
}

static bool note_overfull(struct rv_plan *plan, int w, double on_drum_m, double travel_m)
{
	const struct rv_winch *winch = &plan->rig.winch[w];
	struct rv_drum size = rv_plan_drum_size(&plan->rig, w);
	int layers = winch->drum_layers > 0 ? winch->drum_layers : RV_DRUM_LAYERS;
	double holds_m = rv_drum_holds_m(&size, layers);
	char when[48] = "";

	if (!(on_drum_m > holds_m))
		return false;
	if (travel_m > 0.0)
		snprintf(when, sizeof when, "After %.1f m of travel ", travel_m);
	rv_plan_note_add(
	    plan, "drum_overfull",
	    "%s%.1f m of line would lie on %s, which has room for %.1f m in %d layers.", when,
	    on_drum_m, winch->name, holds_m, layers);
	return true;
}

static bool note_over(struct rv_plan *plan, int w, int layer, double pull_n, double travel_m)
{
	struct rv_drum size = rv_plan_drum_size(&plan->rig, w);
	double rated_n = plan->rig.winch[w].rated_n * rv_drum_pull_ratio(&size, layer);
	char when[48] = "";

	if (!(pull_n > rated_n))
		return false;
	if (travel_m > 0.0)
		snprintf(when, sizeof when, "After %.1f m of travel ", travel_m);
	rv_plan_note_add(plan, "pull_over_layer",
			 "%s%s lies on layer %d of its drum and pulls only %.0f %% of its rating "
			 "there; the line pull is %.0f %% of that (same torque, larger drum).",
			 when, plan->rig.winch[w].name, layer,
			 100.0 * rv_drum_pull_ratio(&size, layer), 100.0 * pull_n / rated_n);
	return true;
}

/* Where the layer is not known, the drum's uppermost tells the least that the winch pulls. */
static void note_unknown(struct rv_plan *plan, int w)
{
	struct rv_drum size = rv_plan_drum_size(&plan->rig, w);
	const struct rv_winch *winch = &plan->rig.winch[w];
	double top = rv_drum_pull_ratio(&size, winch->drum_layers);

	if (winch->drum_layers < 2 || isnan(top) ||
	    !(plan->winch[w].line_pull.high_n > top * winch->rated_n))
		return;
	rv_plan_note_add(plan, "layer_unknown",
			 "How much line lies on %s is not said (length of the line, width of the "
			 "drum): on layer %d it pulls only %.0f %% of its rating, too little for "
			 "this.",
			 winch->name, winch->drum_layers, 100.0 * top);
}

static void note_winch(struct rv_plan *plan, int w)
{
	const struct rv_plan_drum *drum = &plan->winch[w].drum;
	struct rv_drum size = rv_plan_drum_size(&plan->rig, w);

	if (drum->layer == 0) {
		note_unknown(plan, w);
		return;
	}
	bool full = note_overfull(plan, w, drum->on_drum_m, 0.0);
	bool over = note_over(plan, w, drum->layer, plan->winch[w].line_pull.high_n, 0.0);
	for (int i = 0; i < plan->travel.rows && plan->has_travel; i++) {
		const struct rv_travel_row *row = &plan->travel.row[i];
		double on_drum_m = drum->on_drum_m + row->line_in_m;

		full = full || note_overfull(plan, w, on_drum_m, row->travel_m);
		over = over || note_over(plan, w, rv_drum_layer(&size, on_drum_m), row->line_pull_n,
					 row->travel_m);
	}
}

/* Where a pull that rises on the way passes a limit it keeps now: the line's, or the winch's own
 * where no layer is known. */
static void note_rise(struct rv_plan *plan, const char *name, double limit_n)
{
	for (int i = 0; i < plan->travel.rows && plan->has_travel; i++) {
		const struct rv_travel_row *row = &plan->travel.row[i];

		if (plan->travel.row[0].line_pull_n > limit_n)
			return;
		if (!(row->line_pull_n > limit_n))
			continue;
		rv_plan_note_add(
		    plan, "travel_over_limit",
		    "After %.1f m of travel the line pull has risen to %.0f %% of what "
		    "%s may carry.",
		    row->travel_m, 100.0 * row->line_pull_n / limit_n, name);
		return;
	}
}

void rv_plan_drum_note(struct rv_plan *plan)
{
	for (int w = 0; w < plan->rig.winches; w++) {
		const struct rv_winch *winch = &plan->rig.winch[w];
		int rope = rv_plan_drum_rope(&plan->rig, w);

		if (rope < 0)
			continue;
		if (!winch->is_vehicle)
			note_winch(plan, w);
		if (plan->winch[w].drum.layer == 0)
			note_rise(plan, winch->name, winch->rated_n);
		note_rise(plan, plan->rig.rope[rope].name,
			  rv_rig_limit_n(plan->rig.rope[rope].rating));
	}
}
