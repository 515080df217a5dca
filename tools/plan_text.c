/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/plan_text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/plan_drum.h"
#include "tools/plan_notes.h"
#include "tools/table.h"

enum { INDENT = 2, WORD = 48 };

struct page {
	const struct rv_plan *plan;
	enum rv_force_unit unit;
	struct rv_table *table;
};

/* A force without its unit: columns name it in their head. */
static const char *force(const struct page *page, double force_n, char word[WORD])
{
	if (isnan(force_n))
		snprintf(word, WORD, "-");
	else
		snprintf(word, WORD, "%.*f", rv_units_force_places(page->unit),
			 force_n / rv_units_force_n(page->unit));
	return word;
}

/* "23.35 to 23.84", or nothing when both print the same. */
static const char *range(const struct page *page, struct rv_span span, char word[WORD])
{
	char low[WORD], high[WORD];

	force(page, span.low_n, low);
	force(page, span.high_n, high);
	word[0] = '\0';
	if (strcmp(low, high) != 0)
		snprintf(word, WORD, "%.20s to %.20s", low, high);
	return word;
}

/* "4.52:1", without needless zeros. */
static const char *ratio(double value, char word[WORD])
{
	snprintf(word, WORD, "%.2f", value);
	size_t len = strlen(word);
	while (len > 1 && word[len - 1] == '0')
		word[--len] = '\0';
	if (word[len - 1] == '.')
		word[--len] = '\0';
	snprintf(word + len, WORD - len, ":1");
	return word;
}

static const char *percent(double use_ratio, char word[WORD])
{
	if (isnan(use_ratio))
		snprintf(word, WORD, "-");
	else
		snprintf(word, WORD, "%.0f %%", 100.0 * use_ratio);
	return word;
}

static void print_winches(const struct page *page)
{
	const char *name = rv_units_force_name(page->unit);
	char pull[WORD], span[WORD], rated[WORD];

	for (int w = 0; w < page->plan->rig.winches; w++) {
		const struct rv_plan_winch *winch = &page->plan->winch[w];

		printf("  line pull   %s %s", force(page, winch->line_pull.nominal_n, pull), name);
		if (range(page, winch->line_pull, span)[0])
			printf(" (%s)", span);
		printf(" at %s", page->plan->rig.winch[w].name);
		if (!isnan(page->plan->rig.winch[w].rated_n))
			printf(", rated %s %s",
			       force(page, page->plan->rig.winch[w].rated_n, rated), name);
		printf("\n");
		if (!isnan(winch->at_low_n) || !isnan(winch->at_high_n))
			printf("              %s to %s %s over the range of the load\n",
			       force(page, winch->at_low_n, pull),
			       force(page, winch->at_high_n, rated), name);
	}
}

static void print_drums(const struct page *page)
{
	const struct rv_plan *plan = page->plan;
	char rated[WORD];

	for (int w = 0; w < plan->rig.winches; w++) {
		const struct rv_plan_drum *drum = &plan->winch[w].drum;

		if (plan->rig.winch[w].is_vehicle || isnan(drum->on_drum_m))
			continue;
		printf("  drum        %.1f m on %s", drum->on_drum_m, plan->rig.winch[w].name);
		if (drum->layer > 0)
			printf(", layer %d", drum->layer);
		if (!isnan(drum->rated_n))
			printf(": it pulls %s %s there", force(page, drum->rated_n, rated),
			       rv_units_force_name(page->unit));
		if (drum->left_m >= 0.0)
			printf("; %.1f m more could go out\n", drum->left_m);
		else
			printf("; %.1f m too little line\n", -drum->left_m);
	}
}

static void print_additive(const struct page *page)
{
	const struct rv_plan_additive *additive = &page->plan->additive;
	char pull[WORD];

	if (!isnan(additive->line_pull_n))
		printf(
		    "  compare     %s %s line pull by the additive rule of thumb: 10 %% of what "
		    "the "
		    "load\n              resists for each of %d sheave%s, shared by the parts (US "
		    "Army, US Navy)\n",
		    force(page, additive->line_pull_n, pull), rv_units_force_name(page->unit),
		    additive->sheaves, additive->sheaves == 1 ? "" : "s");
}

static void print_loads(const struct page *page)
{
	const char *name = rv_units_force_name(page->unit);
	char resists[WORD], low[WORD], high[WORD], side[WORD];

	for (int b = 0; b < page->plan->rig.loads; b++) {
		const struct rv_plan_load *load = &page->plan->load[b];

		printf("  load        %s %s", force(page, load->resists_n, resists), name);
		if (!isnan(load->low_n))
			printf(" (%s to %s)", force(page, load->low_n, low),
			       force(page, load->high_n, high));
		printf(" held by %s", page->plan->rig.load[b].name);
		if (strtod(force(page, load->side_n, side), NULL) > 0.0)
			printf(", pushed aside with %s %s", side, name);
		printf("\n");
		if (!isnan(page->plan->rig.load[b].mass_kg))
			printf("              from mass, slope and shares of weight as declared: "
			       "rules of thumb\n");
		if (!isnan(load->low_n))
			printf("              all else is for %s %s; for its most add --resist "
			       "'%s=%s%s'\n",
			       resists, name, page->plan->rig.load[b].name, high, name);
	}
}

