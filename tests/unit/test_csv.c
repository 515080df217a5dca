/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "core/csv.h"
#include "core/text.h"

/* The rows of a table, fields between bars, rows between semicolon-free line ends: "a|b\nc|d\n"; or
 * "LINE:COLUMN what" where it is refused.  Fed `piece` bytes at a time. */
static void read_in_pieces(const char *table, size_t len, size_t piece, struct rv_text *out)
{
	struct rv_csv *csv = NULL;
	struct rv_csv_row row;
	struct rv_error error = {0};
	size_t at = 0;
	enum rv_err err = rv_csv_new(&csv);

	assert_int_equal(err, RV_OK);
	while ((err = rv_csv_next(csv, &row, &error)) == RV_OK || err == RV_ERR_AGAIN) {
		if (err == RV_ERR_AGAIN) {
			/* A copy that is given back: the parser may not look at it later. */
			size_t part = len - at < piece ? len - at : piece;
			static char *fed;
			free(fed);
			fed = malloc(part + 1);
			memcpy(fed, table + at, part);
			rv_csv_feed(csv, fed, part);
			at += part;
			continue;
		}
		for (size_t i = 0; i < row.count; i++) {
			rv_text_add(out, "%s", i ? "|" : "");
			rv_text_add_bytes(out, row.field[i].text, row.field[i].len);
			assert_int_equal(strlen(row.field[i].text), row.field[i].len);
		}
		rv_text_add(out, "\n");
	}
	if (err != RV_ERR_CLOSED)
		rv_text_add(out, "%d:%d %s", error.line, error.column, error.text);
	rv_csv_free(csv);
}

static void expect(const char *table, size_t len, const char *want)
{
	static const size_t pieces[] = {1, 2, 3, 7, 100000};

	for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++) {
		struct rv_text got = {0};
		rv_text_add(&got, "%s", "");
		read_in_pieces(table, len, pieces[i], &got);
		if (strcmp(got.data ? got.data : "", want) != 0)
			fail_msg("in pieces of %zu: %s\ngot:\n%s\nwant:\n%s", pieces[i], table,
				 got.data, want);
		rv_text_free(&got);
	}
}

