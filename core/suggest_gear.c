/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/suggest_gear.h"

#include <math.h>
#include <string.h>

#include "core/plan_drum.h"

static const struct rv_rating unrated = {(double)NAN, (double)NAN, (double)NAN, false};

const char *rv_suggest_gear_name(const struct rv_rig *rig, const struct rv_suggest_piece *piece)
{
	switch (piece->class) {
	case RV_SUGGEST_BLOCK:
		return rig->block[piece->index].name;
	case RV_SUGGEST_LINE:
		return rig->rope[piece->index].name;
	case RV_SUGGEST_FITTING:
		return rig->fitting[piece->index].name;
	case RV_SUGGEST_ANCHOR:
	case RV_SUGGEST_LOAD_POINT:
		break;
	}
	return rig->point[piece->index].name;
}

const char *rv_suggest_gear_kind(const struct rv_rig *rig, const struct rv_suggest_piece *piece)
{
	switch (piece->class) {
	case RV_SUGGEST_BLOCK:
		return "block";
	case RV_SUGGEST_LINE:
		return "line";
	case RV_SUGGEST_FITTING:
		return rig->fitting[piece->index].kind;
	case RV_SUGGEST_ANCHOR:
	case RV_SUGGEST_LOAD_POINT:
		break;
	}
	return "point";
}

static double carried_n(const struct rv_plan *plan, const struct rv_rig *rig,
			const struct rv_suggest_piece *piece)
{
	for (int i = 0; i < plan->components; i++)
		if (strcmp(plan->component[i].name, rv_suggest_gear_name(rig, piece)) == 0 &&
		    strcmp(plan->component[i].kind, rv_suggest_gear_kind(rig, piece)) == 0)
			return plan->carried[i].high_n;
	return (double)NAN;
}

/* ---- what the rig takes ---- */

static void add(struct rv_suggest_gear *gear, enum rv_suggest_class class, int index, int sheaves)
{
	if (gear->pieces < RV_SUGGEST_PIECES)
		gear->piece[gear->pieces++] =
		    (struct rv_suggest_piece){class, index, "", sheaves, (double)NAN};
}

static bool is_touched(const struct rv_rig *rig, int point)
{
	for (int r = 0; r < rig->ropes; r++)
		for (int s = 0; s < rig->rope[r].steps; s++)
			if (rv_rig_step_point(rig, &rig->rope[r].path[s]) == point)
				return true;
	return false;
}

static int sheaves_run(const struct rv_rig *rig, int block)
{
	int most = 0;

	for (int r = 0; r < rig->ropes; r++)
		for (int s = 0; s < rig->rope[r].steps; s++) {
			const struct rv_step *step = &rig->rope[r].path[s];

			if (step->kind == RV_STEP_BLOCK && step->index == block &&
			    step->sheave >= most)
				most = step->sheave + 1;
		}
	return most;
}

static void list(const struct rv_rig *rig, struct rv_suggest_gear *gear)
{
	int winch_rope = rv_plan_drum_rope(rig, 0), winch_point = rig->winch[0].point;

	for (int b = 0; b < rig->blocks; b++)
		add(gear, RV_SUGGEST_BLOCK, b, sheaves_run(rig, b));
	for (int r = 0; r < rig->ropes; r++)
		if (r != winch_rope)
			add(gear, RV_SUGGEST_LINE, r, 0);
	for (int p = 0; p < rig->points; p++)
		if (p != winch_point && is_touched(rig, p) && rig->point[p].kind != RV_POINT_FLOATS)
			add(gear,
			    rig->point[p].kind == RV_POINT_FIXED ? RV_SUGGEST_ANCHOR
								 : RV_SUGGEST_LOAD_POINT,
			    p, 0);
	for (int f = 0; f < rig->fittings; f++)
		add(gear, RV_SUGGEST_FITTING, f, 0);
}

/* ---- what is at hand ---- */

struct hand {
	const struct rv_rig *rig;
	bool used[RV_SUGGEST_FITTING + 1][RV_RIG_FITTINGS]; /* no section has more entries */
};

