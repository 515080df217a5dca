/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve: finds the command and runs it.
 */
#include <stdio.h>
#include <string.h>

#include "core/text.h"
#include "tools/cmd.h"

extern const struct rv_command rv_cmd_check;
extern const struct rv_command rv_cmd_plan;
extern const struct rv_command rv_cmd_rehearse;
extern const struct rv_command rv_cmd_runs;
extern const struct rv_command rv_cmd_show;
extern const struct rv_command rv_cmd_estimate;
extern const struct rv_command rv_cmd_compare;
extern const struct rv_command rv_cmd_trial;
extern const struct rv_command rv_cmd_export;
extern const struct rv_command rv_cmd_import;
extern const struct rv_command rv_cmd_calibrate;

/* Every command, in the order people meet them.  Each is declared here and defined in its file. */
static const struct rv_command *const commands[] = {
    &rv_cmd_plan,
    &rv_cmd_check,
    &rv_cmd_rehearse,
    &rv_cmd_runs,
    &rv_cmd_show,
    &rv_cmd_estimate,
    &rv_cmd_compare,
    &rv_cmd_trial,
    &rv_cmd_export,
    &rv_cmd_import,
    &rv_cmd_calibrate,
    NULL,
};

static void print_commands(FILE *to)
{
	fprintf(to, "usage: reeve COMMAND [...]\n\nCommands:\n");
	for (size_t i = 0; commands[i]; i++)
		fprintf(to, "  %-11s%s\n", commands[i]->name, commands[i]->summary);
	fprintf(to, "\nreeve COMMAND --help tells more.\n"
		    "reeve advises. It is no safety device and no load limiter.\n");
}

static int no_command(const char *word)
{
	const char *names[sizeof commands / sizeof commands[0]];
	size_t count = 0;

	for (; commands[count]; count++)
		names[count] = commands[count]->name;
	const char *near = rv_text_nearest(word, names, count);
	fprintf(stderr, "reeve: there is no command %s%s%s%s; see: reeve --help\n", word,
		near ? ", did you mean " : "", near ? near : "", near ? "?" : "");
	return RV_EXIT_USAGE;
}

int main(int argc, char **argv)
{
	if (argc < 2) {
		print_commands(stderr);
		return RV_EXIT_USAGE;
	}
	if (strcmp(argv[1], "--help") == 0) {
		print_commands(stdout);
		return RV_EXIT_DONE;
	}
	if (strcmp(argv[1], "--version") == 0) {
		printf("reeve %s\nIt advises. It is no safety device and no load limiter.\n",
		       RV_VERSION);
		return RV_EXIT_DONE;
	}
	for (size_t i = 0; commands[i]; i++)
		if (strcmp(argv[1], commands[i]->name) == 0)
			return commands[i]->run(argc - 1, argv + 1);
	return no_command(argv[1]);
}