static void tables_are_read_after_rfc_4180(void **state)
{
	static const struct {
		const char *table, *want;
	} cases[] = {
	    {"a,b\r\nc,d\r\n", "a|b\nc|d\n"},
	    {"a,b\nc,d", "a|b\nc|d\n"},
	    {"\xef\xbb\xbf"
	     "a,b\n1,2\n",
	     "a|b\n1|2\n"},
	    {"a,b\r\n,\r\n", "a|b\n|\n"},
	    {"a\r\n\r\nb\r\n", "a\n\nb\n"},
	    {"\"a,x\",\"b\"\"c\"\r\n\"1\r\n2\",\r\n", "a,x|b\"c\n1\r\n2|\n"},
	    {"a,b\n\"\",\"\"", "a|b\n|\n"},
	    {"a;b\n1,5;2\n", "a|b\n1,5|2\n"},
	    {"Force, kN;b\n1;2\n", "Force, kN|b\n1|2\n"},
	    {"a, b, c;d;e, f\n1;2;3\n", "a, b, c|d|e, f\n1|2|3\n"},
	    {"\"a;b\",c\n1,2\n", "a;b|c\n1|2\n"},
	    {"a,b\n1,2\n\n\r\n", "a|b\n1|2\n"},
	    {" a , b \n", " a | b \n"},
	    {"", ""},
	    {"a,b\n1\n", "a|b\n2:1 1 fields, and the first line has 2"},
	    {"a,b\n1,2,3\n", "a|b\n2:1 3 fields, and the first line has 2"},
	    {"a,b\n\n1,2\n", "a|b\n2:1 an empty line between rows; remove it"},
	    {"a,b\n1,x\"y\n", "a|b\n2:4 a quote inside a field that does not begin with one"},
	    {"a,b\n\"1\"x,2\n", "a|b\n2:4 text behind a closing quote"},
	    {"a,b\n1,\"2\n3\n", "a|b\n2:3 a quote that is never closed"},
	    {"a,b\r1,2\r", "1:5 a CR without its LF; lines end in CR LF or LF"},
	    {"a,b\r", "1:5 a CR without its LF; lines end in CR LF or LF"},
	    {"\"a\",b;c\n",
	     "1:5 a comma beside a quoted field, and fields are parted by semicolons "
	     "here"},
	    {"\xff\xfe"
	     "a",
	     "1:1 UTF-16 text; save the table as UTF-8"},
	    {"\xef\xbb"
	     "a",
	     "1:1 a cut byte order mark: this is no text in UTF-8"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		expect(cases[i].table, strlen(cases[i].table), cases[i].want);
}

static void a_zero_byte_is_no_text(void **state)
{
	(void)state;
	expect("a,b\n1,\0002\n", 9, "a|b\n2:3 a zero byte: this is no text in UTF-8");
	expect("a,b\n\"1\0\",2\n", 11, "a|b\n2:3 a zero byte: this is no text in UTF-8");
}

static void a_row_has_an_end(void **state)
{
	size_t len = RV_CSV_ROW_BYTES + 10;
	char *table = malloc(len);

	(void)state;
	memset(table, 'x', len);
	memcpy(table, "a\n\"", 3);
	expect(table, len,
	       "a\n2:1 a row longer than 65536 bytes; is a quote missing at the end of a field?");
	memset(table, ',', len);
	expect(table, len, "1:1025 more than 1024 fields in one row");
	free(table);
}

static void numbers_are_whole_fields(void **state)
{
	static const struct {
		const char *table; /* the numbers stand in its second line */
		double first, second;
		const char *refused;
	} cases[] = {
	    {"a,b\n1.5,-2e3\n", 1.5, -2000.0, NULL},
	    {"a;b\n1,5;-2,25e-3\n", 1.5, -0.00225, NULL},
	    {"a;b\n1.5;7\n", 1.5, 7.0, NULL},
	    {"a;b\n7;1,5\n", 7.0, 1.5, NULL},
	    {"a;b\n1,5;1.5\n", 0, 0,
	     "2:5 \"1.5\" has another decimal sign than the numbers before it"},
	    {"a;b\n1.234,5;1\n", 0, 0,
	     "2:1 \"1.234,5\" is no number; one is written such as 12.5 or 12,5"},
	    {"a;b\n1,234,5;1\n", 0, 0,
	     "2:1 \"1,234,5\" has two decimal signs; write it without thousands signs"},
	    {"a,b\n\"1,5\",1\n", 0, 0,
	     "2:1 \"1,5\" is no number; one is written such as 12.5 or 1.25e3"},
	    {"a,b\n1 ,2\n", 0, 0, "2:1 \"1 \" is no number; one is written such as 12.5 or 1.25e3"},
	    {"a,b\n1,nan\n", 0, 0,
	     "2:3 \"nan\" is no number; one is written such as 12.5 or 1.25e3"},
	    {"a,b\n1,\n", 0, 0, "2:3 \"\" where a number is needed"},
	    {"a,b\n1e999,1\n", 0, 0, "2:1 \"1e999\" is beyond what a number can hold"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_csv *csv = NULL;
		struct rv_csv_row row;
		struct rv_error error = {0};
		double got[2] = {-7.0, -7.0};
		assert_int_equal(rv_csv_new(&csv), RV_OK);
		rv_csv_feed(csv, cases[i].table, strlen(cases[i].table));
		assert_int_equal(rv_csv_next(csv, &row, &error), RV_OK);
		assert_int_equal(rv_csv_next(csv, &row, &error), RV_OK);
		enum rv_err err = rv_csv_number(csv, &row.field[0], &got[0], &error);
		if (err == RV_OK)
			err = rv_csv_number(csv, &row.field[1], &got[1], &error);
		if (cases[i].refused) {
			char text[500];
			snprintf(text, sizeof text, "%d:%d %s", error.line, error.column,
				 error.text);
			assert_string_equal(text, cases[i].refused);
		} else {
			assert_int_equal(err, RV_OK);
			assert_near(cases[i].table, got[0], cases[i].first, 0.0);
			assert_near(cases[i].table, got[1], cases[i].second, 0.0);
		}
		rv_csv_free(csv);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(tables_are_read_after_rfc_4180),
	    cmocka_unit_test(a_zero_byte_is_no_text),
	    cmocka_unit_test(a_row_has_an_end),
	    cmocka_unit_test(numbers_are_whole_fields),
	};

	return cmocka_run_group_tests_name("csv", tests, NULL, NULL);
}
