/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The API over a played engine, without a network.
 */
#ifndef RV_TESTS_UNIT_API_BENCH_H
#define RV_TESTS_UNIT_API_BENCH_H

#include "tests/rvtest.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "daemon/api.h"
#include "tests/page/played.h"

struct bench {
	struct rv_station station;
	struct rv_live_board *board;
	struct rv_engine *engine;
	struct rv_api api;
	char folder[64], station_path[128], key_path[128];
};

static inline int api_bench_setup(void **state)
{
	struct bench *bench = calloc(1, sizeof *bench);

	if (!bench || rv_live_new(&bench->board) != RV_OK)
		return -1;
	snprintf(bench->folder, sizeof bench->folder, "/tmp/reeve-api-XXXXXX");
	if (!mkdtemp(bench->folder))
		return -1;
	snprintf(bench->station_path, sizeof bench->station_path, "%s/yard.v2.yaml", bench->folder);
	snprintf(bench->key_path, sizeof bench->key_path, "%s/yard.v2.key", bench->folder);
	played_station(&bench->station, 0);
	bench->engine = played_engine_new(bench->board);
	bench->api = (struct rv_api){.station = &bench->station,
				     .board = bench->board,
				     .engine = bench->engine,
				     .record_path = "/nonexistent/record.db"};
	if (rv_key_new(bench->station_path, &bench->api.key) != RV_OK)
		return -1;
	*state = bench;
	return 0;
}

static inline int api_bench_teardown(void **state)
{
	struct bench *bench = *state;

	played_engine_free(bench->engine);
	rv_live_free(bench->board);
	rv_key_free(bench->api.key);
	unlink(bench->key_path);
	rmdir(bench->folder);
	free(bench);
	return 0;
}

#endif
