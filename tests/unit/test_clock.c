/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "daemon/clock.h"

static void row_time_starts_at_the_wall_clock(void **state)
{
	(void)state;
	int64_t began_ns = rv_clock_mono_ns();
	int64_t before_us = rv_clock_utc_us();
	rv_clock_fix(0);
	int64_t row_us = rv_clock_row_us(rv_clock_mono_ns());
	int64_t after_us = rv_clock_utc_us();
	int64_t took_us = (rv_clock_mono_ns() - began_ns) / 1000;

	/* The two clocks are not read at one instant, and each is cut to whole microseconds. */
	assert_true(row_us >= before_us - took_us - 3 && row_us <= after_us + took_us + 3);
}

static void a_wall_clock_behind_the_record_continues_a_second_after_it(void **state)
{
	int64_t newest_us = rv_clock_utc_us() + INT64_C(86400000000);
	int64_t mono_ns = rv_clock_mono_ns();

	(void)state;
	rv_clock_fix(newest_us);
	int64_t row_us = rv_clock_row_us(mono_ns);
	assert_true(row_us <= newest_us + 1000000 + 2);
	assert_true(rv_clock_row_us(rv_clock_mono_ns()) >= newest_us + 1000000);
	/* Differences of row time are those of the monotonic clock. */
	assert_int_equal(rv_clock_row_us(mono_ns + 5000000) - row_us, 5000);
	/* UTC is the wall clock's, whatever the record said. */
	assert_true(rv_clock_mono_to_utc_us(mono_ns) < newest_us);
	rv_clock_fix(0);
}

static void sleeping_ends_at_the_instant_and_no_sooner(void **state)
{
	int64_t until_ns = rv_clock_mono_ns() + 20000000;

	(void)state;
	rv_clock_sleep_until(until_ns);
	assert_true(rv_clock_mono_ns() >= until_ns);
	rv_clock_sleep_until(until_ns - 1000000000);
	rv_clock_sleep_until(-5);
}

static void boot_and_start_are_two_lasting_names_of_36_letters(void **state)
{
	(void)state;
	assert_int_equal(strlen(rv_clock_boot()), 36);
	assert_int_equal(strlen(rv_clock_start()), 36);
	assert_string_not_equal(rv_clock_boot(), rv_clock_start());
	assert_ptr_equal(rv_clock_start(), rv_clock_start());
	assert_int_equal(strspn(rv_clock_start(), "0123456789abcdef-"), 36);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(row_time_starts_at_the_wall_clock),
	    cmocka_unit_test(a_wall_clock_behind_the_record_continues_a_second_after_it),
	    cmocka_unit_test(sleeping_ends_at_the_instant_and_no_sooner),
	    cmocka_unit_test(boot_and_start_are_two_lasting_names_of_36_letters),
	};

	return cmocka_run_group_tests_name("clock", tests, NULL, NULL);
}
