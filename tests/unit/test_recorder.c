/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The recorder thread on a real file.  No test waits for a time to pass: tickets say when something
 * is committed.
 */
#include "tests/record_help.h"

#include "daemon/clock.h"
#include "daemon/recorder.h"

#define SOON_NS INT64_C(20000000000)

static char path[300];
static struct rv_station *station;
static struct rv_recorder *recorder;
static struct rv_recorder_start found;

static void start(void)
{
	struct rv_error error = {0};

	if (rv_recorder_open(path, station, "station: Test yard\n", &recorder, &found, &error) !=
	    RV_OK)
		print_error("%s\n", error.text);
	assert_non_null(recorder);
	rv_clock_fix(found.newest_us);
	assert_int_equal(rv_recorder_start(recorder, NULL), RV_OK);
}

static void stop(void)
{
	free(found.rig_text);
	free(found.open_run_rig);
	memset(&found, 0, sizeof found);
	rv_recorder_stop(recorder);
	recorder = NULL;
}

static int set_up(void **state)
{
	(void)state;
	station = record_station(0);
	record_path(path, sizeof path, "yard.db");
	start();
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	stop();
	record_remove(path);
	free(station);
	return 0;
}

static int64_t now_us(void)
{
	return rv_clock_row_us(rv_clock_mono_ns());
}

/* Puts an entry and waits for its commit. */
static enum rv_err put_and_wait(struct rv_entry entry)
{
	struct rv_ticket *ticket = NULL;

	assert_int_equal(rv_ticket_new(&ticket), RV_OK);
	entry.ticket = ticket;
	if (!entry.t_us)
		entry.t_us = now_us();
	(void)rv_recorder_put(recorder, &entry);
	return rv_ticket_wait(ticket, rv_clock_mono_ns() + SOON_NS);
}

static struct rv_entry a_mark(const char *text)
{
	struct rv_entry entry = {.kind = RV_ENTRY_MARK, .mark = {.travel_m = (double)NAN}};

	snprintf(entry.mark.text, sizeof entry.mark.text, "%s", text);
	return entry;
}

static struct rv_entry a_run(int64_t number, const char *name)
{
	struct rv_entry entry = {.kind = RV_ENTRY_RUN_OPEN, .run_open = {.number = number}};

	snprintf(entry.run_open.name, sizeof entry.run_open.name, "%s", name);
	snprintf(entry.run_open.how, sizeof entry.run_open.how, "by hand");
	snprintf(entry.run_open.rig_name, sizeof entry.run_open.rig_name, "two-part");
	entry.run_open.rig_text = strdup("rig: two-part\n");
	return entry;
}

static void put_cells(int64_t t_us, int64_t lead)
{
	struct rv_entry entry = {
	    .kind = RV_ENTRY_MESSAGE, .t_us = t_us, .message = record_cells(lead, 1)};

	assert_int_equal(rv_recorder_put(recorder, &entry), RV_OK);
}

static void what_a_ticket_acknowledges_is_in_the_record(void **state)
{
	struct rv_recorder_state now;

	(void)state;
	int64_t t_us = now_us();
	put_cells(t_us + 2000, 2);
	put_cells(t_us + 1000, 1);
	put_cells(t_us + 2000, 3);
	assert_int_equal(put_and_wait(a_mark("rope wetted")), RV_OK);
	assert_string_equal(record_ask(path, "SELECT group_concat(v1) FROM narrow"), "1,2,3");
	assert_string_equal(record_ask(path, "SELECT max(t_us) - min(t_us) FROM narrow"), "1001");
	assert_string_equal(record_ask(path, "SELECT text, travel_m FROM mark"),
			    "rope wetted|null");
	rv_recorder_state(recorder, &now);
	assert_int_equal(now.readings, 6);
	assert_int_equal(now.lost, 0);
	assert_false(now.failing);
	assert_string_equal(record_ask(path, "SELECT what FROM device_event"), "start");
	assert_string_equal(record_ask(path, "SELECT count(*), why FROM clock_anchor"), "1|start");
}

