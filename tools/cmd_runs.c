/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve runs: the runs of a record.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "schema/review.h"
#include "tools/cmd.h"
#include "tools/opts.h"
#include "tools/run_word.h"
#include "tools/table.h"
#include "tools/when.h"

static const char *text_of(const json_t *run, const char *key)
{
	const char *text = json_string_value(json_object_get(run, key));

	return text ? text : "-";
}

static void say_peak(const json_t *run, const char *station_unit, enum rv_force_unit asked,
		     char *text, size_t size)
{
	const json_t *peak = json_object_get(run, "peak");
	char value[RV_RUN_WORD_VALUE];

	if (!json_is_object(peak)) {
		snprintf(text, size, "-");
		return;
	}
	rv_run_word_value(json_number_value(json_object_get(peak, "value")), text_of(peak, "unit"),
			  asked, station_unit, value);
	snprintf(text, size, "%s at %s", value, text_of(peak, "channel"));
}

static void add_row(struct rv_table *table, struct rv_store *store, const json_t *run,
		    const struct rv_store_run *row, enum rv_force_unit asked)
{
	char when[RV_WHEN_SIZE], lasted[RV_WHEN_SIZE], peak[2 * RV_RUN_WORD_VALUE];

	rv_when_local(rv_store_utc_us(store, row->from_us), when);
	rv_when_lasted(json_number_value(json_object_get(run, "duration_s")), lasted);
	say_peak(run, row->unit, asked, peak, sizeof peak);
	rv_table_add(table, "%lld", (long long)row->number);
	rv_table_add(table, "%s%s", row->name, row->simulated ? " (SIMULATED)" : "");
	rv_table_add(table, "%s", when);
	rv_table_add(table, "%s%s", lasted, row->to_us == RV_STORE_FOREVER ? ", open" : "");
	rv_table_add(table, "%s", row->how);
	rv_table_add(table, "%s", row->rig[0] ? row->rig : "-");
	rv_table_add(table, "%lld",
		     (long long)json_integer_value(json_object_get(run, "readings")));
	rv_table_add(table, "%s", peak);
}

static enum rv_err print_table(struct rv_store *store, const json_t *json, enum rv_force_unit asked,
			       struct rv_error *error)
{
	const json_t *runs = json_object_get(json, "runs");
	struct rv_store_run *rows = NULL;
	struct rv_table table;
	size_t count = 0;
	enum rv_err err = rv_store_runs(store, &rows, &count, error);

	if (err != RV_OK)
		return err;
	if (json_array_size(runs) == 0)
		printf("no run yet\n");
	rv_table_init(&table, ">No|Name|Start|Lasted|Opened|Rig|>Readings|Peak");
	/* A run that was opened since the list was made is not in it. */
	for (size_t i = 0; i < json_array_size(runs) && i < count; i++)
		add_row(&table, store, json_array_get(runs, i), &rows[i], asked);
	if (json_array_size(runs))
		rv_table_print(&table, 0, stdout);
	rv_table_free(&table);
	free(rows);
	return RV_OK;
}

static int run(int argc, char **argv)
{
	enum rv_force_unit asked = RV_FORCE_UNITS;
	bool as_json = false;
	const struct rv_opt opts[] = {
	    {"json", NULL, "print one JSON object, SI units", RV_OPT_FLAG, &as_json},
	    {"unit", "UNIT", "kN N daN kgf tf lbf klbf; else the station's", RV_OPT_FORCE_UNIT,
	     &asked},
	};
	const struct rv_usage usage = {
	    .command = "runs",
	    .operands = "RECORD",
	    .about = "Lists the runs of a record: number, name, start in local time, how long,\n"
		     "how it was opened, rig, readings, highest tension.",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 1,
	    .max_operands = 1,
	};
	struct rv_store *store = NULL;
	struct rv_error error = {0};
	json_t *json = NULL;
	int status = RV_EXIT_DONE;

	int operands = rv_opts_parse(&usage, argc, argv);
	if (operands < 0)
		return -1 - operands;
	enum rv_err err = rv_store_open_reader(argv[1], &store, &error);
	if (err == RV_OK)
		err = rv_store_runs_json(store, &json, &error);
	if (err == RV_OK && as_json)
		status = rv_run_word_print(json_incref(json));
	else if (err == RV_OK)
		err = print_table(store, json, asked, &error);
	json_decref(json);
	rv_store_close(store);
	return err == RV_OK ? status : rv_run_word_refuse("runs", &error);
}

const struct rv_command rv_cmd_runs = {
    .name = "runs",
    .summary = "list the runs of a record",
    .run = run,
};
