/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve import: brings in a recording made elsewhere as a run, whole or not at all.
 */
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "core/json.h"
#include "schema/store.h"
#include "tools/cmd.h"
#include "tools/import_beside.h"
#include "tools/import_rows.h"
#include "tools/opts.h"
#include "tools/run_word.h"

#define BATCH 20000
#define DROPPED_SHARE 100 /* one in so many rows out of order: all is refused */
#define DAY_US INT64_C(86400000000)

static volatile sig_atomic_t stopped;

static void stop(int signal)
{
	(void)signal;
	stopped = 1;
}

struct asked {
	const char *record, *table, *station, *rig, *name;
	struct rv_opt_list maps;
	bool json;
};

/* Everything an import takes; large, so it lives on the heap. */
struct work {
	const struct asked *asked;
	struct rv_import_beside beside;
	struct rv_import_rows rows;
	struct rv_store *store;
	struct rv_store_import import;
	bool is_new; /* the record was made for this import */
	bool begun;
	int64_t readings;
	char metadata[RV_PATH_SIZE]; /* path of what an export says of the table */
	const char *culprit;	     /* the file an error is about */
	struct rv_error error;
};

static int refuse(const struct work *work)
{
	const struct rv_error *error = &work->error;

	fprintf(stderr, "reeve import: ");
	if (work->culprit)
		fprintf(stderr, "%s:", work->culprit);
	if (work->culprit && error->line > 0)
		fprintf(stderr, "%d:", error->line);
	if (work->culprit && error->line > 0 && error->column > 0)
		fprintf(stderr, "%d:", error->column);
	fprintf(stderr, "%s%s\n", work->culprit ? " " : "", error->text);
	return RV_EXIT_REFUSED;
}

/* ---- the run ------------------------------------------------------------------------------ */

/* Moves the table in time, the row that was read and the one ahead as well. */
static void shift(struct work *work, struct rv_import_instant *first, int64_t by_us)
{
	struct rv_import_rows *rows = &work->rows;

	rows->origin_us += by_us;
	first->t_us += by_us;
	rows->last_us += by_us;
	if (rows->has_ahead)
		rows->ahead.t_us += by_us;
}

/* Where second 0 of the table lies.  An export knows it to the microsecond; a table without a date
 * gets a free day. */
static enum rv_err place_run(struct work *work, struct rv_import_instant *first)
{
	const struct rv_import_whole *whole = &work->beside.whole;
	int64_t day_us = 0;

	if (whole->run && work->rows.columns.time_s >= 0) {
		shift(work, first, whole->start_us - work->rows.origin_us);
		work->rows.dated = true;
	}
	if (work->rows.dated)
		return RV_OK;
	enum rv_err err = rv_store_import_undated(work->store, &day_us, &work->error);
	if (err == RV_OK)
		shift(work, first, first->t_us < 0 ? day_us - first->t_us : day_us);
	return err;
}

/* The run begins at second 0 of the table, unless that lies more than a day before its first row.
 */
static enum rv_err begin_run(struct work *work, struct rv_import_instant *first)
{
	const struct rv_import_whole *whole = &work->beside.whole;
	struct rv_store_import *import = &work->import;
	enum rv_err err = place_run(work, first);

	if (err != RV_OK)
		return err;
	int64_t zero_us = work->rows.origin_us, after_us = first->t_us - zero_us;
	bool counted =
	    work->rows.columns.time_s >= 0 && after_us >= 0 && (after_us < DAY_US || whole->run);
	import->from_us = counted ? zero_us : first->t_us;
	import->to_us = whole->end_us;
	import->station = &work->beside.used;
	import->station_text = work->beside.station_text;
	import->notes = whole->run ? whole->notes : "";
	import->name = work->asked->name ? work->asked->name : whole->name;
	import->rig_name = work->beside.rig_text ? work->beside.rig.name : NULL;
	import->rig_text = work->beside.rig_text;
	import->marks = whole->marks;
	import->mark_count = whole->mark_count;
	work->culprit = work->asked->record;
	err = rv_store_import_begin(work->store, import, &work->error);
	if (err == RV_OK)
		work->culprit = work->asked->table;
	return err;
}

static enum rv_err add_instant(struct work *work, const struct rv_import_instant *instant)
{
	struct rv_message message = {.device = 0};
	enum rv_err err = RV_OK;

