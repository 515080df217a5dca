/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is opened, what is refused and left as it is, what is upgraded, and what time it was.
 */
#include <sys/stat.h>

#include "schema/store_migrate.h"
#include "tests/record_help.h"

static char path[300];
static struct rv_error error;

static int set_up(void **state)
{
	(void)state;
	memset(&error, 0, sizeof error);
	record_path(path, sizeof path, "yard.db");
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	record_remove(path);
	return 0;
}

static void make_record(void)
{
	struct rv_store *store = NULL;
	struct rv_station *station = record_station(0);
	struct rv_message message = record_cells(1, 2);
	int64_t readings = 0;

	assert_int_equal(rv_store_open_writer(path, &store, NULL), RV_OK);
	assert_int_equal(rv_store_set_station(store, station, "", RECORD_T0_US, NULL), RV_OK);
	assert_int_equal(rv_store_begin(store, NULL), RV_OK);
	for (int i = 0; i < 500; i++)
		assert_int_equal(
		    rv_store_add_message(store, &message, RECORD_T0_US + i, &readings, NULL),
		    RV_OK);
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	rv_store_close(store);
	free(station);
}

static void write_bytes(long offset, const char *bytes, size_t len)
{
	FILE *file = fopen(path, offset >= 0 ? "r+" : "w");

	assert_non_null(file);
	if (offset >= 0)
		assert_int_equal(fseek(file, offset, SEEK_SET), 0);
	assert_int_equal(fwrite(bytes, 1, len, file), len);
	assert_int_equal(fclose(file), 0);
}