static int count_of(const struct rv_rig *rig, enum rv_suggest_class class)
{
	switch (class) {
	case RV_SUGGEST_BLOCK:
		return rig->blocks;
	case RV_SUGGEST_LINE:
		return rig->ropes;
	case RV_SUGGEST_FITTING:
		return rig->fittings;
	case RV_SUGGEST_ANCHOR:
	case RV_SUGGEST_LOAD_POINT:
		break;
	}
	return rig->points;
}

static double limit_n(const struct rv_rig *rig, enum rv_suggest_class class, int i)
{
	struct rv_rating rating = rig->point[i].rating;

	if (class == RV_SUGGEST_BLOCK)
		rating = rig->block[i].rating;
	else if (class == RV_SUGGEST_LINE)
		rating = rig->rope[i].rating;
	else if (class == RV_SUGGEST_FITTING)
		rating = rig->fitting[i].rating;
	return rv_rig_limit_n(rating);
}

static bool suits(const struct rv_rig *rig, const struct rv_suggest_piece *piece,
		  const struct rv_rig *hand, int i)
{
	switch (piece->class) {
	case RV_SUGGEST_BLOCK:
		return hand->block[i].sheaves >= piece->sheaves &&
		       isnan(hand->block[i].bar_friction) ==
			   isnan(rig->block[piece->index].bar_friction);
	case RV_SUGGEST_LINE:
		return i != rv_plan_drum_rope(hand, 0);
	case RV_SUGGEST_FITTING:
		return strcmp(hand->fitting[i].kind, rig->fitting[piece->index].kind) == 0 &&
		       hand->fitting[i].legs == rig->fitting[piece->index].legs;
	case RV_SUGGEST_ANCHOR:
		return i != hand->winch[0].point && hand->point[i].kind == RV_POINT_FIXED;
	case RV_SUGGEST_LOAD_POINT:
		break;
	}
	return i != hand->winch[0].point && hand->point[i].kind == RV_POINT_WITH_LOAD;
}

/* Fewer sheaves to spare first, then the higher limit; a piece without one comes last. */
static bool is_better(const struct rv_rig *hand, enum rv_suggest_class class, int i, int than)
{
	if (than < 0)
		return true;
	if (class == RV_SUGGEST_BLOCK && hand->block[i].sheaves != hand->block[than].sheaves)
		return hand->block[i].sheaves < hand->block[than].sheaves;
	double a = limit_n(hand, class, i), b = limit_n(hand, class, than);
	return !isnan(a) && (isnan(b) || a > b);
}

static int choose(const struct rv_rig *rig, const struct rv_suggest_piece *piece,
		  const struct hand *hand)
{
	int best = -1;

	for (int i = 0; i < count_of(hand->rig, piece->class); i++)
		if (!hand->used[piece->class][i] && suits(rig, piece, hand->rig, i) &&
		    is_better(hand->rig, piece->class, i, best))
			best = i;
	return best;
}

/* ---- putting it in ---- */

static bool is_free(const struct rv_rig *rig, const char *name)
{
	return rv_rig_find_point(rig, name) < 0 && rv_rig_find_block(rig, name) < 0 &&
	       rv_rig_find_winch(rig, name) < 0 && rv_rig_find_fitting(rig, name) < 0 &&
	       rv_rig_find_rope(rig, name) < 0;
}

static void rename_to(const struct rv_rig *rig, char *name, const char *to)
{
	if (is_free(rig, to))
		memcpy(name, to, RV_NAME_SIZE);
}

static void put_block(struct rv_rig *rig, int at, const struct rv_rig *hand, int from)
{
	struct rv_block *block = &rig->block[at];

	if (from < 0) {
		block->rating = unrated;
		block->becket_wll_n = (double)NAN;
		return;
	}
	struct rv_block put = hand->block[from];
	memcpy(put.name, block->name, sizeof put.name);
	put.point = block->point;
	put.hangs_m = block->hangs_m;
	put.turns = block->turns;
	put.wrap_deg = block->wrap_deg;
	*block = put;
	rename_to(rig, block->name, hand->block[from].name);
}

static void put_rope(struct rv_rig *rig, int at, const struct rv_rig *hand, int from)
{
	struct rv_rope *rope = &rig->rope[at];

	if (from < 0) {
		rope->rating = unrated;
		return;
	}
	const struct rv_rope *given = &hand->rope[from];
	rope->diameter_m = given->diameter_m;
	rope->stiffness_n = given->stiffness_n;
	rope->material = given->material;
	rope->terminal = given->terminal;
	rope->rating = given->rating;
	rename_to(rig, rope->name, given->name);
}

