/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * First rows of tables, and what they say of a station's channels.
 */
#include <string.h>

#include "core/import_columns.h"
#include "tests/rvtest.h"

static struct rv_station station;

static void add_channel(const char *name, const char *unit)
{
	struct rv_channel *channel = &station.channel[station.channels++];

	snprintf(channel->name, sizeof channel->name, "%s", name);
	snprintf(channel->unit, sizeof channel->unit, "%s", unit);
}

static int set_up(void **state)
{
	(void)state;
	memset(&station, 0, sizeof station);
	add_channel("lead", "N");
	add_channel("lead end", "N");
	add_channel("out", "m");
	add_channel("oil", "degC");
	return 0;
}

static enum rv_err match(const char *first_row, const struct rv_import_map *maps, int count,
			 struct rv_import_columns *columns, struct rv_error *error)
{
	struct rv_csv *csv = NULL;
	struct rv_csv_row row;

	assert_int_equal(rv_csv_new(&csv), RV_OK);
	assert_int_equal(rv_csv_next(csv, &row, error), RV_ERR_AGAIN);
	rv_csv_feed(csv, first_row, strlen(first_row));
	while (rv_csv_next(csv, &row, error) == RV_ERR_AGAIN)
		rv_csv_feed(csv, NULL, 0);
	enum rv_err err = rv_import_columns_match(&row, &station, maps, count, columns, error);
	rv_csv_free(csv);
	return err;
}

static void a_wide_table_has_a_column_for_each_channel(void **state)
{
	struct rv_import_columns columns;

	(void)state;
	assert_int_equal(match("out_m,time_utc,oil,time_s,lead end_n\n", NULL, 0, &columns, NULL),
			 RV_OK);
	assert_int_equal(columns.time_s, 3);
	assert_int_equal(columns.time_utc, 1);
	assert_int_equal(columns.channel, -1);
	assert_int_equal(columns.column_of[0], -1);
	assert_int_equal(columns.column_of[1], 4);
	assert_int_equal(columns.column_of[2], 0);
	assert_int_equal(columns.column_of[3], 2);
	assert_int_equal(columns.used, 3);
}

static void a_tidy_table_has_a_row_for_each_reading(void **state)
{
	struct rv_import_columns columns;

	(void)state;
	assert_int_equal(match("time,channel,value,unit\n", NULL, 0, &columns, NULL), RV_OK);
	assert_int_equal(columns.time_utc, 0);
	assert_int_equal(columns.channel, 1);
	assert_int_equal(columns.value, 2);
	assert_int_equal(columns.unit, 3);
	assert_int_equal(columns.used, 4);
}

/* 1 kgf = 9.80665 N (CGPM 1901), 1 ft = 0.3048 m (exact since 1959). */
static void a_mapped_column_is_brought_to_si(void **state)
{
	static const struct {
		const char *map;
		int channel;
		double factor;
	} cases[] = {
	    {"a=lead kN", 0, 1000.0},	    {"a=lead kg", 0, 9.80665}, {"a=lead", 0, 1.0},
	    {"a=lead end kgf", 1, 9.80665}, {"a=out ft", 2, 0.3048},   {"a=oil degC", 3, 1.0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_import_columns columns;
		struct rv_import_map map;

		assert_int_equal(rv_import_map_read(cases[i].map, &station, &map, NULL), RV_OK);
		assert_int_equal(match("time_s,a\n", &map, 1, &columns, NULL), RV_OK);
		assert_int_equal(columns.column_of[cases[i].channel], 1);
		assert_near(cases[i].map, columns.factor[cases[i].channel], cases[i].factor, 1e-12);
	}
}

static void what_is_unknown_is_named_with_what_is_nearest(void **state)
{
	struct rv_import_columns columns = {.used = 77};
	struct rv_error error = {0};

	(void)state;
	assert_int_equal(match("time_s,leed_n,lead_n,wind,rain\n", NULL, 0, &columns, &error),
			 RV_ERR_UNKNOWN);
	assert_int_equal(error.line, 1);
	assert_int_equal(error.column, 8);
	assert_non_null(strstr(error.text, "\"leed_n\", did you mean lead_n?"));
	assert_non_null(strstr(error.text, "also unknown: \"wind\", \"rain\""));
	assert_int_equal(columns.used, 77);
}

static void bad_maps_and_first_rows_are_refused(void **state)
{
	static const struct {
		const char *row;
		enum rv_err err;
	} rows[] = {
	    {"lead_n\n", RV_ERR_MISSING},
	    {"time_s\n", RV_ERR_MISSING},
	    {"time_s,lead_n,lead_n\n", RV_ERR_REFUSED},
	    {"time,time_utc,lead_n\n", RV_ERR_REFUSED},
	    {"time_s,lead\n", RV_ERR_UNKNOWN},
	    {"time_s,value,lead_n\n", RV_ERR_UNKNOWN},
	    {"time_s,channel,value,lead_n\n", RV_ERR_UNKNOWN},
	};
	static const struct {
		const char *map;
		enum rv_err err;
	} maps[] = {
	    {"lead", RV_ERR_SYNTAX},	 {"=lead", RV_ERR_SYNTAX},	{"a=", RV_ERR_SYNTAX},
	    {"a=leadN", RV_ERR_UNKNOWN}, {"a=leed kN", RV_ERR_UNKNOWN},
	};
	struct rv_import_columns columns;
	struct rv_import_map map;

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_int_equal(match(rows[i].row, NULL, 0, &columns, NULL), rows[i].err);
	for (size_t i = 0; i < sizeof maps / sizeof maps[0]; i++)
		assert_int_equal(rv_import_map_read(maps[i].map, &station, &map, NULL),
				 maps[i].err);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test_setup(a_wide_table_has_a_column_for_each_channel, set_up),
	    cmocka_unit_test_setup(a_tidy_table_has_a_row_for_each_reading, set_up),
	    cmocka_unit_test_setup(a_mapped_column_is_brought_to_si, set_up),
	    cmocka_unit_test_setup(what_is_unknown_is_named_with_what_is_nearest, set_up),
	    cmocka_unit_test_setup(bad_maps_and_first_rows_are_refused, set_up),
	};

	return cmocka_run_group_tests_name("import_columns", tests, NULL, NULL);
}