static void print_ratios(const struct page *page)
{
	const struct rv_plan *plan = page->plan;
	char theoretical[WORD], expected[WORD], low[WORD], high[WORD], limit[WORD];

	if (!rv_plan_is_single(plan))
		return;
	printf("  advantage   theoretical %s, expected %s",
	       ratio(plan->advantage.theoretical_ratio, theoretical),
	       ratio(plan->advantage.expected_ratio, expected));
	ratio(plan->advantage.low_ratio, low);
	ratio(plan->advantage.high_ratio, high);
	if (strcmp(low, high) != 0)
		printf(" (%s to %s)", low, high);
	printf("\n  line speed  %.2f m of line for each metre of travel\n", plan->velocity_ratio);
	if (plan->weakest >= 0)
		printf("  limit       a line pull of %s %s brings %s to its limit\n",
		       force(page, plan->line_pull_limit_n, limit), rv_units_force_name(page->unit),
		       plan->component[plan->weakest].name);
}

static bool has_layers(const struct rv_plan *plan, int w)
{
	struct rv_drum size = rv_plan_drum_size(&plan->rig, w);

	return plan->rig.winch[w].drum_layers > 1 && !isnan(rv_drum_pull_ratio(&size, 1));
}

static void add_component(const struct page *page, int i)
{
	const struct rv_plan *plan = page->plan;
	char word[WORD];

	rv_table_add(page->table, "%s", plan->component[i].name);
	rv_table_add(page->table, "%s", plan->component[i].kind);
	rv_table_add(page->table, "%s", force(page, plan->carried[i].nominal_n, word));
	rv_table_add(page->table, "%s", range(page, plan->carried[i], word));
	rv_table_add(page->table, "%s", force(page, plan->component[i].limit_n, word));
	rv_table_add(page->table, "%s", percent(plan->use_ratio[i], word));
	rv_table_add(page->table, "%s", percent(plan->use_worst_ratio[i], word));
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

static void add_legs(const struct page *page)
{
	const struct rv_plan *plan = page->plan;
	char word[WORD];

	for (int l = 0; l < plan->legs; l++) {
		const struct rv_leg *leg = &plan->leg[l];

		rv_table_add(page->table, "%s", plan->rig.rope[leg->rope].name);
		rv_table_add(page->table, "part %d%s", leg->leg,
			     leg->leg == 1 && is_lead(plan, leg) ? ", lead line" : "");
		rv_table_add(page->table, "%s - %s", leg->from, leg->to);
		rv_table_add(page->table, "%.2f", leg->length_m);
		rv_table_add(page->table, "%s", force(page, plan->tension[l].nominal_n, word));
		rv_table_add(page->table, "%s", range(page, plan->tension[l], word));
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
		rv_table_add(page->table, "%s", force(page, sheave->pin_n, word));
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
			    force(page, winch->rated_n * rv_drum_pull_ratio(&size, k), word));
			rv_table_add(page->table, isnan(holds_m) ? "-" : "%.1f", holds_m);
		}
	}
}

static void add_cells(const struct page *page)
{
	char word[WORD];

	for (int c = 0; c < page->plan->rig.cells; c++) {
		rv_table_add(page->table, "%s", page->plan->rig.cell[c].name);
		rv_table_add(page->table, "%s", force(page, page->plan->cell[c].nominal_n, word));
		rv_table_add(page->table, "%s", range(page, page->plan->cell[c], word));
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
		rv_table_add(page->table, "%s", force(page, row->line_pull_n, word));
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
    {"Parts of line, from the winch", "|||>length m|>tension|range", add_legs},
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
	const char *before = "\nNot rated, not watched: ";

	for (int i = 0; i < plan->components; i++)
		if (isnan(plan->component[i].limit_n)) {
			printf("%s%s", before, plan->component[i].name);
			before = ", ";
		}
	if (before[0] == ',')
		printf("\n");
}

static void print_lines(const struct rv_plan *plan)
{
	printf("\n");
	for (int r = 0; r < plan->rig.ropes; r++)
		printf("Line needed: %s %.1f m\n", plan->rig.rope[r].name, plan->line_needed_m[r]);
}

void rv_plan_text_print(const struct rv_plan *plan, enum rv_force_unit unit)
{
	struct page page = {.plan = plan, .unit = unit};

	printf("%s%s%s\n\n", plan->rig.name, plan->rig.name[0] ? ": " : "",
	       plan->rig.haul_out ? "paying out under load" : "hauling in");
	print_winches(&page);
	print_drums(&page);
	print_loads(&page);
	print_additive(&page);
	print_ratios(&page);
	for (size_t i = 0; i < sizeof sections / sizeof sections[0]; i++)
		if (!is_empty(plan, &sections[i]))
			print_section(&page, &sections[i]);
	print_not_rated(plan);
	print_lines(plan);
	rv_plan_notes_print(plan, stdout);
	printf(
	    "\nreeve advises. It is no safety device and no load limiter. Ranges are over the\n"
	    "declared efficiencies only; shock, wear and bad ground are not in these numbers.\n");
}
