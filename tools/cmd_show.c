/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve show: one run with its channels, pulls, marks, alarms and gaps.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "schema/review.h"
#include "tools/cmd.h"
#include "tools/opts.h"
#include "tools/run_word.h"
#include "tools/table.h"
#include "tools/when.h"

struct page {
	const json_t *run;
	char station_unit[sizeof((struct rv_store_run *)0)->unit];
	enum rv_force_unit asked;
};

static const char *text_of(const json_t *object, const char *key)
{
	const char *text = json_string_value(json_object_get(object, key));

	return text ? text : "-";
}

/* "" where there is none: for cells of a table that are mostly empty. */
static const char *text_or_blank(const json_t *object, const char *key)
{
	const char *text = json_string_value(json_object_get(object, key));

	return text ? text : "";
}

static double number_of(const json_t *object, const char *key)
{
	const json_t *number = json_object_get(object, key);

	return json_is_number(number) ? json_number_value(number) : (double)NAN;
}

static void add_seconds(struct rv_table *table, double seconds)
{
	if (isnan(seconds))
		rv_table_add(table, "-");
	else
		rv_table_add(table, "%.3f", seconds);
}

static void add_value(struct rv_table *table, const struct page *page, double value,
		      const char *unit)
{
	char text[RV_RUN_WORD_VALUE];

	rv_run_word_value(value, unit, page->asked, page->station_unit, text);
	rv_table_add(table, "%s", text);
}

static void print_channels(const struct page *page)
{
	struct rv_table table;
	const json_t *channel;
	size_t i;

	rv_table_init(&table,
		      "Channel|Quantity|Cell|>Readings|>Lowest|>Mean|>Highest|>at s|Calibration");
	json_array_foreach(json_object_get(page->run, "channels"), i, channel)
	{
		const char *unit = text_of(channel, "unit");
		rv_table_add(&table, "%s", text_of(channel, "name"));
		rv_table_add(&table, "%s", text_of(channel, "quantity"));
		rv_table_add(&table, "%s", text_of(channel, "cell"));
		rv_table_add(&table, "%lld",
			     (long long)json_integer_value(json_object_get(channel, "readings")));
		add_value(&table, page, number_of(channel, "low"), unit);
		add_value(&table, page, number_of(channel, "mean"), unit);
		add_value(&table, page, number_of(channel, "high"), unit);
		add_seconds(&table, number_of(channel, "high_s"));
		rv_table_add(&table, "%s", text_of(channel, "calibration"));
	}
	printf("\n");
	rv_table_print(&table, 0, stdout);
	rv_table_free(&table);
}

static void add_pull(struct rv_table *table, const struct page *page, const json_t *pull)
{
	double log_ratio = number_of(pull, "log_ratio");

	rv_table_add(table, "%lld", (long long)json_integer_value(json_object_get(pull, "index")));
	rv_table_add(table, "%s",
		     strcmp(text_of(pull, "direction"), "in") == 0 ? "hauling in" : "paying out");
	add_seconds(table, number_of(pull, "start_s"));
	add_seconds(table, number_of(pull, "end_s"));
	add_value(table, page, number_of(pull, "mean_tension_n"), "N");
	if (isnan(log_ratio))
		rv_table_add(table, "-");
	else
		rv_table_add(table, "%.4f", exp(log_ratio));
	rv_table_add(table, "%s", json_is_true(json_object_get(pull, "kept")) ? "yes" : "no");
	rv_table_add(table, "%s", text_or_blank(pull, "why"));
}

static void print_pulls(const struct page *page)
{
	const json_t *pulls = json_object_get(page->run, "pulls");
	const json_t *by = json_object_get(page->run, "pulls_by");
	const json_t *pull;
	struct rv_table table;
	size_t i;

	if (json_is_string(json_object_get(by, "why_none"))) {
		printf("\nPulls: none can be told: %s\n", text_of(by, "why_none"));
		return;
	}
	printf("\nPulls, by %s; far/near is %s over %s (one pull's own figure, no interval):\n",
	       text_of(by, "motion_source"), text_of(by, "far"), text_of(by, "near"));
	if (json_array_size(pulls) == 0) {
		printf("none\n");
		return;
	}
	rv_table_init(&table, ">No|Direction|>from s|>to s|>Mean tension|>far/near|Kept|Why not");
	json_array_foreach(pulls, i, pull) add_pull(&table, page, pull);
	rv_table_print(&table, 0, stdout);
	rv_table_free(&table);
}

static void print_marks(const struct page *page)
{
	const json_t *marks = json_object_get(page->run, "marks");
	const json_t *mark;
	struct rv_table table;
	size_t i;

	if (json_array_size(marks) == 0)
		return;
	rv_table_init(&table, ">at s|>Travel m|Mark");
	json_array_foreach(marks, i, mark)
	{
		add_seconds(&table, number_of(mark, "t_s"));
		add_seconds(&table, number_of(mark, "travel_m"));
		rv_table_add(&table, "%s", text_of(mark, "text"));
	}
	printf("\n");
	rv_table_print(&table, 0, stdout);
	rv_table_free(&table);
}