static void an_entry_the_record_refuses_harms_no_other(void **state)
{
	(void)state;
	assert_false(rv_recorder_knows_run(recorder, "dry"));
	assert_int_equal(put_and_wait(a_run(1, "dry")), RV_OK);
	assert_true(rv_recorder_knows_run(recorder, "dry"));
	put_cells(now_us(), 1);
	assert_int_equal(put_and_wait(a_run(2, "wet")), RV_ERR_REFUSED);
	struct rv_entry strange = {.kind = RV_ENTRY_MESSAGE, .message = record_cells(1, 1)};
	strange.message.device = 9;
	assert_int_equal(put_and_wait(strange), RV_ERR_REFUSED);
	assert_int_equal(put_and_wait(a_mark("after")), RV_OK);
	assert_string_equal(record_ask(path, "SELECT count(*) FROM reading WHERE run = 1"), "2");
	assert_string_equal(
	    record_ask(path, "SELECT count(*) FROM device_event WHERE what = 'refused'"), "2");
}

static void a_restart_goes_on_with_the_open_run(void **state)
{
	(void)state;
	assert_int_equal(put_and_wait(a_run(1, "dry")), RV_OK);
	struct rv_entry wrap = {
	    .kind = RV_ENTRY_CONVERSION,
	    .conversion = {.channel = 2, .conversion = {.a = {32.768, 0.0005}, .degree = 1}}};
	assert_int_equal(put_and_wait(wrap), RV_OK);
	put_cells(now_us(), 1);
	stop();
	start();
	assert_int_equal(found.open_run, 1);
	assert_string_equal(found.open_run_name, "dry");
	assert_string_equal(found.open_run_how, "by hand");
	assert_string_equal(found.open_run_rig, "rig: two-part\n");
	assert_int_equal(found.ended_run, 0);
	assert_int_equal(found.readings, 2);
	assert_false(found.unclean);
	assert_near("the wrap is kept", found.in_force[2].conversion.a[0], 32.768, 0.0);
	assert_true(rv_recorder_knows_run(recorder, "dry"));
	put_cells(now_us(), 2);
	assert_int_equal(put_and_wait(a_mark("x")), RV_OK);
	assert_string_equal(record_ask(path, "SELECT run, count(*) FROM reading"), "1|4");
	assert_string_equal(record_ask(path, "SELECT count(*) FROM stream"), "2");
	assert_string_equal(record_ask(path, "SELECT count(*) FROM calibration"), "3");
}

static void a_restart_with_another_calibration_ends_the_run_at_its_last_reading(void **state)
{
	(void)state;
	assert_int_equal(put_and_wait(a_run(1, "dry")), RV_OK);
	int64_t t_us = now_us();
	put_cells(t_us, 1);
	stop();
	station->channel[0].calibration.conversion.a[1] = 12.6;
	start();
	assert_int_equal(found.open_run, 0);
	assert_int_equal(found.ended_run, 1);
	assert_string_equal(found.ended_why, "channel lead: its calibration is another");
	put_cells(now_us(), 1);
	assert_int_equal(put_and_wait(a_mark("x")), RV_OK);
	assert_string_equal(record_ask(path,
				       "SELECT to_us - (SELECT min(t_us) FROM narrow), ended FROM "
				       "run"),
			    "1|other channels");
	assert_string_equal(
	    record_ask(path, "SELECT run, value FROM reading WHERE channel = 'lead' ORDER BY t_us"),
	    "1|-104837.5\nnull|-104837.39999999999");
	assert_string_equal(record_ask(path, "SELECT count(*) FROM calibration"), "4");
	assert_string_equal(record_ask(path, "SELECT count(*) FROM stream"), "2");
}

static void another_layout_is_another_stream(void **state)
{
	(void)state;
	put_cells(now_us(), 1);
	stop();
	record_add_channel(station, "spare", RV_TENSION, 0, 1.0);
	start();
	put_cells(now_us(), 1);
	assert_int_equal(put_and_wait(a_mark("x")), RV_OK);
	assert_string_equal(record_ask(path, "SELECT group_concat(stream) FROM narrow"), "1,3");
	assert_string_equal(record_ask(path, "SELECT count(*) FROM reading"), "4");
}

static void a_rig_set_from_the_page_is_found_again(void **state)
{
	struct rv_entry rig = {.kind = RV_ENTRY_RIG, .rig = {.by_page = true, .name = "spanish"}};

	(void)state;
	assert_false(found.rig_is_set);
	rig.rig.text = strdup("rig: spanish\n");
	assert_int_equal(put_and_wait(rig), RV_OK);
	stop();
	start();
	assert_true(found.rig_is_set);
	assert_string_equal(found.rig_text, "rig: spanish\n");
	assert_string_equal(found.rig_name, "spanish");
	struct rv_entry own = {.kind = RV_ENTRY_RIG, .rig = {.by_page = false, .name = "two"}};
	own.rig.text = strdup("rig: two\n");
	assert_int_equal(put_and_wait(own), RV_OK);
	stop();
	start();
	assert_false(found.rig_is_set);
}

