/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve check: has the daemon itself look at a station, so that what is accepted here is what it
 * starts with.  Runs "reeved -n -c STATION [--probe] [--json]"; its output and exit status are ours.
 */
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "tools/cmd.h"
#include "tools/opts.h"

/* The daemon beside this program: in the same folder when installed, in daemon/ of a build tree. */
static bool find_beside(char *path, size_t size)
{
	static const char *const places[] = {"reeved", "../daemon/reeved"};
	char self[PATH_MAX];
	ssize_t len = readlink("/proc/self/exe", self, sizeof self - 1);

	if (len <= 0)
		return false;
	self[len] = '\0';
	char *slash = strrchr(self, '/');
	if (!slash)
		return false;
	slash[1] = '\0';
	for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
		int made = snprintf(path, size, "%s%s", self, places[i]);
		if (made > 0 && (size_t)made < size && access(path, X_OK) == 0)
			return true;
	}
	return false;
}

static int run(int argc, char **argv)
{
	bool probe = false, json = false;
	const struct rv_opt opts[] = {
	    {"probe", NULL, "read every channel once from the real wires", RV_OPT_FLAG, &probe},
	    {"json", NULL, "print what is found as one JSON object", RV_OPT_FLAG, &json},
	};
	const struct rv_usage usage = {
	    .command = "check",
	    .operands = "STATION",
	    .about =
		"Checks a station file, its rig and its calibrations, and tells what is declared.\n"
		"Exits 1 with the place and the reason if anything is wrong, or the rig cannot be "
		"solved.",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 1,
	    .max_operands = 1,
	};
	char path[PATH_MAX];
	int operands = rv_opts_parse(&usage, argc, argv);

	if (operands < 0)
		return -1 - operands;
	bool is_beside = find_beside(path, sizeof path);
	const char *program = is_beside ? path : "reeved";
	char name[] = "reeved", just_look[] = "-n", file[] = "-c", and_probe[] = "--probe",
	     and_json[] = "--json";
	char *args[7] = {name, just_look, file, argv[1]};
	int count = 4;

	if (probe)
		args[count++] = and_probe;
	if (json)
		args[count++] = and_json;

	fflush(stdout);
	if (is_beside)
		execv(program, args);
	else
		execvp(program, args);
	fprintf(stderr, "reeve check: cannot run %s: %m\n", program);
	return RV_EXIT_REFUSED;
}

const struct rv_command rv_cmd_check = {
    .name = "check",
    .summary = "checks a station and its rig; --probe reads the wires once",
    .run = run,
};
