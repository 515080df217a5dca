/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/card.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define NBSP "\u00a0"

static const struct rv_svg_type letter = {RV_CARD_LETTER, true, RV_SVG_START, NULL};

/* ---- words ---- */

enum rv_card_use rv_card_use(double use_worst_ratio)
{
	if (use_worst_ratio >= 1.0)
		return RV_CARD_OVER;
	return use_worst_ratio >= RV_CARD_NEAR_RATIO ? RV_CARD_NEAR : RV_CARD_BELOW;
}

void rv_card_force(double force_n, enum rv_force_unit unit, char *word, size_t size)
{
	int places = rv_units_force_places(unit);

	/* One place less than in tables: a drawing is looked at, not calculated from. */
	snprintf(word, size, "%.*f" NBSP "%s", places > 0 ? places - 1 : 0,
		 force_n / rv_units_force_n(unit), rv_units_force_name(unit));
}

void rv_card_load(const struct rv_cards *cards, double load_n, double use_ratio,
		  double use_worst_ratio, char *word, size_t size)
{
	static const char *const words[] = {"", " NEAR" NBSP "LIMIT", " OVER" NBSP "LIMIT"};
	char force[40], worst[40] = "";

	rv_card_force(load_n, cards->unit, force, sizeof force);
	if (isnan(use_ratio)) {
		snprintf(word, size, "%s, not" NBSP "rated", force);
		return;
	}
	if (lround(100.0 * use_worst_ratio) > lround(100.0 * use_ratio) + 1 ||
	    rv_card_use(use_worst_ratio) != rv_card_use(use_ratio))
		snprintf(worst, sizeof worst, " (at" NBSP "worst" NBSP "%.0f" NBSP "%%)",
			 100.0 * use_worst_ratio);
	snprintf(word, size, "%s, %.0f" NBSP "%%%s%s", force, 100.0 * use_ratio, worst,
		 words[rv_card_use(use_worst_ratio)]);
}

bool rv_card_is_per_leg(const struct rv_plan *plan, int component)
{
	int fitting = rv_rig_find_fitting(&plan->rig, plan->component[component].name);

	return fitting >= 0 && plan->rig.fitting[fitting].legs > 1 &&
	       strcmp(plan->rig.fitting[fitting].kind, plan->component[component].kind) == 0;
}

const char *rv_card_kind(const struct rv_plan *plan, int component, char *word, size_t size)
{
	snprintf(word, size, "%s%s", plan->component[component].kind,
		 rv_card_is_per_leg(plan, component) ? " leg" : "");
	return word;
}

static int component_of_line(const struct rv_plan *plan, int rope)
{
	for (int i = 0; i < plan->components; i++)
		if (strcmp(plan->component[i].kind, "line") == 0 &&
		    strcmp(plan->component[i].name, plan->rig.rope[rope].name) == 0)
			return i;
	return -1;
}

void rv_card_leg_use(const struct rv_plan *plan, int plan_leg, double *use_ratio,
		     double *use_worst_ratio)
{
	int part = component_of_line(plan, plan->leg[plan_leg].rope);
	double limit_n = part < 0 ? (double)NAN : plan->component[part].limit_n;

	*use_ratio = plan->tension[plan_leg].nominal_n / limit_n;
	*use_worst_ratio = plan->tension[plan_leg].high_n / limit_n;
}

int rv_card_weakest_leg(const struct rv_plan *plan)
{
	int largest = -1;

	if (plan->weakest < 0 || strcmp(plan->component[plan->weakest].kind, "line") != 0)
		return -1;
	for (int l = 0; l < plan->legs; l++)
		if (component_of_line(plan, plan->leg[l].rope) == plan->weakest &&
		    (largest < 0 || plan->tension[l].nominal_n > plan->tension[largest].nominal_n))
			largest = l;
	return largest;
}

/* ---- building cards ---- */

struct build {
	const struct rv_plan *plan;
	struct rv_cards *cards;
	enum rv_card_kind kind;
	int index;
	struct rv_card *card; /* the one that is added to; NULL = none yet */
	bool bold, failed;
};

static void start(struct build *build, enum rv_card_kind kind, int index)
{
	build->kind = kind;
	build->index = index;
	build->card = NULL;
}

