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
#include "core/rig_read.h"
#include "tools/cmd.h"
#include "tools/opts.h"
#include "tools/plan_text.h"

/* A rig file is some kilobytes. */
enum { FILE_MOST = 1 << 20 };

struct asked {
	const char *file;
	struct rv_opt_list line_pull, resist, cell;
	const char *travel;
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

static int misused(const char *option, const char *text)
{
	fprintf(stderr, "reeve plan: --%s: %s; see: reeve plan --help\n", option, text);
	return RV_EXIT_USAGE;
}

static int take_force(const char *option, enum rv_given_kind kind, const char *word,
		      struct wish *wish)
{
	const char *equals = strrchr(word, '=');
	struct rv_error error = {0};
	struct rv_amount amount;

	if (wish->forces == RV_GIVENS)
		return misused(option, "too many forces");
	struct force_asked *force = &wish->force[wish->forces++];
	force->kind = kind;
	size_t len = equals ? (size_t)(equals - word) : 0;
	if (len >= sizeof force->name || (equals && len == 0))
		return misused(option, "no such name");
	memcpy(force->name, word, len);
	if (kind == RV_GIVEN_CELL && !equals)
		return misused(option, "write NAME=FORCE");
	if (rv_quantity_read(equals ? equals + 1 : word, RV_MEASURE_FORCE, &amount, &error) !=
	    RV_OK)
		return misused(option, error.text);
	if (!(amount.value > 0.0))
		return misused(option, "the force must be above zero");
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
		return misused("travel", error.text);
	if (!(amount.value > 0.0))
		return misused("travel", "the travel must be above zero");
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

static enum rv_err read_file(const char *path, char **text, size_t *len, struct rv_error *error)
{
	FILE *file = fopen(path, "rb");
	char *data = file ? malloc(FILE_MOST + 1) : NULL;
	enum rv_err err = RV_OK;

	if (!data) {
		err = rv_err_set(error, RV_ERR_SYSTEM, "cannot read it: %m");
	} else {
		*len = fread(data, 1, FILE_MOST + 1, file);
		if (ferror(file))
			err = rv_err_set(error, RV_ERR_SYSTEM, "cannot read it: %m");
		else if (*len > FILE_MOST)
			err = rv_err_set(error, RV_ERR_RANGE, "it is larger than 1 MB");
	}
	if (file)
		(void)fclose(file);
	if (err != RV_OK)
		free(data);
	else
		*text = data;
	return err;
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
	char *text = NULL;
	size_t len = 0;
	enum rv_err err = rig ? RV_OK : rv_err_set(error, RV_ERR_NOMEM, "no memory");

	if (err == RV_OK)
		err = read_file(file, &text, &len, error);
	if (err == RV_OK)
		err = rv_rig_read(text, len, rig, error);
	if (err == RV_OK)
		err = make_request(rig, wish, &request, error);
	if (err == RV_OK)
		err = rv_plan_new(rig, &request, plan, error);
	free(text);
	free(rig);
	return err;
}

static void print_json(json_t *value)
{
	struct rv_text text = {0};

	rv_json_write(value, &text);
	printf("%s\n", text.data ? text.data : "");
	rv_text_free(&text);
	json_decref(value);
}

static int refuse(const struct asked *asked, const struct rv_error *error)
{
	fprintf(stderr, "reeve plan: %s:", asked->file);
	if (error->line > 0)
		fprintf(stderr, "%d:", error->line);
	if (error->line > 0 && error->column > 0)
		fprintf(stderr, "%d:", error->column);
	fprintf(stderr, " %s: %s\n", rv_plan_json_code(error), error->text);
	if (asked->json)
		print_json(rv_plan_json_refused(error));
	return RV_EXIT_REFUSED;
}

static int plan_file(const struct asked *asked, const struct wish *wish)
{
	struct rv_plan *plan = NULL;
	struct rv_error error = {0};
	int exit_code = RV_EXIT_DONE;

	if (make_plan(asked->file, wish, &plan, &error) != RV_OK)
		return refuse(asked, &error);
	if (asked->json)
		print_json(rv_plan_json(plan));
	else
		rv_plan_text_print(plan, asked->unit);
	rv_plan_free(plan);
	if (fflush(stdout) != 0)
		exit_code = RV_EXIT_REFUSED;
	return exit_code;
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
	    {"travel", "M", "how it goes while the load travels so many metres", RV_OPT_TEXT,
	     &asked.travel},
	    {"json", NULL, "one JSON object, SI units", RV_OPT_FLAG, &asked.json},
	    {"unit", "UNIT", "kN (default), N, daN, kgf, tf, lbf or klbf", RV_OPT_FORCE_UNIT,
	     &asked.unit},
	};
	const struct rv_usage usage = {
	    .command = "plan",
	    .operands = "RIG",
	    .about = "Predicts from a rig file what every part will carry: line pull, advantage, "
		     "the load\non each component and how much of its limit that is, the weakest "
		     "first.\nForces given here replace those of the file.",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 1,
	    .max_operands = 1,
	};
	int operands = rv_opts_parse(&usage, argc, argv);

	if (operands < 0)
		return -1 - operands;
	asked.file = argv[1];
	int exit_code = take_wish(&asked, &wish);
	return exit_code == RV_EXIT_DONE ? plan_file(&asked, &wish) : exit_code;
}

const struct rv_command rv_cmd_plan = {
    .name = "plan",
    .summary = "predict what a rig's parts will carry",
    .run = run,
};