static void put_point(struct rv_rig *rig, int at, const struct rv_rig *hand, int from)
{
	rig->point[at].rating = from < 0 ? unrated : hand->point[from].rating;
	if (from >= 0)
		rename_to(rig, rig->point[at].name, hand->point[from].name);
}

static void put_fitting(struct rv_rig *rig, int at, const struct rv_rig *hand, int from)
{
	struct rv_fitting *fitting = &rig->fitting[at];

	fitting->rating = from < 0 ? unrated : hand->fitting[from].rating;
	if (from >= 0)
		rename_to(rig, fitting->name, hand->fitting[from].name);
}

static void serve(struct rv_rig *rig, struct rv_suggest_piece *piece, struct hand *hand)
{
	static void (*const put[])(struct rv_rig *, int, const struct rv_rig *, int) = {
	    [RV_SUGGEST_BLOCK] = put_block,	[RV_SUGGEST_LINE] = put_rope,
	    [RV_SUGGEST_ANCHOR] = put_point,	[RV_SUGGEST_LOAD_POINT] = put_point,
	    [RV_SUGGEST_FITTING] = put_fitting,
	};
	int from = choose(rig, piece, hand);
	struct rv_suggest_piece named = {.class = piece->class, .index = from};

	if (from >= 0) {
		hand->used[piece->class][from] = true;
		memcpy(piece->hand, rv_suggest_gear_name(hand->rig, &named), sizeof piece->hand);
	}
	put[piece->class](rig, piece->index, hand->rig, from);
}

/* The winch, what it stands on and its line are always those at hand. */
static void put_winch(struct rv_rig *rig, const struct rv_rig *hand)
{
	int rope = rv_plan_drum_rope(rig, 0), from = rv_plan_drum_rope(hand, 0);
	int point = rig->winch[0].point;

	rig->winch[0] = hand->winch[0];
	memcpy(rig->winch[0].name, "", 1);
	rename_to(rig, rig->winch[0].name, hand->winch[0].name);
	if (!rig->winch[0].name[0])
		memcpy(rig->winch[0].name, "winch at hand", sizeof "winch at hand");
	rig->winch[0].point = point;
	rig->winch[0].line_pull_n = (double)NAN;
	rig->point[point].rating = hand->point[hand->winch[0].point].rating;
	put_rope(rig, rope, hand, from);
	rig->rope[rope].length_m = hand->rope[from].length_m;
}

static bool goes_before(const struct rv_suggest_piece *a, const struct rv_suggest_piece *b)
{
	if (a->sheaves != b->sheaves)
		return a->sheaves > b->sheaves;
	return a->carries_n > b->carries_n;
}

void rv_suggest_gear_serve(struct rv_rig *rig, const struct rv_rig *hand,
			   const struct rv_plan *loads, struct rv_suggest_gear *gear)
{
	struct hand at_hand = {.rig = hand};
	bool served[RV_SUGGEST_PIECES] = {false};

	memset(gear, 0, sizeof *gear);
	list(rig, gear);
	for (int i = 0; i < gear->pieces; i++)
		gear->piece[i].carries_n = carried_n(loads, rig, &gear->piece[i]);
	put_winch(rig, hand);
	for (int done = 0; done < gear->pieces; done++) {
		int next = -1;

		for (int i = 0; i < gear->pieces; i++)
			if (!served[i] &&
			    (next < 0 || goes_before(&gear->piece[i], &gear->piece[next])))
				next = i;
		served[next] = true;
		serve(rig, &gear->piece[next], &at_hand);
		bool counts = gear->piece[next].class <= RV_SUGGEST_ANCHOR;
		gear->blocks += gear->piece[next].class == RV_SUGGEST_BLOCK;
		gear->missing += counts && !gear->piece[next].hand[0];
	}
}

void rv_suggest_gear_loads(const struct rv_plan *plan, struct rv_suggest_gear *gear)
{
	for (int i = 0; i < gear->pieces; i++)
		gear->piece[i].carries_n = carried_n(plan, &plan->rig, &gear->piece[i]);
}
