/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/plan_reach.h"

#include <dirent.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/plan_drum.h"
#include "core/suggest_json.h"
#include "tools/cmd.h"
#include "tools/plan_notes.h"
#include "tools/plan_say.h"
#include "tools/rig_file.h"
#include "tools/table.h"

enum { WORD = 48, INDENT = 2, WIDTH = 80 };

struct tried {
	const char *file; /* of the folder's list */
	struct rv_suggest reach;
};

struct search {
	const struct rv_plan_reach *asked;
	struct rv_rig *hand, *pattern;
	struct dirent **entry;
	int files;
	struct tried *tried;
};

static int is_rig(const struct dirent *entry)
{
	size_t len = strlen(entry->d_name);

	return len > 5 && strcmp(entry->d_name + len - 5, ".yaml") == 0;
}

/* A file that cannot be read does not do; the rest of the library still may. */
static enum rv_err try_file(struct search *search, int i, struct rv_error *error)
{
	struct tried *tried = &search->tried[i];
	struct rv_error why = {0};
	char path[4096];

	tried->file = search->entry[i]->d_name;
	int len =
	    snprintf(path, sizeof path, "%s/%s", search->asked->folder, search->entry[i]->d_name);
	if (len >= (int)sizeof path)
		return rv_err_set(error, RV_ERR_RANGE, "the path is too long");
	if (rv_rig_file_read(path, search->pattern, &why) == RV_OK)
		return rv_suggest_try(search->pattern, search->hand, search->asked->resists_n,
				      &tried->reach, error);
	snprintf(tried->reach.code, sizeof tried->reach.code, "%s",
		 why.tag[0] ? why.tag : "unreadable");
	snprintf(tried->reach.why, sizeof tried->reach.why, "line %d: %.250s", why.line, why.text);
	return RV_OK;
}

/* Of those that do not do: what would have to carry least beyond its limit; those without a plan
 * last. */
static int compare_misses(const struct rv_suggest *a, const struct rv_suggest *b)
{
	bool has_a = a->plan && !isnan(a->use_ratio), has_b = b->plan && !isnan(b->use_ratio);

	if (has_a != has_b)
		return has_a ? -1 : 1;
	if (!has_a || a->does || fabs(a->use_ratio - b->use_ratio) < 1e-9)
		return 0;
	return a->use_ratio < b->use_ratio ? -1 : 1;
}

static int compare(const void *a, const void *b)
{
	const struct tried *one = a, *two = b;
	int order = rv_suggest_compare(&one->reach, &two->reach);

	if (order == 0)
		order = compare_misses(&one->reach, &two->reach);
	return order ? order : strcmp(one->file, two->file);
}

/* ---- for people ---- */

static const char *force(const struct search *search, double force_n, char word[WORD])
{
	enum rv_force_unit unit = search->asked->unit;

	if (isnan(force_n))
		snprintf(word, WORD, "?");
	else
		snprintf(word, WORD, "%.*f", rv_units_force_places(unit),
			 force_n / rv_units_force_n(unit));
	return word;
}

static void add_row(const struct search *search, int i, struct rv_table *table)
{
	const struct rv_suggest *reach = &search->tried[i].reach;
	const struct rv_plan *plan = reach->plan;
	char word[WORD];

	rv_table_add(table, "%d", i + 1);
	rv_table_add(table, "%s", reach->rig);
	rv_table_add(table, "%s", force(search, reach->pull_n, word));
	rv_table_add(table, "%s", force(search, reach->rated_n, word));
	rv_table_add(table, "%.0f %%", 100.0 * reach->use_ratio);
	rv_table_add(table, "%.0f", plan->line_needed_m[rv_plan_drum_rope(&plan->rig, 0)]);
	rv_table_add(table, "%.2f", plan->velocity_ratio);
	rv_table_add(table, reach->gear.missing ? "%d" : "-", reach->gear.missing);
}

static void add_piece(const struct search *search, const struct rv_suggest *reach,
		      const struct rv_suggest_piece *piece, struct rv_text *text)
{
	const struct rv_rig *rig = &reach->plan->rig;
	char word[WORD];

	rv_text_add(text, "%s%s %s", text->len ? ", " : "", rv_suggest_gear_kind(rig, piece),
		    piece->hand[0] ? piece->hand : rv_suggest_gear_name(rig, piece));
	if (piece->sheaves > 1)
		rv_text_add(text, " (%d sheaves)", piece->sheaves);
	rv_text_add(text, " for %s", force(search, piece->carries_n, word));
}

