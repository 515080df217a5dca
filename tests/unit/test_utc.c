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

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(instants_are_written_as_iso_8601),
	    cmocka_unit_test(every_day_of_five_centuries_agrees_with_the_c_library),
	};

	return cmocka_run_group_tests_name("utc", tests, NULL, NULL);
}
