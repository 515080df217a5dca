/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The recorder when a file may not grow any more (a limit on its size: the write fails as on a full
 * disk): it says so, keeps everything, and goes on by itself when there is room again.
 *
 * usage: full PATH
 */
#include <signal.h>
#include <sys/resource.h>

#include "tests/record_help.h"

#include "daemon/clock.h"
#include "daemon/recorder.h"

enum { ROOM_BYTES = 400 * 1024, LONGEST_S = 60 };

static struct rv_recorder *recorder;
static int64_t sent;

static void send_some(void)
{
	for (int i = 0; i < 500; i++) {
		struct rv_entry entry = {.kind = RV_ENTRY_MESSAGE,
					 .t_us = rv_clock_row_us(rv_clock_mono_ns()),
					 .message = record_cells(++sent, 0)};
		if (rv_recorder_put(recorder, &entry) != RV_OK)
			exit(1);
	}
}

static void limit_to(rlim_t bytes)
{
	struct rlimit limit;

	if (getrlimit(RLIMIT_FSIZE, &limit) != 0)
		exit(1);
	limit.rlim_cur = bytes;
	if (setrlimit(RLIMIT_FSIZE, &limit) != 0)
		exit(1);
}

/* Sends until the state is as wanted. */
static bool reach(bool failing, struct rv_recorder_state *state)
{
	int64_t until_ns = rv_clock_mono_ns() + LONGEST_S * INT64_C(1000000000);

	do {
		if (failing)
			send_some();
		rv_clock_sleep_until(rv_clock_mono_ns() + 50000000);
		rv_recorder_state(recorder, state);
	} while (state->failing != failing && rv_clock_mono_ns() < until_ns);
	return state->failing == failing;
}

int main(int argc, char **argv)
{
	struct rv_station *station = record_station(0);
	struct rv_recorder_start found;
	struct rv_recorder_state state;
	struct rv_error error = {0};
	char want[64];

	if (argc != 2)
		return 2;
	signal(SIGXFSZ, SIG_IGN);
	if (rv_recorder_open(argv[1], station, "", &recorder, &found, &error) != RV_OK) {
		fprintf(stderr, "full: %s\n", error.text);
		return 1;
	}
	rv_clock_fix(found.newest_us);
	if (rv_recorder_start(recorder, &error) != RV_OK)
		return 1;
	limit_to(ROOM_BYTES);
	bool failed = reach(true, &state);
	printf("with no room: %s\n", state.text);
	bool told = state.text[0] != '\0';
	limit_to(RLIM_INFINITY);
	bool recovered = reach(false, &state);
	rv_recorder_stop(recorder);
	snprintf(want, sizeof want, "%lld|1|%lld|ok", (long long)sent, (long long)sent);
	bool whole =
	    strcmp(record_ask(argv[1], "SELECT count(*), min(v1), max(v1), "
				       "(SELECT * FROM pragma_integrity_check) FROM narrow"),
		   want) == 0;
	printf("%d passed, %d failed\n", failed + told + recovered + whole,
	       4 - failed - told - recovered - whole);
	free(station);
	return failed && told && recovered && whole ? 0 : 1;
}
