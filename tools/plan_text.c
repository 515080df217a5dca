/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/plan_text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/card.h"
#include "core/plan_drum.h"
#include "tools/plan_notes.h"
#include "tools/plan_summary.h"
#include "tools/plan_word.h"
#include "tools/table.h"

enum { INDENT = 2, WIDTH = 80, WORD = RV_PLAN_WORD };

struct page {
	const struct rv_plan *plan;
	enum rv_force_unit unit;
	struct rv_table *table;
};

static bool has_layers(const struct rv_plan *plan, int w)
{
	struct rv_drum size = rv_plan_drum_size(&plan->rig, w);

	return plan->rig.winch[w].drum_layers > 1 && !isnan(rv_drum_pull_ratio(&size, 1));
}

static void add_component(const struct page *page, int i)
{
	const struct rv_plan *plan = page->plan;
	char word[WORD], kind[RV_NAME_SIZE + 8];

	rv_table_add(page->table, "%s", plan->component[i].name);
	rv_table_add(page->table, "%s", rv_card_kind(plan, i, kind, sizeof kind));
	rv_table_add(page->table, "%s",
		     rv_plan_word_force(page->unit, plan->carried[i].nominal_n, word));
	rv_table_add(page->table, "%s", rv_plan_word_range(page->unit, plan->carried[i], word));
	rv_table_add(page->table, "%s",
		     rv_plan_word_force(page->unit, plan->component[i].limit_n, word));
	rv_table_add(page->table, "%s", rv_plan_word_percent(plan->use_ratio[i], word));
	rv_table_add(page->table, "%s", rv_plan_word_percent(plan->use_worst_ratio[i], word));
}

/* Rated ones by use, the highest first, equals in the plan's order; the others after them. */
static void add_components(const struct page *page)
{
	const struct rv_plan *plan = page->plan;
	bool told[RV_COMPONENTS] = {false};

	for (int done = 0; done < plan->components; done++) {
		int next = -1;

		for (int i = 0; i < plan->components; i++)
			if (!told[i] && !isnan(plan->use_ratio[i]) &&
			    (next < 0 || plan->use_ratio[i] >
					     plan->use_ratio[next] * (1.0 + RV_PLAN_SAME_RATIO)))
				next = i;
		for (int i = 0; i < plan->components && next < 0; i++)
			if (!told[i])
				next = i;
		told[next] = true;
		add_component(page, next);
	}
}

static bool is_lead(const struct rv_plan *plan, const struct rv_leg *leg)
{
	return rv_rig_find_winch(&plan->rig, leg->from) >= 0;
}

/* A line's name stands above its parts. */
static void add_rope(const struct page *page, int rope)
{
	rv_table_add(page->table, "%s", page->plan->rig.rope[rope].name);
	for (int i = 1; i < page->table->columns; i++)
		rv_table_add(page->table, "%s", "");
}

static void add_legs(const struct page *page)
{
	const struct rv_plan *plan = page->plan;
	char word[WORD];

	for (int l = 0; l < plan->legs; l++) {
		const struct rv_leg *leg = &plan->leg[l];

		if (l == 0 || leg->rope != plan->leg[l - 1].rope)
			add_rope(page, leg->rope);
		rv_table_add(page->table, "part %d%s", leg->leg,
			     leg->leg == 1 && is_lead(plan, leg) ? ", lead line" : "");
		rv_table_add(page->table, "%s - %s", leg->from, leg->to);
		rv_table_add(page->table, "%.2f", leg->length_m);
		rv_table_add(page->table, "%s",
			     rv_plan_word_force(page->unit, plan->tension[l].nominal_n, word));
		rv_table_add(page->table, "%s",
			     rv_plan_word_range(page->unit, plan->tension[l], word));
	}
}

static void add_sheaves(const struct page *page)
{
	const struct rv_plan *plan = page->plan;
	char word[WORD];

	for (int p = 0; p < plan->sheaves; p++) {
		const struct rv_plan_sheave *sheave = &plan->sheave[p];

		rv_table_add(page->table, "%s", plan->rig.block[sheave->block].name);
		rv_table_add(page->table, "sheave %d", sheave->sheave);
		rv_table_add(page->table, "%.0f", sheave->wrap_deg);
		rv_table_add(page->table, "%s",
			     rv_plan_word_force(page->unit, sheave->pin_n, word));
		rv_table_add(page->table, "%.2f", fabs(sheave->rope_speed_ratio));
		rv_table_add(page->table, "%.1f %%", 100.0 * sheave->loss_ratio);
	}
}

