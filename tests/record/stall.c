/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The recorder on a disk that stalls (run with tests/shim/slow_sync preloaded): putting never waits
 * for it, the state says so, and all is there in the end.
 *
 * usage: stall PATH SWITCH   the file SWITCH, made here, switches the stalling on
 */
#include "tests/record_help.h"

#include "daemon/clock.h"
#include "daemon/recorder.h"

enum { MESSAGES = 4000 };

/* A put that waited for one stalled sync would take this long; a busy machine may well keep a
 * thread off for some milliseconds. */
#define STALL_NS INT64_C(4000000000)

int main(int argc, char **argv)
{
	struct rv_station *station = record_station(0);
	struct rv_recorder *recorder = NULL;
	struct rv_recorder_start found;
	struct rv_recorder_state state;
	struct rv_error error = {0};
	int64_t longest_ns = 0;
	bool said = false;

	if (argc != 3)
		return 2;
	if (rv_recorder_open(argv[1], station, "", &recorder, &found, &error) != RV_OK) {
		fprintf(stderr, "stall: %s\n", error.text);
		return 1;
	}
	rv_clock_fix(found.newest_us);
	if (rv_recorder_start(recorder, &error) != RV_OK)
		return 1;
	FILE *file = fopen(argv[2], "w");
	if (!file || fclose(file) != 0)
		return 1;
	for (int i = 0; i < MESSAGES; i++) {
		int64_t before_ns = rv_clock_mono_ns();
		struct rv_entry entry = {.kind = i % 50 ? RV_ENTRY_MESSAGE : RV_ENTRY_ALARM,
					 .t_us = rv_clock_row_us(before_ns)};
		if (i % 50)
			entry.message = record_cells(i, 0);
		else
			snprintf(entry.alarm.name, sizeof entry.alarm.name, "snatch");
		if (rv_recorder_put(recorder, &entry) != RV_OK)
			return 1;
		rv_recorder_state(recorder, &state);
		said |= state.failing;
		int64_t took_ns = rv_clock_mono_ns() - before_ns;
		longest_ns = took_ns > longest_ns ? took_ns : longest_ns;
		rv_clock_sleep_until(before_ns + 1000000);
	}
	unlink(argv[2]);
	rv_recorder_stop(recorder);
	const char *rows =
	    record_ask(argv[1], "SELECT count(*) + (SELECT count(*) FROM alarm_event) "
				"FROM narrow");
	bool whole = strtol(rows, NULL, 10) == MESSAGES;
	bool fast = longest_ns < STALL_NS / 4;
	printf(
	    "%d puts on a disk that stalls 4 s a sync: the longest took %.3f ms; %s entries in the "
	    "record; %s\n",
	    MESSAGES, (double)longest_ns * 1e-6, rows,
	    said ? "the state told of it" : "the state never told of it");
	printf("%d passed, %d failed\n", whole + fast + said, 3 - whole - fast - said);
	free(station);
	return whole && fast && said ? 0 : 1;
}