	for (int from = 0; err == RV_OK && from < work->beside.used.channels;
	     from += RV_MESSAGE_VALUES) {
		bool any = false;

		message.part = (uint8_t)(from / RV_MESSAGE_VALUES);
		message.count = 0;
		for (int i = from;
		     i < work->beside.used.channels && message.count < RV_MESSAGE_VALUES; i++) {
			double value = instant->value[work->beside.used_of[i]];
			struct rv_value *to = &message.values[message.count++];

			*to = (struct rv_value){.quality = RV_GOOD};
			if (isnan(value))
				continue;
			to->raw = (struct rv_raw){.kind = RV_RAW_REAL, .real = value};
			any = true;
		}
		if (any)
			err = rv_store_add_message(work->store, &message, instant->t_us,
						   &work->readings, &work->error);
	}
	return err;
}

/* One batch, in a transaction.  *more false: that was the last. */
static enum rv_err add_batch(struct work *work, bool *more)
{
	struct rv_import_instant instant;
	enum rv_err err = rv_store_begin(work->store, &work->error);

	for (int i = 0; err == RV_OK && i < BATCH && !stopped; i++) {
		err = rv_import_rows_next(&work->rows, &instant, &work->error);
		if (err == RV_OK)
			err = add_instant(work, &instant);
	}
	*more = err == RV_OK;
	if (err == RV_ERR_CLOSED)
		err = RV_OK;
	if (err == RV_OK && stopped)
		err = rv_err_set(&work->error, RV_ERR_REFUSED, "stopped; the record is as it was");
	if (err == RV_OK)
		err = rv_store_commit(work->store, &work->error);
	if (err == RV_OK)
		(void)rv_store_checkpoint(work->store, false, NULL);
	return err;
}

static enum rv_err check_dropped(struct work *work)
{
	const struct rv_import_rows *rows = &work->rows;

	if (rows->dropped * DROPPED_SHARE <= rows->rows)
		return RV_OK;
	return rv_err_at(&work->error, RV_ERR_REFUSED, rows->dropped_line[0], 1,
			 "%lld of %lld rows do not come after the one before in time, more than "
			 "1 %%: nothing was imported; sort the table, or look at its clock",
			 (long long)rows->dropped, (long long)rows->rows);
}

static enum rv_err add_all(struct work *work)
{
	struct rv_import_instant first;
	bool more = true;
	enum rv_err err = rv_import_rows_next(&work->rows, &first, &work->error);

	if (err == RV_ERR_CLOSED)
		return rv_err_set(&work->error, RV_ERR_MISSING,
				  "the table has no row beside its headings");
	if (err == RV_OK)
		err = begin_run(work, &first);
	if (err != RV_OK)
		return err;
	work->begun = true;
	err = rv_store_begin(work->store, &work->error);
	if (err == RV_OK)
		err = add_instant(work, &first);
	if (err == RV_OK)
		err = rv_store_commit(work->store, &work->error);
	while (err == RV_OK && more)
		err = add_batch(work, &more);
	if (err == RV_OK)
		err = check_dropped(work);
	if (err == RV_OK && work->readings == 0)
		err = rv_err_set(&work->error, RV_ERR_MISSING, "the table holds no reading");
	if (work->import.to_us <= work->rows.last_us)
		work->import.to_us = work->rows.last_us + 1;
	if (err == RV_OK)
		err = rv_store_import_end(work->store, &work->import, &work->error);
	return err;
}

/* ---- saying it ---------------------------------------------------------------------------- */

static void say_dropped(const struct work *work)
{
	const struct rv_import_rows *rows = &work->rows;

	for (int i = 0; i < rows->dropped && i < RV_IMPORT_ROWS_NAMED; i++)
		fprintf(stderr,
			"reeve import: %s:%d: the row does not come after the one before "
			"in time; it was left out\n",
			work->asked->table, rows->dropped_line[i]);
	if (rows->dropped > RV_IMPORT_ROWS_NAMED)
		fprintf(stderr, "reeve import: and %lld more rows\n",
			(long long)(rows->dropped - RV_IMPORT_ROWS_NAMED));
	if (rows->zone_missing)
		fprintf(stderr,
			"reeve import: %s: times without Z or an offset were taken as UTC\n",
			work->asked->table);
}

static int say(const struct work *work)
{
	const char *name = work->import.name ? work->import.name : work->import.made_name;
	double lasted_s = (double)(work->import.to_us - work->import.from_us) * 1e-6;

	say_dropped(work);
	if (work->asked->json)
		return rv_run_word_print(json_pack(
		    "{s:I, s:s, s:I, s:I, s:I, s:f, s:b}", "run", (json_int_t)work->import.number,
		    "name", name, "readings", (json_int_t)work->readings, "rows",
		    (json_int_t)work->rows.rows, "dropped", (json_int_t)work->rows.dropped,
		    "duration_s", lasted_s, "dated", (int)work->rows.dated));
	printf("run %lld: %s, %lld readings in %.3f s\n", (long long)work->import.number, name,
	       (long long)work->readings, lasted_s);
	if (!work->rows.dated)
		printf("The table knows no date: the run is filed in 1970.\n");
	if (!work->beside.rig_text)
		printf("No rig: nothing can be predicted or estimated from it.\n");
	return RV_EXIT_DONE;
}