static void add_line(void *context, const char *line)
{
	struct build *build = context;

	if (!build->card || build->card->lines == RV_CARD_LINES) {
		if (build->cards->count == RV_LABELS) {
			build->failed = true;
			return;
		}
		build->card = &build->cards->card[build->cards->count++];
		memset(build->card, 0, sizeof *build->card);
		build->card->kind = build->kind;
		build->card->index = build->index;
	}
	struct rv_card *card = build->card;
	card->bold[card->lines] = build->bold;
	snprintf(card->line[card->lines++], RV_CARD_BYTES, "%s", line);
}

static void add(struct build *build, bool bold, const char *words)
{
	build->bold = bold;
	(void)rv_svg_wrap(words, letter, RV_CARD_WIDTH, add_line, build);
}

static void add_weakest(struct build *build)
{
	add(build, true, "FIRST TO REACH ITS LIMIT:");
	if (build->card)
		build->card->is_weakest = true;
}

static void add_component(struct build *build, int i)
{
	const struct rv_component *part = &build->plan->component[i];
	bool told = strstr(part->name, part->kind) && !rv_card_is_per_leg(build->plan, i);
	char load[120], kind[RV_NAME_SIZE + 8], words[400];

	rv_card_load(build->cards, build->plan->carried[i].nominal_n, build->plan->use_ratio[i],
		     build->plan->use_worst_ratio[i], load, sizeof load);
	snprintf(words, sizeof words, "%s%s%s%s: %s", part->name, told ? "" : " (",
		 told ? "" : rv_card_kind(build->plan, i, kind, sizeof kind), told ? "" : ")",
		 load);
	if (i == build->plan->weakest)
		add_weakest(build);
	enum rv_card_use use = rv_card_use(build->plan->use_worst_ratio[i]);
	add(build, use == RV_CARD_OVER || i == build->plan->weakest, words);
	if (build->card && use > build->card->use)
		build->card->use = use;
}

/* ---- which place a component belongs to ---- */

/* A fitting belongs where the first thing it holds is. */
static int place_of_fitting(const struct rv_plan *plan, const struct rv_reeving *reeving,
			    int fitting)
{
	const struct rv_rig *rig = &plan->rig;
	struct rv_held held = {RV_HELD_FITTING, fitting};
	int leg = -1;

	for (int depth = 0; held.kind == RV_HELD_FITTING; depth++) {
		if (depth > rig->fittings || rig->fitting[held.index].count < 1)
			return -1;
		held = rig->fitting[held.index].holds[0];
	}
	if (held.kind == RV_HELD_POINT)
		return held.index;
	if (held.kind == RV_HELD_BLOCK)
		return rig->block[held.index].point;
	leg = rv_reeve_end_leg(rig, reeving, held.index);
	return leg < 0 ? -1 : reeving->leg[leg].b;
}

static bool is_named(const char *name, const char *head, const char *tail)
{
	size_t len = strlen(head);

	return strncmp(name, head, len) == 0 && strcmp(name + len, tail) == 0;
}

static int place_of_grab(const struct rv_plan *plan, const char *name)
{
	char tail[RV_NAME_SIZE + 8];

	for (int r = 0; r < plan->rig.ropes; r++)
		for (int p = 0; p < plan->rig.points; p++) {
			snprintf(tail, sizeof tail, " at %s", plan->rig.point[p].name);
			if (is_named(name, plan->rig.rope[r].name, tail))
				return p;
		}
	return -1;
}

int rv_card_place(const struct rv_plan *plan, const struct rv_reeving *reeving, int component)
{
	const struct rv_component *part = &plan->component[component];
	const struct rv_rig *rig = &plan->rig;

	if (strcmp(part->kind, "line") == 0)
		return -1;
	if (strcmp(part->kind, "point") == 0 || strcmp(part->kind, "joint") == 0)
		return rv_rig_find_point(rig, part->name);
	if (strcmp(part->kind, "grab") == 0)
		return place_of_grab(plan, part->name);
	int winch = rv_rig_find_winch(rig, part->name);
	if (strcmp(part->kind, "winch") == 0)
		return winch < 0 ? -1 : rig->winch[winch].point;
	int fitting = rv_rig_find_fitting(rig, part->name);
	if (fitting >= 0)
		return place_of_fitting(plan, reeving, fitting);
	for (int b = 0; b < rig->blocks; b++) {
		size_t len = strlen(rig->block[b].name);
		if (strncmp(part->name, rig->block[b].name, len) == 0 &&
		    (part->name[len] == '\0' || part->name[len] == ' '))
			return rig->block[b].point;
	}
	return -1;
}

/* ---- the cards ---- */

static bool is_place(const struct rv_component *part)
{
	return strcmp(part->kind, "point") == 0 || strcmp(part->kind, "joint") == 0;
}