static void add_layers(const struct page *page)
{
	const struct rv_plan *plan = page->plan;
	char word[WORD];

	for (int w = 0; w < plan->rig.winches; w++) {
		const struct rv_winch *winch = &plan->rig.winch[w];
		struct rv_drum size = rv_plan_drum_size(&plan->rig, w);

		for (int k = 1; k <= winch->drum_layers && has_layers(plan, w); k++) {
			double holds_m = rv_drum_holds_m(&size, k);

			rv_table_add(page->table, "%s", winch->name);
			rv_table_add(page->table, "layer %d%s", k,
				     k == plan->winch[w].drum.layer ? ", now" : "");
			rv_table_add(
			    page->table, "%s",
			    rv_plan_word_force(
				page->unit, winch->rated_n * rv_drum_pull_ratio(&size, k), word));
			rv_table_add(page->table, isnan(holds_m) ? "-" : "%.1f", holds_m);
		}
	}
}

static void add_cells(const struct page *page)
{
	char word[WORD];

	for (int c = 0; c < page->plan->rig.cells; c++) {
		rv_table_add(page->table, "%s", page->plan->rig.cell[c].name);
		rv_table_add(page->table, "%s",
			     rv_plan_word_force(page->unit, page->plan->cell[c].nominal_n, word));
		rv_table_add(page->table, "%s",
			     rv_plan_word_range(page->unit, page->plan->cell[c], word));
	}
}

static void add_travel(const struct page *page)
{
	char word[WORD];

	for (int i = 0; i < page->plan->travel.rows; i++) {
		const struct rv_travel_row *row = &page->plan->travel.row[i];

		rv_table_add(page->table, "%.2f m", row->travel_m);
		rv_table_add(page->table, "%.2f m", fabs(row->line_in_m));
		rv_table_add(page->table, "%.3f", row->velocity_ratio);
		rv_table_add(page->table, "%s",
			     rv_plan_word_force(page->unit, row->line_pull_n, word));
	}
}

static void add_travel_out(const struct page *page)
{
	add_travel(page);
}

struct section {
	const char *title;
	const char *heads; /* as in tools/table.h */
	void (*add)(const struct page *page);
};

static const struct section sections[] = {
    {"What carries what, the weakest first", "||>load|range|>limit|>use|>worst", add_components},
    {"Parts of line, from the winch", "||>metres|>tension|range", add_legs},
    {"Sheaves", "||>wrap deg|>pin load|>rope speed|>loss", add_sheaves},
    {"Drum, layer by layer", "||>pulls|>holds m", add_layers},
    {"Cells should read", "|>load|range", add_cells},
    {"While it travels", ">travel|>hauled in|>velocity ratio|>line pull", add_travel},
    {"While it travels", ">travel|>paid out|>velocity ratio|>line pull", add_travel_out},
};

static void print_section(struct page *page, const struct section *section)
{
	struct rv_table table;

	rv_table_init(&table, section->heads);
	page->table = &table;
	printf("\n%s (forces in %s)\n", section->title, rv_units_force_name(page->unit));
	section->add(page);
	rv_table_fit(&table, WIDTH - INDENT);
	rv_table_print(&table, INDENT, stdout);
	rv_table_free(&table);
}

static bool is_empty(const struct rv_plan *plan, const struct section *section)
{
	bool any_layers = false;

	for (int w = 0; w < plan->rig.winches; w++)
		any_layers = any_layers || has_layers(plan, w);
	return (section->add == add_layers && !any_layers) ||
	       (section->add == add_sheaves && plan->sheaves == 0) ||
	       (section->add == add_cells && plan->rig.cells == 0) ||
	       (section->add == add_travel && (!plan->has_travel || plan->rig.haul_out)) ||
	       (section->add == add_travel_out && (!plan->has_travel || !plan->rig.haul_out));
}

static void print_not_rated(const struct rv_plan *plan)
{
	struct rv_text names = {0};

	for (int i = 0; i < plan->components; i++)
		if (isnan(plan->component[i].limit_n))
			rv_text_add(&names, "%s%s", names.len > 0 ? ", " : "",
				    plan->component[i].name);
	if (names.len > 0) {
		printf("\n");
		rv_plan_notes_wrap("Not rated, not watched: ",
				   names.failed ? "(no memory for this list)" : names.data, INDENT,
				   stdout);
	}
	rv_text_free(&names);
}

void rv_plan_text_print(const struct rv_plan *plan, enum rv_force_unit unit)
{
	struct page page = {.plan = plan, .unit = unit};

	printf("%s%s%s\n\n", plan->rig.name, plan->rig.name[0] ? ": " : "",
	       plan->rig.haul_out ? "paying out under load" : "hauling in");
	rv_plan_summary_print(plan, unit, stdout);
	for (size_t i = 0; i < sizeof sections / sizeof sections[0]; i++)
		if (!is_empty(plan, &sections[i]))
			print_section(&page, &sections[i]);
	print_not_rated(plan);
	printf("\n");
	rv_plan_summary_lines(plan, stdout);
	rv_plan_notes_print(plan, stdout);
	printf(
	    "\nreeve advises. It is no safety device and no load limiter. Ranges are over the\n"
	    "declared efficiencies only; shock, wear and bad ground are not in these numbers.\n");
}