static void remove_new(const struct work *work)
{
	static const char *const ends[] = {"", "-wal", "-shm", ".lock"};
	char path[RV_PATH_SIZE + 8];

	for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
		snprintf(path, sizeof path, "%s%s", work->asked->record, ends[i]);
		(void)unlink(path);
	}
}

/* Without a station, what an export wrote beside the table says what its columns are. */
static enum rv_err find_whole(struct work *work)
{
	work->culprit = work->metadata;
	return work->asked->station ? RV_OK
				    : rv_import_whole_find(work->asked->table, &work->beside.whole,
							   work->metadata, &work->error);
}

static enum rv_err read_beside(struct work *work)
{
	enum rv_err err =
	    rv_import_beside_read(&work->beside, work->asked->station, work->asked->rig,
				  &work->asked->maps, &work->culprit, &work->error);

	if (err != RV_OK)
		return err;
	work->culprit = work->asked->table;
	err = rv_import_rows_open(work->asked->table, &work->beside.station, work->beside.map,
				  (int)work->asked->maps.count, &work->rows, &work->error);
	if (err == RV_OK)
		rv_import_beside_use(&work->beside, &work->rows.columns, work->import.a1);
	return err;
}

static int import(struct work *work)
{
	enum rv_err err = find_whole(work);

	if (err == RV_OK && !work->asked->station && !work->beside.whole.run) {
		fprintf(stderr, "reeve import: --station STATION is missing, and no metadata.json "
				"of an export lies beside the table; see: reeve import --help\n");
		return RV_EXIT_USAGE;
	}
	if (err == RV_OK)
		err = read_beside(work);
	if (err == RV_OK) {
		work->is_new = access(work->asked->record, F_OK) != 0;
		work->culprit = work->asked->record;
		err = rv_store_open_writer(work->asked->record, &work->store, &work->error);
	}
	if (err == RV_OK) {
		work->culprit = work->asked->table;
		err = add_all(work);
	}
	if (err != RV_OK && work->begun)
		(void)rv_store_import_undo(work->store, &work->import, NULL);
	bool opened = work->store != NULL;
	rv_store_close(work->store);
	if (err != RV_OK && opened && work->is_new)
		remove_new(work);
	return err == RV_OK ? say(work) : refuse(work);
}

static int run(int argc, char **argv)
{
	struct asked asked = {0};
	const struct rv_opt opts[] = {
	    {"station", "STATION", "what the channels are: quantity, cell, capacity, uncertainties",
	     RV_OPT_TEXT, &asked.station},
	    {"rig", "RIG", "the rig that lay there; else the station's", RV_OPT_TEXT, &asked.rig},
	    {"name", "NAME", "of the run", RV_OPT_TEXT, &asked.name},
	    {"map", "HEADER=CHANNEL unit", "what a column is that is called otherwise", RV_OPT_LIST,
	     &asked.maps},
	    {"json", NULL, "print one JSON object", RV_OPT_FLAG, &asked.json},
	};
	const struct rv_usage usage = {
	    .command = "import",
	    .operands = "RECORD CSV",
	    .about =
		"Brings a recording made elsewhere into a record, as a run of its own, whole\n"
		"or not at all. Columns: time_s (seconds) or time (ISO 8601), and one for each\n"
		"channel of the station: NAME_n in newtons, NAME_m in metres, NAME in its own\n"
		"unit. An empty field is no reading. Separated by commas, or by semicolons with\n"
		"a decimal comma. The record is made if there is none; a daemon must not hold it.\n"
		"What reeve export wrote comes in again whole: without --station, metadata.json\n"
		"beside the table says what its columns are, with the rig and the marks.",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 2,
	    .max_operands = 2,
	};
	int operands = rv_opts_parse(&usage, argc, argv);

	if (operands < 0)
		return -1 - operands;
	asked.record = argv[1];
	asked.table = argv[2];
	struct work *work = calloc(1, sizeof *work);
	if (!work) {
		fprintf(stderr, "reeve import: no memory\n");
		return RV_EXIT_REFUSED;
	}
	work->asked = &asked;
	struct sigaction action = {.sa_handler = stop};
	sigaction(SIGINT, &action, NULL);
	sigaction(SIGTERM, &action, NULL);
	int status = import(work);
	rv_import_rows_close(&work->rows);
	rv_import_beside_free(&work->beside);
	free(work);
	return status;
}

const struct rv_command rv_cmd_import = {
    .name = "import",
    .summary = "bring in a recording made elsewhere",
    .run = run,
};
