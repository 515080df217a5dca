/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * usage: probe_station STATION.yaml   reads every channel of a station once, prints the table.
 */
#include <stdio.h>
#include <string.h>

#include "core/station_read.h"
#include "daemon/probe.h"

int main(int argc, char **argv)
{
	static struct rv_station station;
	static char text[100000];
	const struct rv_station_outside outside = {0};
	struct rv_error error = {0};
	FILE *file = argc == 2 ? fopen(argv[1], "r") : NULL;

	if (!file)
		return 2;
	size_t len = fread(text, 1, sizeof text, file);
	fclose(file);
	if (rv_station_read(text, len, &outside, &station, &error) != RV_OK) {
		fprintf(stderr, "%d:%d: %s\n", error.line, error.column, error.text);
		return 2;
	}
	return rv_probe_run(&station, stdout) ? 0 : 1;
}