static void print_pieces(const struct search *search, const struct rv_suggest *reach, bool at_hand,
			 const char *head)
{
	struct rv_text text = {0};

	for (int i = 0; i < reach->gear.pieces; i++)
		if ((reach->gear.piece[i].hand[0] != '\0') == at_hand)
			add_piece(search, reach, &reach->gear.piece[i], &text);
	if (text.data)
		rv_plan_notes_wrap(head, text.data, 3 * INDENT, stdout);
	rv_text_free(&text);
}

static bool is_piece(const struct rv_suggest *reach, const struct rv_component *component)
{
	for (int i = 0; i < reach->gear.pieces; i++) {
		const struct rv_suggest_piece *piece = &reach->gear.piece[i];

		if (!piece->hand[0] &&
		    strcmp(rv_suggest_gear_name(&reach->plan->rig, piece), component->name) == 0)
			return true;
	}
	return false;
}

/* What carries load and has no limit, besides what is to be found. */
static void print_not_rated(const struct rv_suggest *reach)
{
	struct rv_text text = {0};

	for (int i = 0; i < reach->plan->components; i++) {
		const struct rv_component *component = &reach->plan->component[i];

		if (isnan(component->limit_n) && !is_piece(reach, component))
			rv_text_add(&text, "%s%s %s", text.len ? ", " : "", component->kind,
				    component->name);
	}
	if (text.data)
		rv_plan_notes_wrap("    not rated, not watched: ", text.data, 3 * INDENT, stdout);
	rv_text_free(&text);
}

static void print_most_used(const struct search *search, const struct rv_suggest *reach)
{
	struct rv_text text = {0};
	int layer = reach->plan->winch[0].drum.layer;
	char word[WORD];

	rv_text_add(&text, "%s, %.0f %%", reach->weakest, 100.0 * reach->use_ratio);
	if (layer > 0)
		rv_text_add(&text, "; on layer %d the winch pulls %s", layer,
			    force(search, reach->rated_n, word));
	rv_text_add(&text, "; %d block%s", reach->gear.blocks, reach->gear.blocks == 1 ? "" : "s");
	if (text.data)
		rv_plan_notes_wrap("    most used: ", text.data, 3 * INDENT, stdout);
	rv_text_free(&text);
}

static void print_takes(const struct search *search, int does)
{
	const char *unit = rv_units_force_name(search->asked->unit);

	printf("\nWhat each takes, and the most each piece carries (%s)\n", unit);
	for (int i = 0; i < does; i++) {
		printf("  %d %s\n", i + 1, search->tried[i].file);
		print_most_used(search, &search->tried[i].reach);
		print_pieces(search, &search->tried[i].reach, true, "    at hand: ");
		print_pieces(search, &search->tried[i].reach, false,
			     "    to find, not rated here: ");
		print_not_rated(&search->tried[i].reach);
	}
}

static void print_rest(const struct search *search, int does)
{
	for (int i = does; i < search->files; i++) {
		const struct rv_suggest *reach = &search->tried[i].reach;
		char head[300], why[600];
		int len = snprintf(why, sizeof why, "%s", reach->why);

		if (i == does)
			printf("\nDo not do, the nearest first\n");
		if (reach->plan && reach->use_ratio > 1.0 &&
		    strcmp(reach->code, "over_limit") != 0 &&
		    (strcmp(reach->code, "line_short") == 0 ||
		     strcmp(reach->weakest, reach->plan->rig.winch[0].name) != 0))
			snprintf(why + len, sizeof why - (size_t)len, "; most used: %s, %.0f %%",
				 reach->weakest, 100.0 * reach->use_ratio);
		snprintf(head, sizeof head, "  %s: ", search->tried[i].file);
		rv_plan_notes_wrap(head, why, 2 * INDENT, stdout);
	}
}

