/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "core/text.h"

static void numbers_are_read_whole_or_refused(void **state)
{
	static const struct {
		const char *text;
		enum rv_err err;
		double value;
	} cases[] = {
	    {"1.5", RV_OK, 1.5},
	    {"-2e3", RV_OK, -2000.0},
	    {"", RV_ERR_SYNTAX, 0},
	    {" 1", RV_ERR_SYNTAX, 0},
	    {"1 ", RV_ERR_SYNTAX, 0},
	    {"1,5", RV_ERR_SYNTAX, 0},
	    {"nan", RV_ERR_SYNTAX, 0},
	    {"inf", RV_ERR_SYNTAX, 0},
	    {"0x10", RV_ERR_SYNTAX, 0},
	    {"1e999", RV_ERR_RANGE, 0},
	    {"1e", RV_ERR_SYNTAX, 0},
	    {"--1", RV_ERR_SYNTAX, 0},
	    {"12345678901234567890", RV_OK, 12345678901234567890.0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		double value = -7.0;
		assert_int_equal(rv_text_to_double(cases[i].text, &value), cases[i].err);
		assert_near(cases[i].text, value, cases[i].err == RV_OK ? cases[i].value : -7.0,
			    0.0);
	}
}

static void short_numbers_are_what_the_c_library_reads(void **state)
{
	uint64_t seed = 1;

	(void)state;
	for (int i = 0; i < 200000; i++) {
		char text[40];
		double got = 0.0;
		seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
		int64_t digits = (int64_t)(seed >> 12) >> (seed % 50);
		int places = (int)((seed >> 8) % 17);
		snprintf(text, sizeof text, "%s%017" PRId64, seed & 64 ? "-" : "", digits);
		size_t len = strlen(text);
		memmove(text + len - (size_t)places + 1, text + len - (size_t)places,
			(size_t)places + 1);
		text[len - (size_t)places] = '.';
		assert_int_equal(rv_text_to_double(text, &got), RV_OK);
		assert_near(text, got, strtod(text, NULL), 0.0);
		const char *point = text + strspn(text, "-0");
		assert_int_equal(rv_text_to_double(*point == '\0' ? "0" : point, &got),
				 strcmp(point, ".") == 0 ? RV_ERR_SYNTAX : RV_OK);
		if (strcmp(point, ".") != 0)
			assert_near(point, got, strtod(point, NULL), 0.0);
	}
}

static void whole_numbers_keep_every_digit(void **state)
{
	int64_t value = 0;

	(void)state;
	assert_int_equal(rv_text_to_int64("9223372036854775807", &value), RV_OK);
	assert_true(value == INT64_MAX);
	assert_int_equal(rv_text_to_int64("9223372036854775808", &value), RV_ERR_RANGE);
	assert_int_equal(rv_text_to_int64("1.0", &value), RV_ERR_SYNTAX);
}

static void the_nearest_word_is_offered_only_for_slips(void **state)
{
	static const char *const known[] = {"tension", "payout", "travel", "turns"};

	(void)state;
	assert_string_equal(rv_text_nearest("tensoin", known, 4), "tension");
	assert_string_equal(rv_text_nearest("pay_out", known, 4), "payout");
	assert_null(rv_text_nearest("speed", known, 4));
	assert_int_equal(rv_text_distance("abc", "acb"), 1);
	assert_int_equal(rv_text_distance("", "abc"), 3);
}

static void text_grows_and_stays_terminated(void **state)
{
	struct rv_text text = {0};

	(void)state;
	for (int i = 0; i < 1000; i++)
		rv_text_add(&text, "%d,", i);
	assert_int_equal(text.len, 3890);
	assert_int_equal(text.data[text.len], 0);
	rv_text_clear(&text);
	rv_text_add_bytes(&text, "ab", 2);
	assert_string_equal(text.data, "ab");
	rv_text_free(&text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(numbers_are_read_whole_or_refused),
	    cmocka_unit_test(short_numbers_are_what_the_c_library_reads),
	    cmocka_unit_test(whole_numbers_keep_every_digit),
	    cmocka_unit_test(the_nearest_word_is_offered_only_for_slips),
	    cmocka_unit_test(text_grows_and_stays_terminated),
	};

	return cmocka_run_group_tests_name("text", tests, NULL, NULL);
}
