/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A run that was recorded elsewhere: seen whole or not at all, and what was there before stays.
 */
#include "tests/record_help.h"

static char path[300];
static struct rv_station *yard, *table;
static struct rv_store *store;

/* Everything of a record that people or programs read. */
static const char seen[] =
    "SELECT 'run', id, name, from_us, to_us FROM run UNION ALL "
    "SELECT 'reading', run, channel, t_us, value FROM reading UNION ALL "
    "SELECT 'mark', id, text, t_us, travel_m FROM mark UNION ALL "
    "SELECT 'anchor', id, boot, t_us, utc_us FROM clock_anchor UNION ALL "
    "SELECT 'channel', id, name, quantity, unit FROM channel UNION ALL "
    "SELECT 'calibration', id, name, a0, a1 FROM calibration UNION ALL "
    "SELECT 'device', id, name, link, 0 FROM device UNION ALL "
    "SELECT 'station', id, name, text, 0 FROM station_version ORDER BY 1, 2, 3, 4";

static int64_t at(double seconds)
{
	return RECORD_T0_US + (int64_t)(seconds * 1e6);
}

static void add(double seconds, struct rv_message message)
{
	int64_t readings = 0;

	assert_int_equal(rv_store_add_message(store, &message, at(seconds), &readings, NULL),
			 RV_OK);
}

/* A record with one run of its own, from 1 s to 3 s. */
static int set_up(void **state)
{
	const struct rv_store_opening opening = {.t_us = at(1), .name = "own", .how = "by hand"};

	(void)state;
	yard = record_station(0);
	table = calloc(1, sizeof *table);
	snprintf(table->name, sizeof table->name, "Elsewhere");
	record_add_channel(table, "hook", RV_TENSION, 0, 1.0);
	record_add_channel(table, "out", RV_PAYOUT, 0, 0.001);
	for (int i = 0; i < 2; i++)
		snprintf(table->channel[i].calibration.name, RV_NAME_SIZE, "imported");
	record_path(path, sizeof path, "yard.db");
	assert_int_equal(rv_store_open_writer(path, &store, NULL), RV_OK);
	assert_int_equal(rv_store_set_station(store, yard, "station: Test yard\n", at(0), NULL),
			 RV_OK);
	assert_int_equal(rv_store_begin(store, NULL), RV_OK);
	assert_int_equal(rv_store_open_run(store, &opening, NULL), RV_OK);
	add(1, record_cells(8388 + 100, 10));
	add(2, record_cells(8388 + 200, 20));
	assert_int_equal(rv_store_close_run(store, 1, at(3), "by hand", NULL), RV_OK);
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	rv_store_close(store);
	record_remove(path);
	free(yard);
	free(table);
	return 0;
}

static struct rv_store_import begin(double from_s)
{
	struct rv_store_import import = {.station = table,
					 .station_text = "station: Elsewhere\n",
					 .a1 = {1000.0, 1.0},
					 .from_us = at(from_s),
					 .notes = ""};

	assert_int_equal(rv_store_import_begin(store, &import, NULL), RV_OK);
	return import;
}

static void add_rows(double from_s, int count)
{
	assert_int_equal(rv_store_begin(store, NULL), RV_OK);
	for (int i = 0; i < count; i++) {
		struct rv_message row = {
		    .device = 0, .count = 2, .values = {record_real(i), record_real(-i)}};
		if (i == 1)
			row.values[1] = (struct rv_value){.quality = RV_GOOD};
		add(from_s + i, row);
	}
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
}

static void nothing_is_seen_of_an_import_until_it_ends(void **state)
{
	(void)state;
	struct rv_store_import import = begin(100);
	add_rows(100, 3);
	assert_string_equal(record_ask(path, "SELECT count(*) FROM reading WHERE t_us >= "
					     "1767600100000000"),
			    "0");
	assert_string_equal(record_ask(path, "SELECT count(*) FROM run"), "1");
	import.to_us = at(103);
	assert_int_equal(rv_store_import_end(store, &import, NULL), RV_OK);
	assert_string_equal(
	    record_ask(path,
		       "SELECT run, (t_us - 1767600000000000) / 1000000, channel, value, unit "
		       "FROM reading WHERE run = 2 ORDER BY t_us, channel"),
	    "2|100|hook|0|N\n2|100|out|0|m\n2|101|hook|1000|N\n2|102|hook|2000|N\n2|102|out|-2|m");
	assert_string_equal(record_ask(path, "SELECT id, name, how, ended FROM run ORDER BY id"),
			    "1|own|by hand|by hand\n2|import 2|import|import");
}

/* The step of an encoder is what tells a line that stands from one that creeps. */
static void the_step_of_the_encoder_is_kept_beside_the_identity(void **state)
{
	struct rv_store_channels channels;

	(void)state;
	struct rv_store_import import = begin(100);
	add_rows(100, 3);
	import.to_us = at(103);
	assert_int_equal(rv_store_import_end(store, &import, NULL), RV_OK);
	assert_int_equal(rv_store_run_channels(store, 2, &channels, NULL), RV_OK);
	assert_int_equal(channels.count, 2);
	assert_string_equal(channels.channel[0].declared.calibration.name, "imported");
	assert_string_equal(channels.channel[0].declared.wire_unit, "N");
	assert_string_equal(channels.channel[1].declared.wire_unit, "");
	assert_near("step", channels.channel[1].declared.calibration.conversion.a[1], 0.001, 0.0);
}

