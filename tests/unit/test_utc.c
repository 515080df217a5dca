/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <time.h>

#include "core/utc.h"

static void instants_are_written_as_iso_8601(void **state)
{
	/* From date(1): date -u -d @951782400. */
	static const struct {
		int64_t us;
		const char *text;
	} cases[] = {
	    {0, "1970-01-01T00:00:00.000Z"},
	    {-1, "1969-12-31T23:59:59.999Z"},
	    {951782400000000, "2000-02-29T00:00:00.000Z"},
	    {951868799999999, "2000-02-29T23:59:59.999Z"},
	    {2147483648000000, "2038-01-19T03:14:08.000Z"},
	    {INT64_MAX, ""},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		char text[RV_UTC_SIZE];
		rv_utc_text(cases[i].us, text);
		assert_string_equal(text, cases[i].text);
	}
}

static void every_day_of_five_centuries_agrees_with_the_c_library(void **state)
{
	(void)state;
	for (int64_t day = -100000; day < 100000; day += 7) {
		char got[RV_UTC_SIZE], want[RV_UTC_SIZE];
		time_t seconds = (time_t)(day * 86400 + 3661);
		struct tm parts;
		assert_non_null(gmtime_r(&seconds, &parts));
		strftime(want, sizeof want, "%Y-%m-%dT%H:%M:%S.000Z", &parts);
		rv_utc_text((int64_t)seconds * 1000000, got);
		assert_string_equal(got, want);
	}
}

static void what_is_written_is_read_again(void **state)
{
	(void)state;
	for (int64_t day = -100000; day < 100000; day += 7) {
		int64_t want = day * INT64_C(86400000000) + INT64_C(3661123000), got = 0;
		char text[RV_UTC_SIZE];
		bool has_zone = false;
		rv_utc_text(want, text);
		assert_int_equal(rv_utc_read(text, &got, &has_zone), RV_OK);
		assert_int_equal(got, want);
		assert_true(has_zone);
	}
}

static void iso_8601_is_read_whole_or_refused(void **state)
{
	static const struct {
		const char *text;
		enum rv_err err;
		int64_t us;
		bool has_zone;
	} cases[] = {
	    {"1970-01-01T00:00:00Z", RV_OK, 0, true},
	    {"1970-01-01 00:00:01", RV_OK, 1000000, false},
	    {"1970-01-01T00:00:00.5Z", RV_OK, 500000, true},
	    {"1970-01-01T00:00:00,000001Z", RV_OK, 1, true},
	    {"1970-01-01T00:00:00.0000014Z", RV_OK, 1, true},
	    {"1970-01-01T00:00:00.9999996Z", RV_OK, 1000000, true},
	    {"1970-01-01T01:00:00+01:00", RV_OK, 0, true},
	    {"1969-12-31T18:30:00-0530", RV_OK, 0, true},
	    {"2016-12-31T23:59:60Z", RV_OK, 1483228800000000, true},
	    {"2024-02-29T12:00:00Z", RV_OK, 1709208000000000, true},
	    {"2023-02-29T12:00:00Z", RV_ERR_RANGE, -7, false},
	    {"2023-13-01T12:00:00Z", RV_ERR_RANGE, -7, false},
	    {"2023-01-01T24:00:00Z", RV_ERR_RANGE, -7, false},
	    {"2023-01-01T12:00:00+25:00", RV_ERR_RANGE, -7, false},
	    {"2023-1-1T12:00:00Z", RV_ERR_SYNTAX, -7, false},
	    {"2023-01-01", RV_ERR_SYNTAX, -7, false},
	    {"2023-01-01T12:00Z", RV_ERR_SYNTAX, -7, false},
	    {"2023-01-01T12:00:00.Z", RV_ERR_SYNTAX, -7, false},
	    {"2023-01-01T12:00:00Z ", RV_ERR_SYNTAX, -7, false},
	    {"2023-01-01T12:00:00 Z", RV_ERR_SYNTAX, -7, false},
	    {"25.11.2026 10:21:00", RV_ERR_SYNTAX, -7, false},
	    {"", RV_ERR_SYNTAX, -7, false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		int64_t us = -7;
		bool has_zone = false;
		enum rv_err err = rv_utc_read(cases[i].text, &us, &has_zone);
		if (err != cases[i].err || us != cases[i].us || has_zone != cases[i].has_zone)
			fail_msg("%s: error %d, %lld us", cases[i].text, (int)err, (long long)us);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(instants_are_written_as_iso_8601),
	    cmocka_unit_test(every_day_of_five_centuries_agrees_with_the_c_library),
	    cmocka_unit_test(what_is_written_is_read_again),
	    cmocka_unit_test(iso_8601_is_read_whole_or_refused),
	};

	return cmocka_run_group_tests_name("utc", tests, NULL, NULL);
}