static void run_sql(const char *sql)
{
	sqlite3 *db = NULL;

	assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
	assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* FNV-1a of the whole file; 0 when it is not there. */
static uint64_t fingerprint(void)
{
	FILE *file = fopen(path, "r");
	uint64_t hash = UINT64_C(14695981039346656037);

	if (!file)
		return 0;
	for (int byte = fgetc(file); byte != EOF; byte = fgetc(file))
		hash = (hash ^ (uint64_t)byte) * UINT64_C(1099511628211);
	fclose(file);
	return hash;
}

static void a_new_record_is_set_up_as_promised(void **state)
{
	struct stat file;

	(void)state;
	make_record();
	assert_string_equal(record_ask(path, "PRAGMA application_id"), "1919247734"); /* "reev" */
	assert_string_equal(record_ask(path, "PRAGMA user_version"), "2");
	assert_string_equal(record_ask(path, "PRAGMA journal_mode"), "wal");
	assert_string_equal(record_ask(path, "PRAGMA auto_vacuum"), "2");
	assert_string_equal(record_ask(path, "PRAGMA page_size"), "4096");
	assert_string_equal(record_ask(path, "PRAGMA integrity_check"), "ok");
	assert_string_equal(record_ask(path, "PRAGMA foreign_key_check"), "");
	assert_int_equal(stat(path, &file), 0);
	assert_int_equal(file.st_mode & 07, 0);
}

static void make_text(void)
{
	write_bytes(-1, "time_s,lead_n\r\n0,1\r\n", 20);
}

static void make_empty(void)
{
	write_bytes(-1, "", 0);
}

static void make_foreign(void)
{
	run_sql("CREATE TABLE shopping(item TEXT)");
}

static void make_newer(void)
{
	make_record();
	run_sql("PRAGMA user_version = 3");
}

static void make_short(void)
{
	make_record();
	assert_int_equal(truncate(path, 4096 * 5 + 100), 0);
}

static void make_scratched(void)
{
	char rubbish[4096];

	make_record();
	memset(rubbish, 0xa5, sizeof rubbish);
	/* A page of readings: the last one of the file. */
	struct stat file;
	assert_int_equal(stat(path, &file), 0);
	write_bytes(file.st_size - 4096, rubbish, sizeof rubbish);
}

static void make_headless(void)
{
	make_record();
	write_bytes(0, "XXXXXXXXXXXXXXXX", 16);
}

static void what_is_no_sound_record_of_ours_is_refused_and_left_as_it_is(void **state)
{
	static const struct {
		const char *label;
		void (*make)(void);
		const char *tag;
	} cases[] = {
	    {"a text file", make_text, "foreign"},
	    {"an empty file", make_empty, "damaged"},
	    {"another program's file", make_foreign, "foreign"},
	    {"a newer record", make_newer, "newer"},
	    {"half a record", make_short, "damaged"},
	    {"a page of rubbish", make_scratched, "damaged"},
	    {"a record without its head", make_headless, "foreign"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_store *store = NULL;
		cases[i].make();
		uint64_t before = fingerprint();
		enum rv_err err = rv_store_open_writer(path, &store, &error);
		if (err != RV_ERR_REFUSED || strcmp(error.tag, cases[i].tag) != 0)
			print_error("%s: %s: %s\n", cases[i].label, error.tag, error.text);
		assert_int_equal(err, RV_ERR_REFUSED);
		assert_string_equal(error.tag, cases[i].tag);
		assert_non_null(strstr(error.text, "othing was changed"));
		assert_true(fingerprint() == before);
		assert_int_equal(unlink(path), 0);
	}
}

static void a_record_is_written_by_one_at_a_time_and_read_by_many(void **state)
{
	struct rv_store *first = NULL, *second = NULL, *reader = NULL;

	(void)state;
	assert_int_equal(rv_store_open_reader(path, &reader, &error), RV_ERR_MISSING);
	make_record();
	assert_int_equal(rv_store_open_writer(path, &first, NULL), RV_OK);
	assert_int_equal(rv_store_open_writer(path, &second, &error), RV_ERR_BUSY);
	assert_int_equal(rv_store_open_reader(path, &reader, NULL), RV_OK);
	rv_store_close(reader);
	rv_store_close(first);
	assert_int_equal(rv_store_open_writer(path, &second, NULL), RV_OK);
	rv_store_close(second);
}

static void the_log_of_a_deleted_record_is_put_aside(void **state)
{
	char log[320];

	(void)state;
	make_record();
	assert_int_equal(unlink(path), 0);
	snprintf(log, sizeof log, "%s-wal", path);
	FILE *file = fopen(log, "w");
	assert_non_null(file);
	fputs("what the old record had not yet taken in", file);
	fclose(file);
	make_record();
	assert_string_equal(record_ask(path, "PRAGMA integrity_check"), "ok");
	snprintf(log, sizeof log, "%s-wal.left", path);
	assert_int_equal(access(log, F_OK), 0);
}

static const char third_step[] = "ALTER TABLE mark ADD COLUMN colour TEXT;"
				 "UPDATE record SET made_by = made_by || ' and later';";
static const char broken_step[] = "ALTER TABLE mark ADD COLUMN colour TEXT; SELECT no_such_thing;";

static void make_first_version(void)
{
	const struct rv_store_steps first = {.count = 1, .sql = rv_store_steps.sql};
	struct rv_store *store = NULL;

	assert_int_equal(rv_store_open_writer_with(path, &first, &store, NULL), RV_OK);
	rv_store_close(store);
	run_sql("INSERT INTO mark(t_us, text) VALUES(1, 'as it was')");
}

static void a_record_of_the_first_version_gets_strikes_and_estimates(void **state)
{
	struct rv_store *store = NULL;
	char copy[320];

	(void)state;
	make_first_version();
	assert_string_equal(record_ask(path, "PRAGMA user_version"), "1");
	/* A reader changes nothing and says who will. */
	assert_int_equal(rv_store_open_reader(path, &store, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "older");
	assert_int_equal(rv_store_open_writer(path, &store, NULL), RV_OK);
	rv_store_close(store);
	assert_string_equal(record_ask(path, "PRAGMA user_version"), "2");
	assert_string_equal(record_ask(path, "SELECT text FROM mark"), "as it was");
	assert_string_equal(record_ask(path, "SELECT count(*) FROM strike"), "0");
	assert_string_equal(record_ask(path, "SELECT count(*) FROM estimate"), "0");
	snprintf(copy, sizeof copy, "%s.before-1", path);
	assert_string_equal(record_ask(copy, "PRAGMA user_version"), "1");
	assert_string_equal(record_ask(copy, "SELECT text FROM mark"), "as it was");
}

static void an_older_record_is_upgraded_after_a_copy_was_written(void **state)
{
	const char *const texts[] = {rv_store_steps.sql[0], rv_store_steps.sql[1], third_step};
	const struct rv_store_steps steps = {.count = 3, .sql = texts};
	struct rv_store *store = NULL;
	char copy[320];

	(void)state;
	make_record();
	snprintf(copy, sizeof copy, "%s.before-2", path);
	assert_int_equal(rv_store_open_writer_with(path, &steps, &store, NULL), RV_OK);
	rv_store_close(store);
	assert_string_equal(record_ask(path, "PRAGMA user_version"), "3");
	assert_string_equal(record_ask(path, "SELECT count(colour), count(*) FROM mark"), "0|0");
	assert_string_equal(record_ask(path, "SELECT count(*) FROM narrow"), "500");
	assert_string_equal(record_ask(copy, "PRAGMA user_version"), "2");
	assert_string_equal(record_ask(copy, "PRAGMA application_id"), "1919247734");
	assert_string_equal(record_ask(copy, "SELECT count(*) FROM narrow"), "500");
	/* Up to date now: no other copy. */
	assert_int_equal(rv_store_open_writer_with(path, &steps, &store, NULL), RV_OK);
	rv_store_close(store);
	snprintf(copy, sizeof copy, "%s.before-2-2", path);
	assert_int_equal(access(copy, F_OK), -1);
}

static void an_upgrade_that_fails_changes_nothing(void **state)
{
	const char *const texts[] = {rv_store_steps.sql[0], rv_store_steps.sql[1], broken_step};
	const struct rv_store_steps steps = {.count = 3, .sql = texts};
	struct rv_store *store = NULL;

	(void)state;
	make_record();
	assert_int_equal(rv_store_open_writer_with(path, &steps, &store, &error), RV_ERR_STORE);
	assert_null(store);
	assert_string_equal(record_ask(path, "PRAGMA user_version"), "2");
	assert_string_equal(record_ask(path, "SELECT count(*) FROM pragma_table_info('mark') "
					     "WHERE name = 'colour'"),
			    "0");
	assert_int_equal(rv_store_open_writer(path, &store, NULL), RV_OK);
	rv_store_close(store);
}

static void add_anchor(struct rv_store *store, const char *boot, int64_t mono_s, int64_t row_s,
		       int64_t utc_s, bool trusted)
{
	const struct rv_store_anchor anchor = {.boot = boot,
					       .why = "test",
					       .mono_ns = mono_s * INT64_C(1000000000),
					       .t_us = RECORD_T0_US + row_s * RECORD_SECOND_US,
					       .utc_us = RECORD_T0_US + utc_s * RECORD_SECOND_US,
					       .trusted = trusted};

	assert_int_equal(rv_store_add_anchor(store, &anchor, NULL), RV_OK);
}

/* Boot a: at mono 100 the clock said 0 (row 0); at mono 200 a trusted clock said 3600, so it had
 * been 3500 s slow; at mono 300 somebody set it wrong (untrusted).  A restart of the daemon at mono
 * 400 has another row time (its offset is 10 s more).  Boot b never got a trusted clock. */
static void utc_comes_from_the_newest_trusted_anchor_of_the_boot(void **state)
{
	static const struct {
		const char *label;
		int64_t row_s, utc_s;
	} cases[] = {
	    {"before the first anchor", -50, 3450},
	    {"at the first", 0, 3500},
	    {"between", 150, 3650},
	    {"after the restart", 315, 3805},
	    {"the other boot", 5010, 4510},
	};
	struct rv_store *store = NULL;

	(void)state;
	assert_int_equal(rv_store_open_writer(path, &store, NULL), RV_OK);
	assert_int_equal(rv_store_begin(store, NULL), RV_OK);
	add_anchor(store, "a", 100, 0, 0, false);
	add_anchor(store, "a", 200, 100, 3600, true);
	add_anchor(store, "a", 300, 200, 99999, false);
	add_anchor(store, "a", 400, 310, 99, false);
	add_anchor(store, "b", 5, 5000, 1000, false);
	add_anchor(store, "b", 105, 5100, 4600, false);
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		assert_near(cases[i].label,
			    (double)(rv_store_utc_us(store, RECORD_T0_US +
								cases[i].row_s * RECORD_SECOND_US) -
				     RECORD_T0_US) /
				1e6,
			    (double)cases[i].utc_s, 0.0);
	char text[RV_UTC_SIZE];
	rv_store_utc(store, RECORD_T0_US, text);
	assert_string_equal(text, "2026-01-05T08:58:20.000Z");
	rv_store_close(store);
}

int main(void)
{
#define OPEN_TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
	const struct CMUnitTest tests[] = {
	    OPEN_TEST(a_new_record_is_set_up_as_promised),
	    OPEN_TEST(what_is_no_sound_record_of_ours_is_refused_and_left_as_it_is),
	    OPEN_TEST(a_record_is_written_by_one_at_a_time_and_read_by_many),
	    OPEN_TEST(the_log_of_a_deleted_record_is_put_aside),
	    OPEN_TEST(a_record_of_the_first_version_gets_strikes_and_estimates),
	    OPEN_TEST(an_older_record_is_upgraded_after_a_copy_was_written),
	    OPEN_TEST(an_upgrade_that_fails_changes_nothing),
	    OPEN_TEST(utc_comes_from_the_newest_trusted_anchor_of_the_boot),
	};

	return cmocka_run_group_tests_name("store_open", tests, NULL, NULL);
}
