/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How long the record takes to have a second of readings safe on the disk: 100 messages of two
 * cells, one commit, and now and then the log moved into the file.  It works in the build folder:
 * the system's temporary one is often no disk.
 */
#include <fcntl.h>
#include <math.h>

#include "tests/bench/bench.h"
#include "tests/record_help.h"

enum { MESSAGES = 100, MESSAGE_BYTES = 32, LOG_PAGES = 1000 };

struct yard {
	char folder[512], record[600], bare[600];
	struct rv_station *station;
	struct rv_store *store;
	int64_t t_us, readings;
	int fd; /* of the bare file */
};

static void must(enum rv_err err, const struct rv_error *error)
{
	if (err != RV_OK)
		rv_bench_give_up("record", error->text);
}

static void commit(void *ctx, int repeat)
{
	struct yard *yard = ctx;
	struct rv_error error = {0};

	must(rv_store_begin(yard->store, &error), &error);
	for (int i = 0; i < MESSAGES; i++) {
		struct rv_message message = record_cells(9000 + i, 80000 + repeat % 1000 - i);
		yard->t_us += RECORD_SECOND_US / MESSAGES;
		must(rv_store_add_message(yard->store, &message, yard->t_us, &yard->readings,
					  &error),
		     &error);
	}
	must(rv_store_commit(yard->store, &error), &error);
	if (rv_store_log_pages(yard->store) > LOG_PAGES)
		must(rv_store_checkpoint(yard->store, true, &error), &error);
}

/* The time, two counts and eight bytes for the rest, of each message. */
static void append(void *ctx, int repeat)
{
	struct yard *yard = ctx;
	char bytes[MESSAGES * MESSAGE_BYTES];

	memset(bytes, repeat, sizeof bytes);
	if (write(yard->fd, bytes, sizeof bytes) != (ssize_t)sizeof bytes || fsync(yard->fd) != 0)
		rv_bench_give_up("record", "the bare file cannot be written");
}

static void lay(struct yard *yard)
{
	const char *build = getenv("RV_BUILD");
	struct rv_error error = {0};

	snprintf(yard->folder, sizeof yard->folder, "%s/bench-XXXXXX", build ? build : ".");
	if (!mkdtemp(yard->folder))
		rv_bench_give_up("record", "no folder to write in");
	snprintf(yard->record, sizeof yard->record, "%s/yard.db", yard->folder);
	snprintf(yard->bare, sizeof yard->bare, "%s/bare", yard->folder);
	yard->station = record_station(0);
	yard->t_us = RECORD_T0_US;
	must(rv_store_open_writer(yard->record, &yard->store, &error), &error);
	must(rv_store_set_station(yard->store, yard->station, "", yard->t_us, &error), &error);
	yard->fd = open(yard->bare, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
	if (yard->fd < 0)
		rv_bench_give_up("record", "no file to write in");
}

int main(int argc, char **argv)
{
	static struct yard yard;
	struct rv_bench_item item = {.subject = {commit, &yard}, .reference = {append, &yard}};
	int pairs = rv_bench_pairs(argc, argv);

	snprintf(item.name, sizeof item.name, "%d messages of two cells, one commit", MESSAGES);
	item.waits = true;
	lay(&yard);
	rv_bench_run(&item, 1, pairs);
	rv_bench_tell_worst(
	    &(struct rv_bench_figure){"record, a second of readings", "us", (double)NAN,
				      "one write of 32 bytes for each message, one fsync"},
	    &item, 1, pairs);
	close(yard.fd);
	unlink(yard.bare);
	rv_store_close(yard.store);
	free(yard.station);
	record_remove(yard.record);
	return 0;
}
