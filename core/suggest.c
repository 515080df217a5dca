/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/suggest.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/plan_drum.h"
#include "core/pose.h"

enum rv_err rv_suggest_check(const struct rv_rig *hand, struct rv_error *error)
{
	if (hand->winches != 1)
		return rv_err_refuse(error, "winches",
				     "the rig at hand has %d winches; one is reckoned with",
				     hand->winches);
	if (isnan(hand->winch[0].rated_n))
		return rv_err_refuse(error, "winch_unrated",
				     "winch %s has no rating; say what it pulls: rated",
				     hand->winch[0].name);
	if (rv_plan_drum_rope(hand, 0) < 0)
		return rv_err_refuse(error, "winch_unused", "winch %s has no line",
				     hand->winch[0].name);
	return RV_OK;
}

static bool is_winch_on_load(const struct rv_rig *rig)
{
	return rig->point[rig->winch[0].point].kind == RV_POINT_WITH_LOAD;
}

/* From the winch to the farthest point of the load, or of the ground when it stands on the load; 0
 * where there is none. */
static double reach_m(const struct rv_rig *rig)
{
	enum rv_point_kind far = is_winch_on_load(rig) ? RV_POINT_FIXED : RV_POINT_WITH_LOAD;
	const double *from_m = rig->point[rig->winch[0].point].at_m;
	double most_m = 0.0;

	for (int p = 0; p < rig->points; p++) {
		double apart[RV_DIM];

		for (int i = 0; i < RV_DIM; i++)
			apart[i] = rig->point[p].at_m[i] - from_m[i];
		if (rig->point[p].kind == far)
			most_m = fmax(most_m, rv_pose_size(apart));
	}
	return most_m;
}

/* Draws the pattern to another size; all angles stay. */
static void draw_to(struct rv_rig *rig, double to_m)
{
	double from_m = reach_m(rig);
	int winch_rope = rv_plan_drum_rope(rig, 0);

	if (!(from_m > 0.0) || !(to_m > 0.0))
		return;
	for (int p = 0; p < rig->points; p++)
		for (int i = 0; i < RV_DIM; i++)
			rig->point[p].at_m[i] *= to_m / from_m;
	for (int b = 0; b < rig->blocks; b++)
		rig->block[b].hangs_m *= to_m / from_m;
	for (int r = 0; r < rig->ropes; r++)
		if (r != winch_rope)
			rig->rope[r].length_m *= to_m / from_m;
}

static void set_resists(struct rv_rig *rig, double resists_n)
{
	struct rv_load *load = &rig->load[0];

	load->resists_n = (struct rv_range){resists_n, resists_n, resists_n};
	load->mass_kg = load->slope_deg = (double)NAN;
	rig->cells = 0;
	rig->winch[0].line_pull_n = (double)NAN;
}

