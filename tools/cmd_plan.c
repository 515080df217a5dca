/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve plan: what a rig is expected to do.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/plan_json.h"
#include "core/quantity.h"
#include "tools/cmd.h"
#include "tools/opts.h"
#include "tools/plan_draw.h"
#include "tools/plan_reach.h"
#include "tools/plan_say.h"
#include "tools/plan_text.h"
#include "tools/rig_file.h"

struct asked {
	const char *file;
	struct rv_opt_list line_pull, resist, cell;
	const char *travel;
	const char *reach, *winch; /* search a library instead */
	const char *svg, *schematic;
	bool json;
	enum rv_force_unit unit;
};

/* What the words on the command line mean, before the rig is known. */
struct force_asked {
	enum rv_given_kind kind;
	char name[RV_NAME_SIZE]; /* "" = the only one */
	double force_n;
};

struct wish {
	int forces;
	struct force_asked force[RV_GIVENS];
	double travel_m; /* NaN = none */
};

static int take_force(const char *option, enum rv_given_kind kind, const char *word,
		      struct wish *wish)
{
	const char *equals = strrchr(word, '=');
	struct rv_error error = {0};
	struct rv_amount amount;

	if (wish->forces == RV_GIVENS)
		return rv_plan_say_misused(option, "too many forces");
	struct force_asked *force = &wish->force[wish->forces++];
	force->kind = kind;
	size_t len = equals ? (size_t)(equals - word) : 0;
	if (len >= sizeof force->name || (equals && len == 0))
		return rv_plan_say_misused(option, "no such name");
	memcpy(force->name, word, len);
	if (kind == RV_GIVEN_CELL && !equals)
		return rv_plan_say_misused(option, "write NAME=FORCE");
	if (rv_quantity_read(equals ? equals + 1 : word, RV_MEASURE_FORCE, &amount, &error) !=
	    RV_OK)
		return rv_plan_say_misused(option, error.text);
	if (!(amount.value > 0.0))
		return rv_plan_say_misused(option, "the force must be above zero");
	force->force_n = amount.value;
	return RV_EXIT_DONE;
}

static int take_forces(const char *option, enum rv_given_kind kind, const struct rv_opt_list *list,
		       struct wish *wish)
{
	int exit_code = RV_EXIT_DONE;

	for (size_t i = 0; i < list->count && exit_code == RV_EXIT_DONE; i++)
		exit_code = take_force(option, kind, list->text[i], wish);
	return exit_code;
}

static int take_travel(const char *word, struct wish *wish)
{
	struct rv_error error = {0};
	struct rv_amount amount;

	wish->travel_m = (double)NAN;
	if (!word)
		return RV_EXIT_DONE;
	if (rv_quantity_read(word, RV_MEASURE_LENGTH, &amount, &error) != RV_OK)
		return rv_plan_say_misused("travel", error.text);
	if (!(amount.value > 0.0))
		return rv_plan_say_misused("travel", "the travel must be above zero");
	wish->travel_m = amount.value;
	return RV_EXIT_DONE;
}

static int take_wish(const struct asked *asked, struct wish *wish)
{
	int exit_code = take_forces("line-pull", RV_GIVEN_LINE_PULL, &asked->line_pull, wish);

	if (exit_code == RV_EXIT_DONE)
		exit_code = take_forces("resist", RV_GIVEN_RESISTS, &asked->resist, wish);
	if (exit_code == RV_EXIT_DONE)
		exit_code = take_forces("cell", RV_GIVEN_CELL, &asked->cell, wish);
	if (exit_code == RV_EXIT_DONE)
		exit_code = take_travel(asked->travel, wish);
	return exit_code;
}

static int find(const struct rv_rig *rig, const struct force_asked *force, const char **what)
{
	switch (force->kind) {
	case RV_GIVEN_LINE_PULL:
		*what = "winch";
		if (!force->name[0])
			return rig->winches == 1 ? 0 : -1;
		return rv_rig_find_winch(rig, force->name);
	case RV_GIVEN_RESISTS:
		*what = "load";
		if (!force->name[0])
			return rig->loads == 1 ? 0 : -1;
		return rv_rig_find_load(rig, force->name);
	case RV_GIVEN_CELL:
		break;
	}
	*what = "cell";
	return rv_rig_find_cell(rig, force->name);
}

static enum rv_err make_request(const struct rv_rig *rig, const struct wish *wish,
				struct rv_plan_request *request, struct rv_error *error)
{
	enum rv_err err = RV_OK;

	memset(request, 0, sizeof *request);
	request->travel_m = wish->travel_m;
	for (int i = 0; i < wish->forces && err == RV_OK; i++) {
		const struct force_asked *force = &wish->force[i];
		const char *what;
		int index = find(rig, force, &what);
		double n = force->force_n;

		if (index < 0 && !force->name[0])
			return rv_err_refuse(
			    error, "name_missing",
			    "the rig does not have exactly one %s: write NAME=FORCE", what);
		if (index < 0)
			return rv_err_refuse(error, "name_unknown", "the rig has no %s %s", what,
					     force->name);
		err = rv_given_add(rig, &request->givens,
				   (struct rv_given){force->kind, index, {n, n, n}}, error);
	}
	return err;
}

