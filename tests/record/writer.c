/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Writes readings through the recorder until it is killed: writer PATH
 *
 * 500 messages a second carry a count that goes on over restarts.  A mark each 20 messages has a
 * ticket; when it is acknowledged, "ack N" is printed: all counts up to N are in the record.  A
 * line "up MS" tells how long the start took.
 */
#include "tests/record_help.h"

#include "daemon/clock.h"
#include "daemon/recorder.h"

enum { MESSAGES_IN_STEP = 20 };

static struct rv_recorder *recorder;

static void must(enum rv_err err, const struct rv_error *error)
{
	if (err == RV_OK)
		return;
	fprintf(stderr, "writer: %s\n", error ? error->text : "failed");
	exit(1);
}

static int64_t last_count(const char *path)
{
	const char *answer = access(path, F_OK) == 0
				 ? record_ask(path, "SELECT ifnull(max(v1), 0) FROM narrow")
				 : "0";

	return strtoll(answer, NULL, 10);
}

static void step(int64_t *count)
{
	struct rv_ticket *ticket = NULL;
	struct rv_entry mark = {.kind = RV_ENTRY_MARK, .mark = {.travel_m = (double)NAN}};

	for (int i = 0; i < MESSAGES_IN_STEP; i++) {
		struct rv_entry entry = {.kind = RV_ENTRY_MESSAGE,
					 .t_us = rv_clock_row_us(rv_clock_mono_ns()),
					 .message = record_cells(++*count, 0)};
		must(rv_recorder_put(recorder, &entry), NULL);
		rv_clock_sleep_until(rv_clock_mono_ns() + 100000);
	}
	must(rv_ticket_new(&ticket), NULL);
	mark.t_us = rv_clock_row_us(rv_clock_mono_ns());
	mark.ticket = ticket;
	snprintf(mark.mark.text, sizeof mark.mark.text, "%lld", (long long)*count);
	must(rv_recorder_put(recorder, &mark), NULL);
	if (rv_ticket_wait(ticket, rv_clock_mono_ns() + INT64_C(20000000000)) == RV_OK) {
		printf("ack %lld\n", (long long)*count);
		fflush(stdout);
	}
}

int main(int argc, char **argv)
{
	struct rv_station *station = record_station(0);
	struct rv_recorder_start found;
	struct rv_error error = {0};

	if (argc != 2)
		return 2;
	int64_t begun_ns = rv_clock_mono_ns();
	must(rv_recorder_open(argv[1], station, "", &recorder, &found, &error), &error);
	rv_clock_fix(found.newest_us);
	must(rv_recorder_start(recorder, &error), &error);
	printf("up %lld\n", (long long)((rv_clock_mono_ns() - begun_ns) / 1000000));
	fflush(stdout);
	if (!found.last_run) {
		struct rv_entry run = {
		    .kind = RV_ENTRY_RUN_OPEN,
		    .t_us = rv_clock_row_us(rv_clock_mono_ns()),
		    .run_open = {.number = 1, .name = "killed", .how = "by hand"}};
		must(rv_recorder_put(recorder, &run), NULL);
	}
	for (int64_t count = last_count(argv[1]);;)
		step(&count);
}