static void a_deleted_record_is_noticed_and_nothing_that_waits_is_lost(void **state)
{
	struct rv_recorder_state now;
	char name[320];

	(void)state;
	assert_int_equal(put_and_wait(a_run(1, "dry")), RV_OK);
	put_cells(now_us(), 1);
	assert_int_equal(put_and_wait(a_mark("before")), RV_OK);
	assert_int_equal(unlink(path), 0);
	put_cells(now_us(), 2);
	/* The first commit after the file went must not acknowledge anything. */
	assert_int_equal(put_and_wait(a_mark("after")), RV_OK);
	assert_string_equal(record_ask(path, "SELECT group_concat(text) FROM mark"), "after");
	assert_string_equal(
	    record_ask(path, "SELECT run, value FROM reading WHERE channel = 'lead'"), "1|-104825");
	assert_string_equal(record_ask(path, "SELECT name, rig_text FROM run"),
			    "dry|rig: two-part\n");
	assert_string_equal(record_ask(path, "PRAGMA integrity_check"), "ok");
	rv_recorder_state(recorder, &now);
	assert_false(now.failing);
	snprintf(name, sizeof name, "%s-wal.left", path);
	assert_int_equal(access(name, F_OK), 0);
}

static void a_second_writer_is_refused(void **state)
{
	struct rv_recorder *second = NULL;
	struct rv_recorder_start other;
	struct rv_error error = {0};

	(void)state;
	assert_int_equal(rv_recorder_open(path, station, "", &second, &other, &error), RV_ERR_BUSY);
	assert_non_null(strstr(error.text, "another program"));
}

static void what_the_full_ring_drops_is_counted_in_the_record(void **state)
{
	struct rv_recorder_state now;
	sqlite3 *db = NULL;
	int64_t refused = 0;

	(void)state;
	assert_int_equal(put_and_wait(a_mark("x")), RV_OK);
	/* Somebody else's lock keeps the recorder from writing while the ring runs full. */
	assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
	assert_int_equal(sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_OK);
	int64_t t_us = now_us();
	for (int i = 0; i < 70000; i++) {
		struct rv_entry entry = {
		    .kind = RV_ENTRY_MESSAGE, .t_us = t_us + i, .message = record_payout(i)};
		refused += rv_recorder_put(recorder, &entry) == RV_ERR_AGAIN;
	}
	struct rv_ticket *ticket = NULL;
	assert_int_equal(rv_ticket_new(&ticket), RV_OK);
	struct rv_entry mark = a_mark("no room");
	mark.ticket = ticket;
	assert_int_equal(rv_recorder_put(recorder, &mark), RV_ERR_AGAIN);
	assert_int_equal(rv_ticket_wait(ticket, rv_clock_mono_ns() + SOON_NS), RV_ERR_STORE);
	sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL);
	sqlite3_close(db);
	assert_true(refused >= 70000 - 65536);
	rv_recorder_state(recorder, &now);
	assert_int_equal(now.lost, refused + 1);
	stop();
	char want[64];
	snprintf(want, sizeof want, "%lld|%lld", (long long)(70000 - refused),
		 (long long)(refused + 1));
	assert_string_equal(record_ask(path,
				       "SELECT count(*), (SELECT sum(count) FROM device_event "
				       "WHERE what = 'lost') FROM narrow"),
			    want);
	start();
}

int main(void)
{
#define RECORDER_TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
	const struct CMUnitTest tests[] = {
	    RECORDER_TEST(what_a_ticket_acknowledges_is_in_the_record),
	    RECORDER_TEST(an_entry_the_record_refuses_harms_no_other),
	    RECORDER_TEST(a_restart_goes_on_with_the_open_run),
	    RECORDER_TEST(a_restart_with_another_calibration_ends_the_run_at_its_last_reading),
	    RECORDER_TEST(another_layout_is_another_stream),
	    RECORDER_TEST(a_rig_set_from_the_page_is_found_again),
	    RECORDER_TEST(a_deleted_record_is_noticed_and_nothing_that_waits_is_lost),
	    RECORDER_TEST(a_second_writer_is_refused),
	    RECORDER_TEST(what_the_full_ring_drops_is_counted_in_the_record),
	};

	return cmocka_run_group_tests_name("recorder", tests, NULL, NULL);
}