static void what_is_undone_leaves_no_trace(void **state)
{
	char before[8192];

	(void)state;
	snprintf(before, sizeof before, "%s", record_ask(path, seen));
	struct rv_store_import import = begin(100);
	add_rows(100, 5);
	assert_int_equal(rv_store_import_undo(store, &import, NULL), RV_OK);
	assert_string_equal(record_ask(path, seen), before);
	assert_string_equal(record_ask(path, "SELECT count(*) FROM narrow"), "2");
}

static void what_a_crash_left_is_cleared_by_the_next_import(void **state)
{
	(void)state;
	(void)begin(100);
	add_rows(100, 5);
	rv_store_close(store); /* no end, no undo */
	assert_int_equal(rv_store_open_writer(path, &store, NULL), RV_OK);
	assert_string_equal(record_ask(path, "SELECT count(*) FROM run"), "1");
	struct rv_store_import import = begin(200);
	add_rows(200, 2);
	import.to_us = at(202);
	assert_int_equal(rv_store_import_end(store, &import, NULL), RV_OK);
	assert_string_equal(record_ask(path, "SELECT count(*) FROM narrow"), "4");
	assert_string_equal(record_ask(path, "SELECT count(*) FROM reading WHERE run = 2"), "3");
	assert_string_equal(record_ask(path, "SELECT name FROM device WHERE link = 'file'"),
			    "import 2");
}

/* Its rows go to the next free microseconds, and the run reaches as far as they do. */
static void an_import_over_readings_of_the_record_is_whole(void **state)
{
	(void)state;
	for (int round = 0; round < 3; round++) {
		struct rv_store_import import = begin(1);
		add_rows(1, 2);
		import.to_us = at(2) + 1;
		assert_int_equal(rv_store_import_end(store, &import, NULL), RV_OK);
	}
	assert_string_equal(record_ask(path, "SELECT run, count(*) FROM reading GROUP BY run"),
			    "1|4\n2|3\n3|3\n4|3");
	assert_string_equal(
	    record_ask(path, "SELECT run, value FROM reading WHERE channel = 'lead' ORDER BY t_us"),
	    "1|1250\n1|2500");
}

static void recordings_without_a_date_lie_one_day_after_another(void **state)
{
	int64_t day_us = -1;

	(void)state;
	assert_int_equal(rv_store_import_undated(store, &day_us, NULL), RV_OK);
	assert_int_equal(day_us, 0);
	for (int round = 0; round < 2; round++) {
		double day_s = (double)(day_us - RECORD_T0_US) * 1e-6;
		struct rv_store_import import = begin(day_s);
		add_rows(day_s, 2);
		import.to_us = day_us + 2000000;
		assert_int_equal(rv_store_import_end(store, &import, NULL), RV_OK);
		assert_int_equal(rv_store_import_undated(store, &day_us, NULL), RV_OK);
		assert_int_equal(day_us, (round + 1) * INT64_C(86400000000));
	}
}

static void the_time_of_what_was_there_stays_what_it_was(void **state)
{
	const struct rv_store_anchor anchor = {.boot = "boot",
					       .why = "start",
					       .mono_ns = 0,
					       .t_us = at(0),
					       .utc_us = at(0) + 5000000,
					       .trusted = true};

	(void)state;
	assert_int_equal(rv_store_add_anchor(store, &anchor, NULL), RV_OK);
	struct rv_store_import import = begin(100);
	add_rows(100, 2);
	import.to_us = at(102);
	assert_int_equal(rv_store_import_end(store, &import, NULL), RV_OK);
	assert_int_equal(rv_store_utc_us(store, at(2)), at(7));
	assert_int_equal(rv_store_utc_us(store, at(101)), at(101));
	assert_int_equal(rv_store_utc_us(store, at(500)), at(505));
}

static void a_name_that_was_used_is_refused_and_nothing_begins(void **state)
{
	struct rv_store_import import = {.station = table,
					 .station_text = "",
					 .a1 = {1.0, 1.0},
					 .from_us = at(9),
					 .name = "own"};
	struct rv_error error = {0};
	char before[8192];

	(void)state;
	snprintf(before, sizeof before, "%s", record_ask(path, seen));
	assert_int_equal(rv_store_import_begin(store, &import, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "name_taken");
	assert_string_equal(record_ask(path, seen), before);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test_setup_teardown(nothing_is_seen_of_an_import_until_it_ends, set_up,
					    tear_down),
	    cmocka_unit_test_setup_teardown(the_step_of_the_encoder_is_kept_beside_the_identity,
					    set_up, tear_down),
	    cmocka_unit_test_setup_teardown(what_is_undone_leaves_no_trace, set_up, tear_down),
	    cmocka_unit_test_setup_teardown(what_a_crash_left_is_cleared_by_the_next_import, set_up,
					    tear_down),
	    cmocka_unit_test_setup_teardown(an_import_over_readings_of_the_record_is_whole, set_up,
					    tear_down),
	    cmocka_unit_test_setup_teardown(recordings_without_a_date_lie_one_day_after_another,
					    set_up, tear_down),
	    cmocka_unit_test_setup_teardown(the_time_of_what_was_there_stays_what_it_was, set_up,
					    tear_down),
	    cmocka_unit_test_setup_teardown(a_name_that_was_used_is_refused_and_nothing_begins,
					    set_up, tear_down),
	};

	return cmocka_run_group_tests_name("store_import", tests, NULL, NULL);
}
