/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The real web side over a played engine, for tests of the page.
 * usage: played_server [PORT [ADDRESS [STATION [RIG]]]]   prints "port N"; then commands on standard
 * input.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/clock.h"
#include "daemon/http.h"
#include "tests/page/played.h"

int main(int argc, char **argv)
{
	static struct rv_station station;
	struct rv_live_board *board = NULL;
	struct rv_http *http = NULL;
	struct rv_error error;
	char line[512];

	played_station(&station, argc > 1 ? atoi(argv[1]) : 0);
	if (argc > 2)
		snprintf(station.listen, sizeof station.listen, "%s", argv[2]);
	rv_clock_fix(0);
	if (rv_live_new(&board) != RV_OK)
		return 1;
	struct rv_engine *engine = played_engine_new(board);
	const struct rv_http_setup setup = {
	    .station = &station,
	    .station_path = argc > 3 ? argv[3] : "/nonexistent/station.yaml",
	    .record_path = "/nonexistent/record.db",
	    .rig_path = argc > 4 ? argv[4] : "",
	    .board = board,
	    .engine = engine,
	};
	if (rv_http_start(&setup, &http, &error) != RV_OK) {
		fprintf(stderr, "%s\n", error.text);
		return 1;
	}
	printf("port %d\n", rv_http_port(http));
	fflush(stdout);
	while (fgets(line, sizeof line, stdin))
		if (!played_engine_command(engine, line))
			fprintf(stderr, "unknown command: %s", line);
	rv_http_stop(http);
	played_engine_free(engine);
	rv_live_free(board);
	return 0;
}