static void say(struct rv_suggest *reach, const char *code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* The first reason stays. */
static void say(struct rv_suggest *reach, const char *code, const char *format, ...)
{
	va_list args;

	if (reach->code[0])
		return;
	reach->does = false;
	snprintf(reach->code, sizeof reach->code, "%s", code);
	va_start(args, format);
	vsnprintf(reach->why, sizeof reach->why, format, args);
	va_end(args);
}

static bool is_hung(const struct rv_rig *rig)
{
	return rig->load[0].character == RV_LOAD_HUNG;
}

/* Patterns that are for something else. */
static void check_pattern(const struct rv_rig *pattern, const struct rv_rig *hand,
			  struct rv_suggest *reach)
{
	if (pattern->winches != 1 || pattern->loads != 1)
		say(reach, "not_single", "it is not for one winch and one load");
	else if (pattern->haul_out)
		say(reach, "pays_out", "it is for paying out");
	else if (rv_plan_drum_rope(pattern, 0) < 0)
		say(reach, "winch_unused", "its winch has no line");
	else if (is_winch_on_load(pattern) != is_winch_on_load(hand))
		say(reach, "winch_place", "its winch %s the load, the one at hand %s",
		    is_winch_on_load(pattern) ? "is on" : "stands off",
		    is_winch_on_load(hand) ? "is on it" : "is not");
	else if (hand->loads > 0 && is_hung(pattern) != is_hung(hand))
		say(reach, "load_character", "it is for a load that %s",
		    is_hung(pattern) ? "hangs" : "is drawn");
}

static void judge_winch(struct rv_suggest *reach)
{
	const struct rv_plan *plan = reach->plan;
	const struct rv_plan_drum *drum = &plan->winch[0].drum;

	reach->pull_n = plan->winch[0].line_pull.high_n;
	reach->rated_n = isnan(drum->rated_n) ? plan->rig.winch[0].rated_n : drum->rated_n;
	reach->use_ratio = reach->pull_n / reach->rated_n;
	snprintf(reach->weakest, sizeof reach->weakest, "%s", plan->rig.winch[0].name);
	if (drum->left_m < 0.0)
		say(reach, "line_short", "%.1f m of line are missing", -drum->left_m);
	if (reach->use_ratio > 1.0 && drum->layer > 1)
		say(reach, "pull_over_layer",
		    "the line pull is %.0f %% of what the winch pulls on layer %d of its drum",
		    100.0 * reach->use_ratio, drum->layer);
	else if (reach->use_ratio > 1.0)
		say(reach, "pull_over_rating", "the line pull is %.0f %% of what the winch pulls",
		    100.0 * reach->use_ratio);
}

static void judge_parts(struct rv_suggest *reach)
{
	static const char *const unfit[] = {"rope_not_taken", "groove", "hook_in_block"};
	const struct rv_plan *plan = reach->plan;
	int worst = plan->weakest_worst;

	if (worst >= 0 && plan->use_worst_ratio[worst] > reach->use_ratio) {
		reach->use_ratio = plan->use_worst_ratio[worst];
		memcpy(reach->weakest, plan->component[worst].name, sizeof reach->weakest);
	}
	if (worst >= 0 && plan->use_worst_ratio[worst] > 1.0)
		say(reach, "over_limit", "%s %s would carry %.0f %% of its limit",
		    plan->component[worst].kind, plan->component[worst].name,
		    100.0 * plan->use_worst_ratio[worst]);
	for (int i = 0; i < plan->notes; i++)
		for (size_t k = 0; k < sizeof unfit / sizeof unfit[0]; k++)
			if (strcmp(plan->note[i].code, unfit[k]) == 0)
				say(reach, unfit[k], "%s", plan->note[i].text);
}

static enum rv_err try_rig(struct rv_rig *rig, const struct rv_rig *hand, struct rv_suggest *reach,
			   struct rv_error *error)
{
	static const struct rv_plan_request nothing = {.travel_m = (double)NAN};
	struct rv_plan *loads = NULL;
	struct rv_error why = {0};
	enum rv_err err = rv_plan_new(rig, &nothing, &loads, &why);

	if (err == RV_OK) {
		rv_suggest_gear_serve(rig, hand, loads, &reach->gear);
		rv_plan_free(loads);
		err = rv_plan_new(rig, &nothing, &reach->plan, &why);
	}
	if (err == RV_ERR_NOMEM)
		return rv_err_set(error, err, "no memory for trying %s", reach->rig);
	if (err != RV_OK) {
		say(reach, why.tag[0] ? why.tag : "refused", "%s", why.text);
		return RV_OK;
	}
	rv_suggest_gear_loads(reach->plan, &reach->gear);
	judge_winch(reach);
	judge_parts(reach);
	return RV_OK;
}

enum rv_err rv_suggest_try(const struct rv_rig *pattern, const struct rv_rig *hand,
			   double resists_n, struct rv_suggest *reach, struct rv_error *error)
{
	struct rv_rig *rig = malloc(sizeof *rig);
	enum rv_err err = RV_OK;

	if (!rig)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for trying %s", pattern->name);
	memset(reach, 0, sizeof *reach);
	memcpy(reach->rig, pattern->name, sizeof reach->rig);
	reach->does = true;
	reach->pull_n = reach->rated_n = reach->use_ratio = (double)NAN;
	check_pattern(pattern, hand, reach);
	*rig = *pattern;
	if (reach->does) {
		set_resists(rig, resists_n);
		draw_to(rig, reach_m(hand));
		err = try_rig(rig, hand, reach, error);
	}
	free(rig);
	return err;
}

void rv_suggest_free(struct rv_suggest *reach)
{
	rv_plan_free(reach->plan);
	reach->plan = NULL;
}

static int order(double a, double b)
{
	return (a > b) - (a < b);
}

int rv_suggest_compare(const struct rv_suggest *a, const struct rv_suggest *b)
{
	if (a->does != b->does)
		return a->does ? -1 : 1;
	if (!a->does)
		return 0;
	int by[] = {
	    order(a->gear.missing > 0, b->gear.missing > 0),
	    order(a->use_ratio > RV_SUGGEST_EASY_RATIO, b->use_ratio > RV_SUGGEST_EASY_RATIO),
	    /* What differs by less than a part in a hundred is as quick. */
	    order(round(100.0 * a->plan->velocity_ratio), round(100.0 * b->plan->velocity_ratio)),
	    order(a->gear.blocks, b->gear.blocks),
	    order(a->use_ratio, b->use_ratio),
	};
	for (size_t i = 0; i < sizeof by / sizeof by[0]; i++)
		if (by[i] != 0)
			return by[i];
	return strcmp(a->rig, b->rig);
}
