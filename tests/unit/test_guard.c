/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <crypt.h>
#include <string.h>

#include "daemon/guard.h"

/* A request of the station's own page, to be changed in one place. */
static struct rv_guard_request own(void)
{
	return (struct rv_guard_request){
	    .method = "POST",
	    .path = "/api/runs",
	    .host = "127.0.0.1:8750",
	    .hosts = 1,
	    .content_type = "application/json",
	    .content_length = "2",
	    .content_lengths = 1,
	    .from_loopback = true,
	    .at = "127.0.0.1",
	    .port = 8750,
	};
}

static int judged(struct rv_guard_request request)
{
	struct rv_error error;
	int status = 0;

	return rv_guard_judge(&request, &status, &error) == RV_OK ? 0 : status;
}

static void only_the_station_itself_is_a_host(void **state)
{
	static const struct {
		const char *label, *host, *at;
		bool from_loopback;
		int port, status;
	} cases[] = {
	    {"by number", "127.0.0.1:8750", "127.0.0.1", true, 8750, 0},
	    {"by name", "localhost:8750", "127.0.0.1", true, 8750, 0},
	    {"name in capitals", "LOCALHOST:8750", "127.0.0.1", true, 8750, 0},
	    {"IPv6", "[::1]:8750", "::1", true, 8750, 0},
	    {"port 80 unsaid", "localhost", "127.0.0.1", true, 80, 0},
	    {"port unsaid", "localhost", "127.0.0.1", true, 8750, 403},
	    {"other port", "localhost:80", "127.0.0.1", true, 8750, 403},
	    {"longer name", "localhost.evil.example:8750", "127.0.0.1", true, 8750, 403},
	    {"empty", "", "127.0.0.1", true, 8750, 403},
	    {"from outside by number", "192.0.2.7:8750", "192.0.2.7", false, 8750, 0},
	    {"from outside, mapped", "192.0.2.7:8750", "::ffff:192.0.2.7", false, 8750, 0},
	    {"from outside, IPv6", "[2001:db8::7]:8750", "2001:db8::7", false, 8750, 0},
	    {"from outside as localhost", "localhost:8750", "192.0.2.7", false, 8750, 403},
	    {"from outside, other number", "192.0.2.8:8750", "192.0.2.7", false, 8750, 403},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_guard_request request = own();
		request.host = cases[i].host;
		request.at = cases[i].at;
		request.from_loopback = cases[i].from_loopback;
		request.port = cases[i].port;
		if (judged(request) != cases[i].status)
			print_error("%s\n", cases[i].label);
		assert_int_equal(judged(request), cases[i].status);
	}
}

static void two_hosts_are_refused_even_when_both_are_right(void **state)
{
	struct rv_guard_request request = own();

	(void)state;
	request.hosts = 2;
	assert_int_equal(judged(request), 403);
	request.hosts = 0;
	request.host = NULL;
	assert_int_equal(judged(request), 403);
}

static void a_foreign_page_gets_nothing_done(void **state)
{
	static const struct {
		const char *origin, *site;
		int status;
	} cases[] = {
	    {NULL, NULL, 0},
	    {"http://127.0.0.1:8750", "same-origin", 0},
	    {NULL, "none", 0},
	    {"http://127.0.0.1:8751", NULL, 403},
	    {"https://127.0.0.1:8750", NULL, 403},
	    {"http://localhost:8750", NULL, 403}, /* another origin than the Host's */
	    {"null", NULL, 403},
	    {"", NULL, 403},
	    {NULL, "cross-site", 403},
	    {NULL, "same-site", 403},
	    {"http://127.0.0.1:8750", "cross-site", 403},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_guard_request request = own();
		request.origin = cases[i].origin;
		request.origins = cases[i].origin != NULL;
		request.fetch_site = cases[i].site;
		assert_int_equal(judged(request), cases[i].status);
	}
}

static void bodies_are_json_of_a_known_and_bounded_length(void **state)
{
	static const struct {
		const char *label, *type, *length;
		int lengths, encodings, status;
	} cases[] = {
	    {"plain", "application/json", "2", 1, 0, 0},
	    {"with charset", "application/json; charset=utf-8", "2", 1, 0, 0},
	    {"capitals", "Application/JSON", "2", 1, 0, 0},
	    {"empty", "application/json", "0", 1, 0, 0},
	    {"longest", "application/json", "65536", 1, 0, 0},
	    {"too long", "application/json", "65537", 1, 0, 413},
	    {"far too long", "application/json", "99999999999999999999", 1, 0, 400},
	    {"negative", "application/json", "-1", 1, 0, 400},
	    {"no number", "application/json", "2x", 1, 0, 400},
	    {"none", "application/json", NULL, 0, 0, 411},
	    {"two", "application/json", "2", 2, 0, 400},
	    {"chunked too", "application/json", "2", 1, 1, 400},
	    {"text", "text/plain", "2", 1, 0, 415},
	    {"no type", NULL, "2", 1, 0, 415},
	    {"longer type", "application/json5", "2", 1, 0, 415},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_guard_request request = own();
		request.content_type = cases[i].type;
		request.content_length = cases[i].length;
		request.content_lengths = cases[i].lengths;
		request.transfer_encodings = cases[i].encodings;
		if (judged(request) != cases[i].status)
			print_error("%s\n", cases[i].label);
		assert_int_equal(judged(request), cases[i].status);
	}
}

static void loopback_is_told_from_the_rest(void **state)
{
	(void)state;
	assert_true(rv_guard_is_loopback("127.0.0.1"));
	assert_true(rv_guard_is_loopback("127.9.8.7"));
	assert_true(rv_guard_is_loopback("::1"));
	assert_true(rv_guard_is_loopback("::ffff:127.0.0.1"));
	assert_false(rv_guard_is_loopback("192.0.2.7"));
	assert_false(rv_guard_is_loopback("::ffff:192.0.2.7"));
	assert_false(rv_guard_is_loopback("::"));
	assert_false(rv_guard_is_loopback("0.0.0.0"));
	assert_false(rv_guard_is_loopback(""));
}

static void a_key_fits_its_own_hash_alone(void **state)
{
	struct crypt_data work = {0};
	char hash[512];

	(void)state;
	snprintf(hash, sizeof hash, "%s", crypt_r("right key", "$6$reevetest$", &work));
	assert_true(rv_guard_key_fits("right key", hash));
	assert_false(rv_guard_key_fits("right kez", hash));
	assert_false(rv_guard_key_fits("", hash));
	assert_false(rv_guard_key_fits(NULL, hash));
	assert_false(rv_guard_key_fits("right key", ""));
	assert_false(rv_guard_key_fits("right key", "right key"));
	assert_false(rv_guard_key_fits("*0", "*0"));
	hash[strlen(hash) - 1] = '\0';
	assert_false(rv_guard_key_fits("right key", hash));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(only_the_station_itself_is_a_host),
	    cmocka_unit_test(two_hosts_are_refused_even_when_both_are_right),
	    cmocka_unit_test(a_foreign_page_gets_nothing_done),
	    cmocka_unit_test(bodies_are_json_of_a_known_and_bounded_length),
	    cmocka_unit_test(loopback_is_told_from_the_rest),
	    cmocka_unit_test(a_key_fits_its_own_hash_alone),
	};

	return cmocka_run_group_tests_name("guard", tests, NULL, NULL);
}
