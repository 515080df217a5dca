/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/schematic_item.h"

#include <stdio.h>
#include <string.h>

struct adding {
	struct rv_schematic_item *item;
	bool bold;
};

static void add_line(void *context, const char *line)
{
	const struct adding *adding = context;
	struct rv_schematic_item *item = adding->item;

	if (item->lines == RV_SCHEMATIC_LINES)
		return;
	item->bold[item->lines] = adding->bold;
	snprintf(item->line[item->lines++], RV_SCHEMATIC_BYTES, "%s", line);
}

static void add(struct rv_schematic_item *item, bool bold, const char *words)
{
	struct adding adding = {item, bold};

	(void)rv_svg_wrap(words,
			  (struct rv_svg_type){RV_SCHEMATIC_LETTER, bold, RV_SVG_START, NULL},
			  RV_SCHEMATIC_SIDE, add_line, &adding);
}

/* own: the item says its name already. */
static void add_part(struct rv_schematic_telling *telling, struct rv_schematic_item *item, int part,
		     bool own)
{
	const struct rv_plan *plan = telling->plan;
	const struct rv_component *is = &plan->component[part];
	char load[120], words[400];

	if (telling->told[part])
		return;
	telling->told[part] = true;
	rv_card_load(&telling->cards, plan->carried[part].nominal_n, plan->use_ratio[part],
		     plan->use_worst_ratio[part], load, sizeof load);
	snprintf(words, sizeof words, "%s%s: %s", own ? is->kind : is->name,
		 rv_card_is_per_leg(plan, part) ? ", each leg" : "", load);
	if (part == plan->weakest)
		add(item, true, "FIRST TO REACH ITS LIMIT:");
	add(item, part == plan->weakest, words);
}

/* What has that name there, then the rest at that point: fittings, the point itself. */
static void add_parts(struct rv_schematic_telling *telling, struct rv_schematic_item *item,
		      const char *name, int point)
{
	const struct rv_plan *plan = telling->plan;

	for (int pass = 0; pass < 2; pass++)
		for (int i = 0; i < plan->components; i++) {
			bool own = strcmp(plan->component[i].name, name) == 0;
			bool is_block = strcmp(plan->component[i].kind, "block") == 0 ||
					strcmp(plan->component[i].kind, "winch") == 0;

			if (own == (pass == 0) && (own || !is_block) &&
			    rv_card_place(plan, telling->reeving, i) == point)
				add_part(telling, item, i, own);
		}
}

static const char *how_it_stands(const struct rv_plan *plan, int point)
{
	static const char *const words[] = {[RV_POINT_FIXED] = "stands fast",
					    [RV_POINT_FLOATS] = "floats",
					    [RV_POINT_WITH_LOAD] = "moves with the load"};

	return words[plan->rig.point[point].kind];
}

/* The other blocks at the same point: that is how lines hang on one another. */
static void add_neighbours(const struct rv_plan *plan, struct rv_schematic_item *item, int point)
{
	char words[200];

	for (int b = 0; b < plan->rig.blocks; b++) {
		if (plan->rig.block[b].point != point ||
		    (item->step.kind == RV_STEP_BLOCK && item->step.index == b))
			continue;
		snprintf(words, sizeof words, "with %s", plan->rig.block[b].name);
		add(item, false, words);
	}
}

void rv_schematic_item_make(struct rv_schematic_telling *telling, struct rv_step step, bool is_end,
			    struct rv_schematic_item *item)
{
	const struct rv_plan *plan = telling->plan;
	int point = rv_rig_step_point(&plan->rig, &step);
	char words[300];

	memset(item, 0, sizeof *item);
	item->step = step;
	item->is_grab = step.kind == RV_STEP_POINT && !is_end;
	snprintf(words, sizeof words, "%s", rv_reeve_name(&plan->rig, step));
	add(item, true, words);
	snprintf(words, sizeof words, "%s%s%s", step.kind == RV_STEP_WINCH ? "winch, " : "",
		 item->is_grab ? "the line is made fast, " : "", how_it_stands(plan, point));
	add(item, false, words);
	if (step.kind == RV_STEP_BLOCK && is_end) {
		add(item, false, "made fast to its becket");
	} else if (step.kind == RV_STEP_BLOCK && plan->rig.block[step.index].sheaves > 1) {
		snprintf(words, sizeof words, "sheave %d of %d", step.sheave + 1,
			 plan->rig.block[step.index].sheaves);
		add(item, false, words);
	}
	add_parts(telling, item, rv_reeve_name(&plan->rig, step), point);
	add_neighbours(plan, item, point);
}