static void print_alarms(const struct page *page)
{
	const json_t *alarms = json_object_get(page->run, "alarms");
	const json_t *alarm;
	struct rv_table table;
	size_t i;

	if (json_array_size(alarms) == 0) {
		printf("\nAlarms: none recorded\n");
		return;
	}
	rv_table_init(&table, ">at s|Alarm|Level|State|>Value|Text");
	json_array_foreach(alarms, i, alarm)
	{
		add_seconds(&table, number_of(alarm, "t_s"));
		rv_table_add(&table, "%s", text_of(alarm, "name"));
		rv_table_add(&table, "%s", text_of(alarm, "level"));
		rv_table_add(&table, "%s", text_of(alarm, "state"));
		add_value(&table, page, number_of(alarm, "value"), text_or_blank(alarm, "unit"));
		rv_table_add(&table, "%s", text_or_blank(alarm, "text"));
	}
	printf("\n");
	rv_table_print(&table, 0, stdout);
	rv_table_free(&table);
}

static void add_gap(struct rv_table *table, const json_t *gap)
{
	const char *device = text_or_blank(gap, "device");
	const char *channel = text_or_blank(gap, "channel");
	long long count = (long long)json_integer_value(json_object_get(gap, "count"));

	add_seconds(table, number_of(gap, "from_s"));
	add_seconds(table, number_of(gap, "to_s"));
	rv_table_add(table, "%s", text_of(gap, "what"));
	rv_table_add(table, "%s", channel[0] ? channel : device[0] ? device : "station");
	if (count)
		rv_table_add(table, "%lld", count);
	else
		rv_table_add(table, "-");
	rv_table_add(table, "%s", text_or_blank(gap, "cause"));
	rv_table_add(table, "%s", text_or_blank(gap, "text"));
}

static void print_gaps(const struct page *page)
{
	const json_t *gaps = json_object_get(page->run, "gaps");
	const json_t *gap;
	struct rv_table table;
	size_t i;

	if (json_array_size(gaps) == 0) {
		printf("\nGaps: none\n");
		return;
	}
	rv_table_init(&table, ">from s|>to s|Gap|Of|>Messages|Cause|Text");
	json_array_foreach(gaps, i, gap) add_gap(&table, gap);
	printf("\n");
	rv_table_print(&table, 0, stdout);
	rv_table_free(&table);
}

static void print_head(struct rv_store *store, const struct rv_store_run *run,
		       const struct page *page)
{
	char when[RV_WHEN_SIZE], lasted[RV_WHEN_SIZE];

	rv_when_local(rv_store_utc_us(store, run->from_us), when);
	rv_when_lasted(number_of(page->run, "duration_s"), lasted);
	if (run->simulated)
		printf("SIMULATED: the instruments were played, nothing was measured.\n");
	char plain[RV_NAME_SIZE];
	snprintf(plain, sizeof plain, "run %lld", (long long)run->number);
	bool named = strcmp(run->name, plain) != 0;
	printf("Run %lld%s%s\n", (long long)run->number, named ? ", " : "", named ? run->name : "");
	printf("began %s, opened %s; lasted %s", when, run->how, lasted);
	if (run->to_us == RV_STORE_FOREVER)
		printf(" so far, open\n");
	else
		printf(", ended: %s\n", run->ended[0] ? run->ended : "-");
	printf("rig: %s\n", run->rig[0] ? run->rig : "none declared");
	if (run->notes[0])
		printf("notes: %s\n", run->notes);
}

static enum rv_err print_page(struct rv_store *store, int64_t number, struct page *page,
			      struct rv_error *error)
{
	struct rv_store_run run;
	enum rv_err err = rv_store_get_run(store, number, &run, error);

	if (err != RV_OK)
		return err;
	snprintf(page->station_unit, sizeof page->station_unit, "%s", run.unit);
	print_head(store, &run, page);
	print_channels(page);
	print_pulls(page);
	print_marks(page);
	print_alarms(page);
	print_gaps(page);
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
	    .command = "show",
	    .operands = "RECORD:RUN",
	    .about = "Shows one run: its channels, pulls, marks, alarms, and where readings are\n"
		     "missing. RUN is a number or a name: yard.db:3, yard.db:\"wet rope\".",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 1,
	    .max_operands = 1,
	};
	struct rv_store *store = NULL;
	struct rv_error error = {0};
	json_t *json = NULL;
	int64_t number = 0;
	int status = RV_EXIT_DONE;
	int operands = rv_opts_parse(&usage, argc, argv);

	if (operands < 0)
		return -1 - operands;
	enum rv_err err = rv_run_word_open(argv[1], &store, &number, &error);
	if (err == RV_OK)
		err = rv_review_run_json(store, number, &json, &error);
	struct page page = {.run = json, .asked = asked};
	if (err == RV_OK && as_json)
		status = rv_run_word_print(json_incref(json));
	else if (err == RV_OK)
		err = print_page(store, number, &page, &error);
	json_decref(json);
	rv_store_close(store);
	return err == RV_OK ? status : rv_run_word_refuse("show", &error);
}

const struct rv_command rv_cmd_show = {
    .name = "show",
    .summary = "show one run: channels, pulls, marks, alarms, gaps",
    .run = run,
};
