/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/plan_summary.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "core/plan.h"
#include "core/plan_drum.h"
#include "tools/plan_notes.h"
#include "tools/plan_word.h"

enum { INDENT = 14, WORD = RV_PLAN_WORD };

struct summary {
	const struct rv_plan *plan;
	enum rv_force_unit unit;
	const char *unit_name;
	FILE *to;
	char item[640]; /* the one under way; names are bounded, and so is this */
};

static void add(struct summary *summary, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static void add(struct summary *summary, const char *format, ...)
{
	size_t len = strlen(summary->item);
	va_list args;

	va_start(args, format);
	vsnprintf(summary->item + len, sizeof summary->item - len, format, args);
	va_end(args);
}

/* Prints the item under that head ("" = goes with the one before) and begins another. */
static void put(struct summary *summary, const char *head)
{
	char words[32];

	snprintf(words, sizeof words, "  %-*s", INDENT - 2, head);
	rv_plan_notes_wrap(words, summary->item, INDENT, summary->to);
	summary->item[0] = '\0';
}

static const char *force(const struct summary *summary, double force_n, char word[WORD])
{
	return rv_plan_word_force(summary->unit, force_n, word);
}

static void put_winches(struct summary *s)
{
	char pull[WORD], span[WORD], rated[WORD];

	for (int w = 0; w < s->plan->rig.winches; w++) {
		const struct rv_plan_winch *winch = &s->plan->winch[w];

		add(s, "%s %s", force(s, winch->line_pull.nominal_n, pull), s->unit_name);
		if (rv_plan_word_range(s->unit, winch->line_pull, span)[0])
			add(s, " (%s)", span);
		add(s, " at %s", s->plan->rig.winch[w].name);
		if (!isnan(s->plan->rig.winch[w].rated_n))
			add(s, ", rated %s %s", force(s, s->plan->rig.winch[w].rated_n, rated),
			    s->unit_name);
		put(s, "line pull");
		if (isnan(winch->at_low_n) && isnan(winch->at_high_n))
			continue;
		add(s, "%s to %s %s over the range of the load", force(s, winch->at_low_n, pull),
		    force(s, winch->at_high_n, rated), s->unit_name);
		put(s, "");
	}
}

static void put_drums(struct summary *s)
{
	char rated[WORD];

	for (int w = 0; w < s->plan->rig.winches; w++) {
		const struct rv_plan_drum *drum = &s->plan->winch[w].drum;

		if (s->plan->rig.winch[w].is_vehicle || isnan(drum->on_drum_m))
			continue;
		add(s, "%.1f m on %s", drum->on_drum_m, s->plan->rig.winch[w].name);
		if (drum->layer > 0)
			add(s, ", layer %d", drum->layer);
		if (!isnan(drum->rated_n))
			add(s, ": it pulls %s %s there", force(s, drum->rated_n, rated),
			    s->unit_name);
		if (drum->left_m >= 0.0)
			add(s, "; %.1f m more could go out", drum->left_m);
		else
			add(s, "; %.1f m too little line", -drum->left_m);
		put(s, "drum");
	}
}

/* A share of the load's weight, in per cent. */
static void add_share(struct summary *s, const char *name, struct rv_range share)
{
	if (!(share.high > 0.0)) /* not named */
		return;
	add(s, ", %s %.3g", name, 100.0 * share.low);
	if (share.high > share.low)
		add(s, " to %.3g", 100.0 * share.high);
	add(s, " %% of weight");
}

/* Where the load's resistance comes from, unless another was given. */
static void put_mass(struct summary *s, int b)
{
	const struct rv_load *declared = &s->plan->rig.load[b];
	double middle_n = declared->resists_n.middle;

	if (isnan(declared->mass_kg) ||
	    fabs(s->plan->load[b].resists_n - middle_n) > 1e-9 * fabs(middle_n))
		return;
	add(s, "from %.7g kg", declared->mass_kg);
	if (fabs(declared->slope_deg) > 0.0)
		add(s, ", slope %.3g degrees", declared->slope_deg);
	add_share(s, "rolling", declared->rolling_ratio);
	add_share(s, "mire", declared->mire_ratio);
	add(s, ", all as declared: rules of thumb");
	put(s, "");
}

static void put_load(struct summary *s, int b)
{
	const struct rv_plan_load *load = &s->plan->load[b];
	const struct rv_load *declared = &s->plan->rig.load[b];
	char resists[WORD], low[WORD], high[WORD], side[WORD];

	add(s, "%s %s", force(s, load->resists_n, resists), s->unit_name);
	if (!isnan(load->low_n))
		add(s, " (%s to %s)", force(s, load->low_n, low), force(s, load->high_n, high));
	add(s, " held by %s", declared->name);
	if (strtod(force(s, load->side_n, side), NULL) > 0.0)
		add(s, ", pushed aside with %s %s", side, s->unit_name);
	put(s, "load");
	put_mass(s, b);
	if (!isnan(load->low_n)) {
		add(s, "all else is for %s %s; for its most add --resist '%s=%s%s'", resists,
		    s->unit_name, declared->name, high, s->unit_name);
		put(s, "");
	}
}

static void put_additive(struct summary *s)
{
	const struct rv_plan_additive *additive = &s->plan->additive;
	char pull[WORD];

	if (isnan(additive->line_pull_n))
		return;
	add(s,
	    "%s %s line pull by the additive rule of thumb: 10 %% of what the load resists for "
	    "each of %d sheave%s, shared by the parts (US Army, US Navy)",
	    force(s, additive->line_pull_n, pull), s->unit_name, additive->sheaves,
	    additive->sheaves == 1 ? "" : "s");
	put(s, "compare");
}

static void put_ratios(struct summary *s)
{
	const struct rv_plan *plan = s->plan;
	char theoretical[WORD], expected[WORD], low[WORD], high[WORD], limit[WORD];

	if (!rv_plan_is_single(plan))
		return;
	add(s, "theoretical %s, expected %s",
	    rv_plan_word_ratio(plan->advantage.theoretical_ratio, theoretical),
	    rv_plan_word_ratio(plan->advantage.expected_ratio, expected));
	rv_plan_word_ratio(plan->advantage.low_ratio, low);
	rv_plan_word_ratio(plan->advantage.high_ratio, high);
	if (strcmp(low, high) != 0)
		add(s, " (%s to %s)", low, high);
	put(s, "advantage");
	if (plan->rig.winch[0].is_vehicle)
		add(s, "%.2f m for each metre that %s drives", 1.0 / plan->velocity_ratio,
		    plan->rig.winch[0].name);
	else
		add(s, "%.2f m of line for each metre of travel", plan->velocity_ratio);
	put(s, plan->rig.winch[0].is_vehicle ? "load goes" : "line speed");
	if (plan->weakest < 0 || isnan(plan->line_pull_limit_n))
		return;
	add(s, "a line pull of %s %s brings %s to its limit",
	    force(s, plan->line_pull_limit_n, limit), s->unit_name,
	    plan->component[plan->weakest].name);
	put(s, "limit");
}

void rv_plan_summary_print(const struct rv_plan *plan, enum rv_force_unit unit, FILE *to)
{
	struct summary summary = {plan, unit, rv_units_force_name(unit), to, ""};

	put_winches(&summary);
	put_drums(&summary);
	for (int b = 0; b < plan->rig.loads; b++)
		put_load(&summary, b);
	put_additive(&summary);
	put_ratios(&summary);
}

/* Turns that must stay on a drum count into the line needed. */
static double wraps_of(const struct rv_plan *plan, int rope)
{
	for (int w = 0; w < plan->rig.winches; w++)
		if (rv_plan_drum_rope(&plan->rig, w) == rope &&
		    !isnan(plan->rig.winch[w].drum_diameter_m))
			return plan->rig.winch[w].wraps_left;
	return 0.0;
}

void rv_plan_summary_lines(const struct rv_plan *plan, FILE *to)
{
	for (int r = 0; r < plan->rig.ropes; r++) {
		const struct rv_rope *rope = &plan->rig.rope[r];
		double left_m = rope->length_m - plan->line_needed_m[r];
		double wraps = wraps_of(plan, r);
		struct summary line = {.plan = plan};

		add(&line, "%s %.1f m", rope->name, plan->line_needed_m[r]);
		if (wraps > 0.0)
			add(&line, " with the %.0f turns that stay on the drum", wraps);
		if (!isnan(rope->length_m))
			add(&line, "; %.1f m %s of its %.1f m", fabs(left_m),
			    left_m >= 0.0 ? "left" : "missing", rope->length_m);
		rv_plan_notes_wrap("Line needed: ", line.item, 2, to);
	}
}
