/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Options of a command as a table.  Every command has --help; values are read strictly.
 */
#ifndef RV_TOOLS_OPTS_H
#define RV_TOOLS_OPTS_H

#include <stddef.h>

#include "core/err.h"
#include "core/units.h"

enum rv_opt_kind {
	RV_OPT_FLAG,	   /* bool * */
	RV_OPT_TEXT,	   /* const char ** */
	RV_OPT_NUMBER,	   /* double * */
	RV_OPT_FORCE_UNIT, /* enum rv_force_unit * */
	RV_OPT_LIST,	   /* struct rv_opt_list *: may be given several times */
};

enum { RV_OPT_LIST_MAX = 16 };

struct rv_opt_list {
	size_t count;
	const char *text[RV_OPT_LIST_MAX];
};

struct rv_opt {
	const char *name;  /* without the dashes */
	const char *value; /* what the help calls its value; NULL for a flag */
	const char *help;
	enum rv_opt_kind kind;
	void *into;
};

struct rv_usage {
	const char *command;   /* "plan" */
	const char *operands;  /* "RIG" */
	const char *about;     /* a paragraph for --help */
	const struct rv_opt *opts;
	size_t count;
	int min_operands, max_operands; /* max -1 = any number */
};

/* Sorts argv into options and operands.  Returns the number of operands, moved to argv[1...]; or
 * -1 - EXIT when the command is over (help printed: -1, used wrongly: -3). */
int rv_opts_parse(const struct rv_usage *usage, int argc, char **argv);

#endif
