/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Runs, spans and values.  Expected values are worked by hand: value = (raw - zero) x scale.
 */
#include "tests/record_help.h"

static char path[300];
static struct rv_station *station;
static struct rv_store *store;

static int set_up(void **state)
{
	(void)state;
	station = record_station(0);
	station->channel[0].calibration.inverse_error_n = 5.0;
	record_path(path, sizeof path, "yard.db");
	assert_int_equal(rv_store_open_writer(path, &store, NULL), RV_OK);
	assert_int_equal(
	    rv_store_set_station(store, station, "station: Test yard\n", RECORD_T0_US, NULL),
	    RV_OK);
	assert_int_equal(rv_store_begin(store, NULL), RV_OK);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	rv_store_close(store);
	record_remove(path);
	free(station);
	return 0;
}

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

static void open_run(double seconds, const char *name)
{
	const struct rv_store_opening opening = {.t_us = at(seconds),
						 .name = name,
						 .how = "by hand",
						 .rig_name = "two",
						 .rig_text = "rig: two\n"};

	assert_int_equal(rv_store_open_run(store, &opening, NULL), RV_OK);
}

static void a_reading_stands_once_for_its_run_and_else_without_one(void **state)
{
	(void)state;
	add(1, record_cells(8388 + 100, 10));
	open_run(2, "dry rope");
	add(2, record_cells(8388 + 200, 20));
	add(3, record_cells(8388 + 300, 30));
	assert_int_equal(rv_store_close_run(store, 1, at(4), "by hand", NULL), RV_OK);
	add(4, record_cells(8388 + 400, 40));
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	assert_string_equal(
	    record_ask(path,
		       "SELECT run, (t_us - 1767600000000000) / 1000000, channel, value, unit "
		       "FROM reading ORDER BY t_us, channel"),
	    "null|1|anchor|5|N\nnull|1|lead|1250|N\n1|2|anchor|10|N\n1|2|lead|2500|N\n"
	    "1|3|anchor|15|N\n1|3|lead|3750|N\nnull|4|anchor|20|N\nnull|4|lead|5000|N");
}

static void a_zero_inside_a_run_keeps_both_stretches(void **state)
{
	const struct rv_store_in_force zeroed = {
	    .conversion = {.a = {-8388 * 12.5 - 250.0, 12.5}, .degree = 1}, .zero = 250.0};

	(void)state;
	open_run(0.5, "zeroed");
	add(1, record_cells(8388 + 20, 0));
	assert_int_equal(rv_store_set_conversion(store, 0, at(2), &zeroed, NULL), RV_OK);
	add(2, record_cells(8388 + 20, 0));
	assert_int_equal(rv_store_close_run(store, 1, at(3), "by hand", NULL), RV_OK);
	add(3, record_cells(8388 + 20, 0));
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	/* The zero outlives the run. */
	assert_string_equal(
	    record_ask(path, "SELECT run, value FROM reading WHERE channel = 'lead' ORDER BY t_us"),
	    "1|250\n1|0\nnull|0");
	assert_string_equal(record_ask(path, "SELECT run, zero, to_us = 9223372036854775807 FROM "
					     "conversion WHERE channel = 1 ORDER BY id"),
			    "null|0|0\n1|0|0\n1|250|0\nnull|250|1");
}

static void a_run_that_began_before_it_was_known_takes_what_held_then(void **state)
{
	const struct rv_store_in_force wrapped = {
	    .conversion = {.a = {32.768, 0.0005}, .degree = 1}};

	(void)state;
	add(1, record_payout(65000));
	assert_int_equal(rv_store_set_conversion(store, 2, at(2), &wrapped, NULL), RV_OK);
	add(2, record_payout(0));
	open_run(0.5, "late");
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	assert_string_equal(
	    record_ask(path,
		       "SELECT run, value FROM reading WHERE channel = 'payout' ORDER BY t_us"),
	    "1|32.5\n1|32.768000000000001");
}