static void add_point(struct build *build, const struct rv_scene *scene, int point)
{
	char words[200], force[40];

	start(build, RV_CARD_POINT, point);
	/* What is at the place first, then the place itself. */
	for (int pass = 0; pass < 2; pass++)
		for (int i = 0; i < build->plan->components; i++)
			if (is_place(&build->plan->component[i]) == (pass == 1) &&
			    rv_card_place(build->plan, &scene->reeving, i) == point)
				add_component(build, i);
	if (build->plan->rig.point[point].weight_n > 0.0) {
		rv_card_force(build->plan->rig.point[point].weight_n, build->cards->unit, force,
			      sizeof force);
		snprintf(words, sizeof words, "weight %s hangs at %s", force,
			 build->plan->rig.point[point].name);
		add(build, false, words);
	}
}

static void add_load(struct build *build, int b)
{
	const struct rv_plan_load *load = &build->plan->load[b];
	const char *name = build->plan->rig.load[b].name;
	char words[200], force[40], low[40], high[40];

	start(build, RV_CARD_LOAD, b);
	rv_card_force(load->resists_n, build->cards->unit, force, sizeof force);
	snprintf(words, sizeof words, "%s: resists %s", name, force);
	add(build, true, words);
	if (!isnan(load->low_n)) {
		rv_card_force(load->low_n, build->cards->unit, low, sizeof low);
		rv_card_force(load->high_n, build->cards->unit, high, sizeof high);
		snprintf(words, sizeof words, "given as %s to %s", low, high);
		add(build, false, words);
	}
	if (load->side_n > RV_PLAN_SIDE_RATIO * load->resists_n) {
		rv_card_force(load->side_n, build->cards->unit, force, sizeof force);
		snprintf(words, sizeof words, "pushed aside with %s", force);
		add(build, false, words);
	}
}

static void add_leg(struct build *build, const struct rv_scene *scene, int leg)
{
	const struct rv_plan *plan = build->plan;
	int told = rv_scene_plan_leg(plan, &scene->reeving.leg[leg]);
	double use_ratio, worst_ratio;
	char words[300], load[120];

	if (told < 0)
		return;
	start(build, RV_CARD_LEG, leg);
	rv_card_leg_use(plan, told, &use_ratio, &worst_ratio);
	rv_card_load(build->cards, plan->tension[told].nominal_n, use_ratio, worst_ratio, load,
		     sizeof load);
	snprintf(words, sizeof words, "%s, part" NBSP "%d: %s",
		 plan->rig.rope[plan->leg[told].rope].name, plan->leg[told].leg, load);
	if (told == rv_card_weakest_leg(plan))
		add_weakest(build);
	enum rv_card_use use = rv_card_use(worst_ratio);
	add(build, use == RV_CARD_OVER || told == rv_card_weakest_leg(plan), words);
	if (build->card)
		build->card->use = use;
}

static void add_bight(struct build *build, int pass)
{
	start(build, RV_CARD_BIGHT, pass);
	add(build, false, "bight: stay out");
}

enum rv_err rv_card_write(const struct rv_plan *plan, const struct rv_scene *scene,
			  enum rv_force_unit unit, struct rv_cards *cards, struct rv_error *error)
{
	struct build build = {.plan = plan, .cards = cards};

	cards->unit = unit;
	cards->count = 0;
	for (int p = 0; p < plan->rig.points; p++)
		add_point(&build, scene, p);
	for (int b = 0; b < plan->rig.loads; b++)
		add_load(&build, b);
	for (int l = 0; l < scene->reeving.legs; l++)
		add_leg(&build, scene, l);
	for (int p = 0; p < scene->reeving.passes; p++)
		if (scene->has_bight[p])
			add_bight(&build, p);
	if (build.failed)
		return rv_err_set(error, RV_ERR_RANGE,
				  "the rig has too many parts to label in one drawing; %d labels "
				  "fit",
				  RV_LABELS);
	return RV_OK;
}

double rv_card_width(const struct rv_card *card)
{
	double width = 0.0;

	for (int i = 0; i < card->lines; i++)
		width = fmax(width, rv_svg_width(card->line[i], RV_CARD_LETTER, card->bold[i]));
	return width + 2.0 * RV_CARD_PAD;
}

double rv_card_height(const struct rv_card *card)
{
	return RV_CARD_LINE_STEP * card->lines + 2.0 * RV_CARD_PAD;
}