static void print_search(const struct search *search, int does)
{
	const char *unit = rv_units_force_name(search->asked->unit);
	const struct rv_winch *winch = &search->hand->winch[0];
	char resists[WORD], rated[WORD];
	struct rv_table table;

	printf("%s pulls %s %s on layer 1, load resists %s %s: %d of %d rigs do\n", winch->name,
	       force(search, winch->rated_n, rated), unit,
	       force(search, search->asked->resists_n, resists), unit, does, search->files);
	if (does > 0) {
		printf("\nBest first: nothing to find, a fifth of limits left, quickest (in %s)\n",
		       unit);
		rv_table_init(&table, ">|rig|>line pull|>may be|>use|>line m|>line/m|>to find");
		for (int i = 0; i < does; i++)
			add_row(search, i, &table);
		rv_table_fit(&table, WIDTH - INDENT);
		rv_table_print(&table, INDENT, stdout);
		rv_table_free(&table);
		print_takes(search, does);
	}
	print_rest(search, does);
	printf("\nline m: line needed, with the turns that stay on the drum.  line/m: metres\n"
	       "of line for a metre of travel, so how many times as long as a straight pull.\n"
	       "reeve advises. It is no safety device and no load limiter. What is to be\n"
	       "found has no limit here: choose it for what it carries, then plan that rig.\n");
}

static void print_search_json(const struct search *search, int does)
{
	json_t *good = json_array(), *bad = json_array();

	for (int i = 0; i < search->files; i++) {
		const struct tried *tried = &search->tried[i];

		if (i < does)
			json_array_append_new(good,
					      rv_suggest_json_does(tried->file, &tried->reach));
		else
			json_array_append_new(
			    bad, rv_suggest_json_does_not(
				     tried->file, tried->reach.rig[0] ? tried->reach.rig : NULL,
				     tried->reach.code, tried->reach.why));
	}
	rv_plan_say_json(rv_suggest_json(search->hand, search->asked->resists_n, good, bad));
}

/* ---- the search ---- */

static enum rv_err list_folder(struct search *search, struct rv_error *error)
{
	int files = scandir(search->asked->folder, &search->entry, is_rig, alphasort);

	if (files < 0)
		return rv_err_set(error, RV_ERR_SYSTEM, "cannot read it: %m");
	search->files = files;
	if (files == 0)
		return rv_err_refuse(error, "library_empty", "it holds no rig file (*.yaml)");
	search->tried = calloc((size_t)files, sizeof *search->tried);
	return search->tried ? RV_OK : rv_err_set(error, RV_ERR_NOMEM, "no memory");
}

static enum rv_err try_all(struct search *search, struct rv_error *error)
{
	enum rv_err err = list_folder(search, error);

	for (int i = 0; i < search->files && err == RV_OK; i++)
		err = try_file(search, i, error);
	if (err == RV_OK)
		qsort(search->tried, (size_t)search->files, sizeof *search->tried, compare);
	return err;
}

static int answer(const struct search *search)
{
	int does = 0;

	while (does < search->files && search->tried[does].reach.does)
		does++;
	if (search->asked->json)
		print_search_json(search, does);
	else
		print_search(search, does);
	return fflush(stdout) == 0 ? RV_EXIT_DONE : RV_EXIT_REFUSED;
}

static void release(struct search *search)
{
	for (int i = 0; i < search->files; i++) {
		if (search->tried)
			rv_suggest_free(&search->tried[i].reach);
		free(search->entry[i]);
	}
	free(search->tried);
	free(search->entry);
	free(search->hand);
	free(search->pattern);
}

int rv_plan_reach(const struct rv_plan_reach *asked)
{
	struct search search = {.asked = asked,
				.hand = calloc(1, sizeof *search.hand),
				.pattern = calloc(1, sizeof *search.pattern)};
	const char *culprit = asked->hand_file;
	struct rv_error error = {0};
	enum rv_err err = search.hand && search.pattern
			      ? rv_rig_file_read_gear(asked->hand_file, search.hand, &error)
			      : rv_err_set(&error, RV_ERR_NOMEM, "no memory");

	if (err == RV_OK)
		err = rv_suggest_check(search.hand, &error);
	if (err == RV_OK) {
		culprit = asked->folder;
		err = try_all(&search, &error);
	}
	int exit_code =
	    err == RV_OK ? answer(&search) : rv_plan_say_refused(culprit, &error, asked->json);
	release(&search);
	return exit_code;
}