static void names_and_numbers_are_never_used_twice(void **state)
{
	struct rv_error error = {0};
	struct rv_store_opening opening = {.t_us = at(5), .name = "wet", .how = "by hand"};

	(void)state;
	open_run(1, "wet");
	assert_int_equal(rv_store_open_run(store, &opening, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "run_open");
	assert_int_equal(rv_store_close_run(store, 1, at(2), "by hand", NULL), RV_OK);
	assert_int_equal(rv_store_close_run(store, 1, at(2), "by hand", &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "no_run");
	assert_int_equal(rv_store_open_run(store, &opening, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "name_taken");
	opening.name = "12";
	assert_int_equal(rv_store_open_run(store, &opening, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "bad_name");
	opening.name = "other";
	opening.number = 1;
	assert_int_equal(rv_store_open_run(store, &opening, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "number_taken");
	opening.number = 7;
	assert_int_equal(rv_store_open_run(store, &opening, &error), RV_OK);
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
}

static void bad_and_missing_readings_are_null_and_not_listed(void **state)
{
	struct rv_message message = record_cells(9000, 9000);
	int64_t readings = 0;

	(void)state;
	message.values[0].quality = RV_BAD;
	message.values[0].cause = RV_CAUSE_FROZEN;
	message.values[1] = record_real(0.1);
	assert_int_equal(rv_store_add_message(store, &message, at(1), &readings, NULL), RV_OK);
	assert_int_equal(readings, 1);
	message.values[1].raw.kind = RV_RAW_NONE;
	assert_int_equal(rv_store_add_message(store, &message, at(2), &readings, NULL), RV_OK);
	assert_int_equal(readings, 1);
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	assert_string_equal(record_ask(path, "SELECT v1, v2, typeof(v2) FROM narrow ORDER BY t_us"),
			    "null|0.10000000000000001|real\nnull|null|null");
	assert_string_equal(record_ask(path, "SELECT channel, value FROM reading"),
			    "anchor|0.050000000000000003");
}

static void messages_at_one_instant_move_to_the_next_free_microsecond(void **state)
{
	(void)state;
	add(1, record_cells(1, 1));
	add(1.000001, record_cells(2, 2));
	add(1, record_payout(3));
	add(1, record_payout(4));
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	assert_string_equal(
	    record_ask(path, "SELECT t_us - 1767600001000000, v1 FROM narrow ORDER BY t_us"),
	    "0|1\n1|2\n2|3\n3|4");
}

static void a_burst_at_one_instant_is_put_in_a_row_behind_what_is_there(void **state)
{
	(void)state;
	add(1.000005, record_cells(0, 0));
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	assert_int_equal(rv_store_begin(store, NULL), RV_OK);
	for (int i = 0; i < 20000; i++)
		add(1, record_payout(i));
	add(0.999999, record_payout(-1));
	add(1, record_payout(20000));
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	assert_string_equal(record_ask(path,
				       "SELECT count(*), min(t_us) - 1767600001000000, max(t_us) - "
				       "1767600001000000, sum(v1) FROM narrow"),
			    "20003|-1|20001|200009999");
}

static void another_conversion_keeps_the_zero_where_it_was(void **state)
{
	const struct rv_store_in_force zeroed = {
	    .conversion = {.a = {-8396 * 12.5, 12.5}, .degree = 1}, .zero = 100.0};
	const struct rv_conversion other = {.a = {3.0, 13.0}, .degree = 1};
	struct rv_store_cursor *cursor = NULL;
	struct rv_store_reading reading;

	(void)state;
	open_run(0.5, "zeroed");
	add(1.0, record_cells(8400, 7));
	assert_int_equal(rv_store_set_conversion(store, 0, at(2.0), &zeroed, NULL), RV_OK);
	add(3.0, record_cells(8400, 7));
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	assert_int_equal(rv_store_cursor_open(store, 1, at(0.5), at(9.0), &cursor, NULL), RV_OK);
	rv_store_cursor_convert_by(cursor, 0, &other);
	assert_int_equal(rv_store_cursor_next(cursor, &reading, NULL), RV_OK);
	assert_near("before the zero", reading.value, 3.0 + 13.0 * 8400, 1e-6);
	assert_int_equal(rv_store_cursor_next(cursor, &reading, NULL), RV_OK);
	assert_near("another channel", reading.value, 3.5, 1e-9);
	assert_int_equal(rv_store_cursor_next(cursor, &reading, NULL), RV_OK);
	assert_near("after: 8396 counts read zero", reading.value, 13.0 * 4, 1e-6);
	rv_store_cursor_close(cursor);
}

static void the_cursor_says_what_the_view_says(void **state)
{
	struct rv_store_cursor *cursor = NULL;
	struct rv_store_reading reading;
	struct rv_store_channels channels;
	double sum = 0.0, view = 0.0;
	int count = 0;

	(void)state;
	open_run(0.5, "long");
	for (int i = 0; i < 3000; i++) {
		add(1 + i * 0.001, record_cells(8388 + i, i));
		if (i % 3 == 0)
			add(1 + i * 0.001, record_payout(i));
	}
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	assert_int_equal(rv_store_run_channels(store, 1, &channels, NULL), RV_OK);
	assert_int_equal(channels.count, 3);
	assert_string_equal(channels.channel[2].declared.name, "payout");
	assert_string_equal(channels.channel[2].device, "encoder");
	assert_near("way back", channels.channel[0].declared.calibration.inverse_error_n, 5.0, 0.0);
	assert_true(isnan(channels.channel[1].declared.calibration.inverse_error_n));
	assert_int_equal(rv_store_cursor_open(store, 1, at(1.5), at(3.5), &cursor, NULL), RV_OK);
	int64_t last_us = 0;
	while (rv_store_cursor_next(cursor, &reading, NULL) == RV_OK) {
		assert_true(reading.t_us >= last_us);
		last_us = reading.t_us;
		sum += reading.value * (reading.channel + 1);
		count++;
	}
	rv_store_cursor_close(cursor);
	sscanf(record_ask(path,
			  "SELECT sum(value * CASE channel WHEN 'lead' THEN 1 WHEN 'anchor' THEN 2 "
			  "ELSE 3 END) FROM reading WHERE run = 1 AND t_us >= 1767600001500000 "
			  "AND t_us < 1767600003500000"),
	       "%lf", &view);
	assert_int_equal(count, 2000 * 2 + 667);
	assert_near("sum", sum, view, 1e-6 * view);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test_setup_teardown(a_reading_stands_once_for_its_run_and_else_without_one,
					    set_up, tear_down),
	    cmocka_unit_test_setup_teardown(a_zero_inside_a_run_keeps_both_stretches, set_up,
					    tear_down),
	    cmocka_unit_test_setup_teardown(
		a_run_that_began_before_it_was_known_takes_what_held_then, set_up, tear_down),
	    cmocka_unit_test_setup_teardown(names_and_numbers_are_never_used_twice, set_up,
					    tear_down),
	    cmocka_unit_test_setup_teardown(bad_and_missing_readings_are_null_and_not_listed,
					    set_up, tear_down),
	    cmocka_unit_test_setup_teardown(
		messages_at_one_instant_move_to_the_next_free_microsecond, set_up, tear_down),
	    cmocka_unit_test_setup_teardown(
		a_burst_at_one_instant_is_put_in_a_row_behind_what_is_there, set_up, tear_down),
	    cmocka_unit_test_setup_teardown(another_conversion_keeps_the_zero_where_it_was, set_up,
					    tear_down),
	    cmocka_unit_test_setup_teardown(the_cursor_says_what_the_view_says, set_up, tear_down),
	};

	return cmocka_run_group_tests_name("store_runs", tests, NULL, NULL);
}
