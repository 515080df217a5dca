/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is said of a run afterwards: struck pulls and estimates, each row beside the others.
 */
#include "tests/record_help.h"

static char path[300];
static struct rv_station *station;
static struct rv_store *store;
static struct rv_error error;

static int64_t at(double seconds)
{
	return RECORD_T0_US + (int64_t)(seconds * 1e6);
}

static int set_up(void **state)
{
	const struct rv_store_opening opening = {.t_us = at(0), .name = "dry", .how = "by hand"};

	(void)state;
	memset(&error, 0, sizeof error);
	station = record_station(0);
	record_path(path, sizeof path, "yard.db");
	assert_int_equal(rv_store_open_writer(path, &store, NULL), RV_OK);
	assert_int_equal(rv_store_set_station(store, station, "", at(0), NULL), RV_OK);
	assert_int_equal(rv_store_begin(store, NULL), RV_OK);
	assert_int_equal(rv_store_open_run(store, &opening, NULL), RV_OK);
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

static enum rv_err say(int64_t run, int64_t pull, double start_s, const char *reason)
{
	struct rv_store_strike strike = {
	    .run = run, .pull = pull, .start_us = at(start_s), .t_us = at(100)};

	snprintf(strike.reason, sizeof strike.reason, "%s", reason);
	return rv_store_add_strike(store, &strike, &error);
}

static void the_latest_word_on_a_pull_holds_and_none_is_overwritten(void **state)
{
	static const struct {
		const char *label;
		double start_s;
		const char *reason; /* NULL: not struck */
	} cases[] = {
	    {"struck twice: the later reason", 10.0, "kinked after all"},
	    {"seen a little later by another pair of cells", 10.9, "kinked after all"},
	    {"a little earlier", 9.2, "kinked after all"},
	    {"struck and taken back", 30.0, NULL},
	    {"taken back and struck again", 50.0, "the load caught"},
	    {"never spoken of", 20.0, NULL},
	    {"more than a second off", 11.5, NULL},
	};
	struct rv_store_strike *strikes = NULL;
	size_t count = 0;

	(void)state;
	assert_int_equal(say(1, 1, 10, "kink"), RV_OK);
	assert_int_equal(say(1, 3, 50, "slipped"), RV_OK);
	assert_int_equal(say(1, 2, 30, "wrong load"), RV_OK);
	assert_int_equal(say(1, 1, 10, "kinked after all"), RV_OK);
	assert_int_equal(say(1, 2, 30, ""), RV_OK);
	assert_int_equal(say(1, 3, 50, ""), RV_OK);
	assert_int_equal(say(1, 3, 50, "the load caught"), RV_OK);
	assert_int_equal(rv_store_strikes(store, 1, &strikes, &count, NULL), RV_OK);
	assert_int_equal(count, 7);
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		const struct rv_store_strike *found =
		    rv_store_strike_of(strikes, count, at(cases[i].start_s));
		const char *reason = found ? found->reason : NULL;

		if (!reason != !cases[i].reason || (reason && strcmp(reason, cases[i].reason) != 0))
			fail_msg("%s: got %s, want %s", cases[i].label, reason ? reason : "none",
				 cases[i].reason ? cases[i].reason : "none");
	}
	free(strikes);
	assert_int_equal(rv_store_strikes(store, 2, &strikes, &count, NULL), RV_OK);
	assert_int_equal(count, 0);
	free(strikes);
	assert_null(rv_store_strike_of(NULL, 0, at(10)));
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	assert_string_equal(record_ask(path, "SELECT count(*), count(reason) FROM strike"), "7|5");
}

static void a_pull_of_no_run_cannot_be_struck(void **state)
{
	(void)state;
	assert_int_equal(say(7, 1, 10, "kink"), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "constraint");
	assert_int_equal(say(1, 0, 10, "kink"), RV_ERR_REFUSED);
}

static void estimates_stand_beside_each_other(void **state)
{
	struct rv_store_estimate *estimates = NULL;
	size_t count = 0;
	char runs[] = "1", both[] = "1+2", asked[] = "{}", later[] = "{\"motion\":\"marks\"}";
	char first[] = "{\"mode\":\"hauls\"}", second[] = "{\"mode\":\"cycles\"}";

	(void)state;
	assert_int_equal(
	    rv_store_add_estimate(
		store, &(struct rv_store_estimate){at(1), runs, asked, NULL, first}, NULL),
	    RV_OK);
	assert_int_equal(
	    rv_store_add_estimate(
		store, &(struct rv_store_estimate){at(2), runs, later, NULL, second}, NULL),
	    RV_OK);
	assert_int_equal(
	    rv_store_add_estimate(
		store, &(struct rv_store_estimate){at(3), both, asked, NULL, first}, NULL),
	    RV_OK);
	assert_int_equal(rv_store_estimates(store, "1", &estimates, &count, NULL), RV_OK);
	assert_int_equal(count, 2);
	assert_string_equal(estimates[0].result, first);
	assert_string_equal(estimates[1].result, second);
	assert_string_equal(estimates[1].asked, later);
	assert_true(estimates[0].made_us == at(1) && estimates[1].made_us == at(2));
	assert_int_equal(strncmp(estimates[0].made_by, "reeve ", 6), 0);
	rv_store_estimates_free(estimates, count);
}

static int always(void *arg)
{
	++*(int *)arg;
	return 1;
}

static void a_long_question_can_be_given_up(void **state)
{
	struct rv_store *reader = NULL;
	struct rv_store_strike *strikes = NULL;
	size_t count = 0;
	int asked = 0;

	(void)state;
	for (int i = 0; i < 5000; i++)
		assert_int_equal(say(1, 1, 10, "kink"), RV_OK);
	assert_int_equal(rv_store_commit(store, NULL), RV_OK);
	assert_int_equal(rv_store_open_reader(path, &reader, NULL), RV_OK);
	rv_store_stop_when(reader, always, &asked);
	assert_int_equal(rv_store_strikes(reader, 1, &strikes, &count, &error), RV_ERR_STORE);
	assert_true(asked > 0);
	assert_null(strikes);
	rv_store_stop_when(reader, NULL, NULL);
	assert_int_equal(rv_store_strikes(reader, 1, &strikes, &count, NULL), RV_OK);
	assert_int_equal(count, 5000);
	free(strikes);
	rv_store_close(reader);
}

int main(void)
{
#define SAID_TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
	const struct CMUnitTest tests[] = {
	    SAID_TEST(the_latest_word_on_a_pull_holds_and_none_is_overwritten),
	    SAID_TEST(a_pull_of_no_run_cannot_be_struck),
	    SAID_TEST(estimates_stand_beside_each_other),
	    SAID_TEST(a_long_question_can_be_given_up),
	};

	return cmocka_run_group_tests_name("store_said", tests, NULL, NULL);
}
