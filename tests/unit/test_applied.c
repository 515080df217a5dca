/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/applied.h"

static enum rv_err read_text(const char *text, struct rv_applied *applied, struct rv_error *error)
{
	return rv_applied_read(text, strlen(text), applied, error);
}

static void columns_may_stand_in_any_order(void **state)
{
	struct rv_applied applied;
	struct rv_error error = {0};

	(void)state;
	assert_int_equal(read_text("direction,u_load_n,reading,series,u_reading,load_n\r\n"
				   "up,0,8388,morning,0.5,0\r\n"
				   "down,1.5,-12.25,\"after, noon\",0.25,1e3\r\n"
				   "up,1.5,7,morning,0.25,2000",
				   &applied, &error),
			 RV_OK);
	assert_int_equal(applied.count, 3);
	assert_int_equal(applied.series, 2);
	assert_string_equal(applied.name[0], "morning");
	assert_string_equal(applied.name[1], "after, noon");
	assert_true(applied.has_series && applied.has_way && applied.has_u_reading &&
		    applied.has_u_load);
	const struct rv_applied_load *load = &applied.load[1];
	assert_near("load", load->load_n, 1000.0, 0.0);
	assert_near("reading", load->reading, -12.25, 0.0);
	assert_near("u_reading", load->u_reading, 0.25, 0.0);
	assert_near("u_load", load->u_load_n, 1.5, 0.0);
	assert_int_equal(load->series, 1);
	assert_int_equal(load->way, RV_APPLIED_DOWN);
	assert_int_equal(load->line, 3);
	assert_int_equal(applied.load[2].series, 0);
	rv_applied_free(&applied);
}

static void what_is_not_there_is_unknown(void **state)
{
	struct rv_applied applied;

	(void)state;
	assert_int_equal(read_text("load_n;reading\n0;1,5\n10;2,5\n", &applied, NULL), RV_OK);
	assert_near("decimal comma", applied.load[1].reading, 2.5, 0.0);
	assert_near("u_reading", applied.load[0].u_reading, (double)NAN, 0.0);
	assert_near("u_load", applied.load[0].u_load_n, (double)NAN, 0.0);
	assert_int_equal(applied.load[0].way, RV_APPLIED_UNSAID);
	assert_int_equal(applied.series, 1);
	assert_false(applied.has_series || applied.has_way || applied.has_u_reading);
	rv_applied_free(&applied);
}

static void more_rows_or_series_than_fit_are_refused_at_their_line(void **state)
{
	struct rv_text text = {0};
	struct rv_applied applied = {.count = 77};
	struct rv_error error = {0};

	(void)state;
	rv_text_add(&text, "load_n,reading\n");
	for (int i = 0; i < RV_APPLIED_MOST; i++)
		rv_text_add(&text, "%d,%d\n", i, 2 * i);
	assert_int_equal(read_text(text.data, &applied, &error), RV_OK);
	assert_int_equal(applied.count, RV_APPLIED_MOST);
	rv_applied_free(&applied);
	rv_text_add(&text, "1,2\n");
	applied.count = 77;
	assert_int_equal(read_text(text.data, &applied, &error), RV_ERR_RANGE);
	assert_string_equal(error.tag, "too_many");
	assert_int_equal(error.line, RV_APPLIED_MOST + 2);
	assert_int_equal(applied.count, 77);
	rv_text_clear(&text);
	rv_text_add(&text, "load_n,reading,series\n");
	for (int i = 0; i <= RV_APPLIED_SERIES; i++)
		rv_text_add(&text, "%d,%d,s%d\n", i, 2 * i, i);
	assert_int_equal(read_text(text.data, &applied, &error), RV_ERR_RANGE);
	assert_int_equal(error.line, RV_APPLIED_SERIES + 2);
	assert_int_equal(error.column, 8);
	rv_text_free(&text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(columns_may_stand_in_any_order),
	    cmocka_unit_test(what_is_not_there_is_unknown),
	    cmocka_unit_test(more_rows_or_series_than_fit_are_refused_at_their_line),
	};

	return cmocka_run_group_tests_name("applied", tests, NULL, NULL);
}
