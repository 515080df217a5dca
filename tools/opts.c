/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/opts.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "core/text.h"
#include "tools/cmd.h"

enum { LEFT = -1, MISUSED = -1 - RV_EXIT_USAGE, WIDTH = 26, OPTIONS_MAX = 32 };

static void print_help(const struct rv_usage *usage)
{
	printf("usage: reeve %s %s%s\n\n%s\n", usage->command, usage->operands,
	       usage->count ? " [OPTIONS]" : "", usage->about);
	printf("\nOptions:\n");
	for (size_t i = 0; i < usage->count; i++) {
		const struct rv_opt *opt = &usage->opts[i];
		char left[64];
		snprintf(left, sizeof left, "--%s%s%s", opt->name, opt->value ? " " : "",
			 opt->value ? opt->value : "");
		printf("  %-*s%s\n", WIDTH, left, opt->help);
	}
	printf("  %-*s%s\n", WIDTH, "--help", "show this and leave");
}

static int misused(const struct rv_usage *usage, const char *what, const char *word,
		   const char *hint)
{
	fprintf(stderr, "reeve %s: %s%s%s; see: reeve %s --help\n", usage->command, what, word,
		hint, usage->command);
	return MISUSED;
}

static int no_option(const struct rv_usage *usage, const char *word)
{
	const char *names[OPTIONS_MAX];
	char given[RV_NAME_SIZE], hint[RV_NAME_SIZE + 24] = "";
	size_t count = 0;

	snprintf(given, sizeof given, "%.*s", (int)strcspn(word, "="), word);
	while (count < usage->count && count < OPTIONS_MAX) {
		names[count] = usage->opts[count].name;
		count++;
	}
	const char *near = rv_text_nearest(given + strspn(given, "-"), names, count);
	if (near)
		snprintf(hint, sizeof hint, ", did you mean --%s?", near);
	return misused(usage, "there is no option ", given, hint);
}

/* What a value of this kind looks like. */
static const char *allowed(enum rv_opt_kind kind)
{
	switch (kind) {
	case RV_OPT_NUMBER:
		return ": a plain number is needed, such as 1.5";
	case RV_OPT_FORCE_UNIT:
		return "; allowed: N daN kN kgf tf lbf klbf";
	case RV_OPT_LIST:
		return ": given too often";
	case RV_OPT_FLAG:
	case RV_OPT_TEXT:
		break;
	}
	return "";
}

static int bad_value(const struct rv_usage *usage, const struct rv_opt *opt, const char *value)
{
	char what[128];

	snprintf(what, sizeof what, "--%s is \"", opt->name);
	char hint[128];
	snprintf(hint, sizeof hint, "\"%s", allowed(opt->kind));
	return misused(usage, what, value, hint);
}

static bool set_value(const struct rv_opt *opt, const char *value)
{
	switch (opt->kind) {
	case RV_OPT_FLAG:
		*(bool *)opt->into = true;
		return true;
	case RV_OPT_TEXT:
		*(const char **)opt->into = value;
		return true;
	case RV_OPT_NUMBER:
		return rv_text_to_double(value, opt->into) == RV_OK;
	case RV_OPT_FORCE_UNIT:
		return rv_units_force_find(value, opt->into) == RV_OK;
	case RV_OPT_LIST: {
		struct rv_opt_list *list = opt->into;
		if (list->count == RV_OPT_LIST_MAX)
			return false;
		list->text[list->count++] = value;
		return true;
	}
	}
	return false;
}

static const struct rv_opt *find(const struct rv_usage *usage, const char *word, size_t len)
{
	for (size_t i = 0; i < usage->count; i++)
		if (strlen(usage->opts[i].name) == len &&
		    strncmp(usage->opts[i].name, word, len) == 0)
			return &usage->opts[i];
	return NULL;
}

/* One option at argv[*at]; moves *at to the last word it used. */
static int take_option(const struct rv_usage *usage, int argc, char **argv, int *at)
{
	const char *word = argv[*at] + 2;
	const char *equals = strchr(word, '=');
	size_t len = equals ? (size_t)(equals - word) : strlen(word);
	const struct rv_opt *opt = find(usage, word, len);

	if (!opt)
		return no_option(usage, argv[*at]);
	const char *value = equals ? equals + 1 : NULL;
	if (opt->kind == RV_OPT_FLAG && value)
		return misused(usage, "no value goes with --", opt->name, "");
	if (opt->kind != RV_OPT_FLAG && !value) {
		if (*at + 1 >= argc)
			return misused(usage, "a value is missing after --", opt->name, "");
		value = argv[++*at];
	}
	if (!set_value(opt, value))
		return bad_value(usage, opt, value);
	return 0;
}

int rv_opts_parse(const struct rv_usage *usage, int argc, char **argv)
{
	int operands = 0;
	bool only_operands = false;

	for (int i = 1; i < argc; i++) {
		if (only_operands || argv[i][0] != '-' || argv[i][1] == '\0') {
			argv[++operands] = argv[i];
		} else if (strcmp(argv[i], "--") == 0) {
			only_operands = true;
		} else if (strcmp(argv[i], "--help") == 0) {
			print_help(usage);
			return LEFT;
		} else if (argv[i][1] != '-') {
			return no_option(usage, argv[i]);
		} else {
			int result = take_option(usage, argc, argv, &i);
			if (result != 0)
				return result;
		}
	}
	if (operands < usage->min_operands)
		return misused(usage, "expected ", usage->operands, "");
	if (usage->max_operands >= 0 && operands > usage->max_operands)
		return misused(usage, "one word too many: ", argv[usage->max_operands + 1], "");
	return operands;
}
