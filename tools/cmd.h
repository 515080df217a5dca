/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A command of reeve.  Its file is tools/cmd_NAME.c; the list of them all is in tools/reeve.c.
 */
#ifndef RV_TOOLS_CMD_H
#define RV_TOOLS_CMD_H

enum {
	RV_EXIT_DONE = 0,
	RV_EXIT_REFUSED = 1, /* refused or failed: the reason is on stderr */
	RV_EXIT_USAGE = 2,
};

struct rv_command {
	const char *name;
	const char *summary; /* one line for the list of commands */
	int (*run)(int argc, char **argv); /* argv[0] = the command's name; returns RV_EXIT_... */
};

#endif