static enum rv_err make_plan(const char *file, const struct wish *wish, struct rv_plan **plan,
			     struct rv_error *error)
{
	struct rv_rig *rig = calloc(1, sizeof *rig);
	struct rv_plan_request request;
	enum rv_err err = rig ? RV_OK : rv_err_set(error, RV_ERR_NOMEM, "no memory");

	if (err == RV_OK)
		err = rv_rig_file_read(file, rig, error);
	if (err == RV_OK)
		err = make_request(rig, wish, &request, error);
	if (err == RV_OK)
		err = rv_plan_new(rig, &request, plan, error);
	free(rig);
	return err;
}

static int plan_file(const struct asked *asked, const struct wish *wish)
{
	struct rv_plan *plan = NULL;
	struct rv_error error = {0};
	int exit_code = RV_EXIT_DONE;

	if (make_plan(asked->file, wish, &plan, &error) != RV_OK)
		return rv_plan_say_refused(asked->file, &error, asked->json);
	if (asked->json)
		rv_plan_say_json(rv_plan_json(plan));
	else
		rv_plan_text_print(plan, asked->unit);
	exit_code =
	    rv_plan_draw(plan, &(struct rv_plan_draw){asked->svg, asked->schematic, asked->unit});
	rv_plan_free(plan);
	if (fflush(stdout) != 0)
		exit_code = RV_EXIT_REFUSED;
	return exit_code;
}

/* Searching takes one force, a folder and what is at hand, and nothing else. */
static int reach(const struct asked *asked, const struct wish *wish)
{
	if (!asked->reach)
		return rv_plan_say_misused("winch", "it goes with --reach RIGDIR");
	if (!asked->winch)
		return rv_plan_say_misused("reach", "say what is at hand: --winch RIG");
	if (wish->forces != 1 || asked->resist.count != 1 || wish->force[0].name[0])
		return rv_plan_say_misused("reach", "say what the load resists: --resist FORCE");
	if (asked->travel)
		return rv_plan_say_misused("travel", "not together with --reach");
	if (asked->svg || asked->schematic)
		return rv_plan_say_misused(asked->svg ? "svg" : "schematic",
					   "not together with --reach");
	return rv_plan_reach(&(struct rv_plan_reach){.folder = asked->reach,
						     .hand_file = asked->winch,
						     .resists_n = wish->force[0].force_n,
						     .unit = asked->unit,
						     .json = asked->json});
}

static int run(int argc, char **argv)
{
	struct asked asked = {.unit = RV_FORCE_KN};
	struct wish wish = {0};
	const struct rv_opt opts[] = {
	    {"line-pull", "FORCE", "pull of the winch (several: NAME=FORCE), such as 20kN",
	     RV_OPT_LIST, &asked.line_pull},
	    {"resist", "FORCE", "what the load holds against its travel (NAME=FORCE)", RV_OPT_LIST,
	     &asked.resist},
	    {"cell", "NAME=FORCE", "what a cell of the rig measures", RV_OPT_LIST, &asked.cell},
	    {"travel", "M", "how it goes over that travel, at most to where blocks meet", RV_OPT_TEXT,
	     &asked.travel},
	    {"reach", "RIGDIR", "search a folder of rigs for those that would do (with --resist)",
	     RV_OPT_TEXT, &asked.reach},
	    {"winch", "RIG", "the winch and the gear at hand, for --reach", RV_OPT_TEXT,
	     &asked.winch},
	    {"svg", "FILE", "draw the rig to scale into this file", RV_OPT_TEXT, &asked.svg},
	    {"schematic", "FILE", "draw its lines part by part, not to scale, into this file",
	     RV_OPT_TEXT, &asked.schematic},
	    {"json", NULL, "one JSON object, SI units", RV_OPT_FLAG, &asked.json},
	    {"unit", "UNIT", "kN (default), N, daN, kgf, tf, lbf or klbf", RV_OPT_FORCE_UNIT,
	     &asked.unit},
	};
	const struct rv_usage usage = {
	    .command = "plan",
	    .operands = "RIG",
	    .about =
		"Predicts from a rig file what every part will carry: line pull, advantage, "
		"the load\non each component and how much of its limit that is, the weakest "
		"first.\nForces given here replace those of the file.\n\n"
		"With --reach RIGDIR --resist FORCE --winch RIG it searches a folder of rigs "
		"instead:\nwhich of them bring the line pull within what the winch of RIG pulls, "
		"laid with the gear\nthat RIG lists, every part within its limit.  Best first.",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 0,
	    .max_operands = 1,
	};
	int operands = rv_opts_parse(&usage, argc, argv);

	if (operands < 0)
		return -1 - operands;
	int exit_code = take_wish(&asked, &wish);
	if (exit_code != RV_EXIT_DONE)
		return exit_code;
	if (operands == 0 && (asked.reach || asked.winch))
		return reach(&asked, &wish);
	if (operands == 0 || asked.reach || asked.winch) {
		fprintf(stderr,
			"reeve plan: expected either RIG or --reach; see: reeve plan --help\n");
		return RV_EXIT_USAGE;
	}
	asked.file = argv[1];
	return plan_file(&asked, &wish);
}

const struct rv_command rv_cmd_plan = {
    .name = "plan",
    .summary = "predict what a rig's parts will carry",
    .run = run,
};
