/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Requests without a network: who needs the key, and what a reply says.  The engine is played.
 */
#include "tests/rvtest.h"

#include <crypt.h>
#include <jansson.h>
#include <string.h>
#include <sys/stat.h>

#include "tests/unit/api_bench.h"

static void write_key(const struct bench *bench, const char *key, mode_t mode)
{
	struct crypt_data work = {0};
	FILE *file = fopen(bench->key_path, "w");

	assert_non_null(file);
	fprintf(file, "%s\n", crypt_r(key, "$6$reevetest$", &work));
	fclose(file);
	assert_int_equal(chmod(bench->key_path, mode), 0);
}

/* The status of a mark made from outside; *code gets the error's word. */
static int mark_from_outside(const struct bench *bench, const char *key, char code[64])
{
	static const char body[] = "{\"text\":\"here\"}";
	const struct rv_api_request request = {
	    .method = "POST",
	    .path = "/api/marks",
	    .body = body,
	    .body_len = sizeof body - 1,
	    .key = key,
	    .by_whom = "192.0.2.7",
	};
	struct rv_api_reply reply;
	json_error_t why;

	rv_api_answer(&bench->api, &request, &reply);
	json_t *json = json_loads(reply.body.data, 0, &why);
	const char *word =
	    json_string_value(json_object_get(json_object_get(json, "error"), "code"));
	snprintf(code, 64, "%s", word ? word : "");
	json_decref(json);
	rv_text_free(&reply.body);
	return reply.status;
}

static void a_change_from_outside_needs_the_key(void **state)
{
	const struct bench *bench = *state;
	char code[64];

	assert_int_equal(mark_from_outside(bench, "any", code), 401);
	assert_string_equal(code, "no_key_made");
	write_key(bench, "right", 0600);
	assert_int_equal(mark_from_outside(bench, NULL, code), 401);
	assert_string_equal(code, "key_missing");
	assert_int_equal(mark_from_outside(bench, "wrong", code), 403);
	assert_string_equal(code, "key_wrong");
	assert_int_equal(mark_from_outside(bench, "right", code), 201);
	write_key(bench, "another", 0600);
	assert_int_equal(mark_from_outside(bench, "right", code), 403);
	assert_int_equal(mark_from_outside(bench, "another", code), 201);
}

static void a_key_file_that_others_can_read_is_not_trusted(void **state)
{
	const struct bench *bench = *state;
	char code[64];

	write_key(bench, "right", 0644);
	assert_int_equal(mark_from_outside(bench, "right", code), 403);
	assert_string_equal(code, "key_file");
}

static void guessing_keys_is_slowed_down(void **state)
{
	const struct bench *bench = *state;
	char code[64];

	write_key(bench, "right", 0600);
	for (int i = 0; i < 5; i++)
		assert_int_equal(mark_from_outside(bench, "wrong", code), 403);
	assert_int_equal(mark_from_outside(bench, "wrong", code), 429);
	/* The right one is no exception: else the wait would tell right from wrong. */
	assert_int_equal(mark_from_outside(bench, "right", code), 429);
}

static void reading_needs_no_key(void **state)
{
	static const char *const paths[] = {"/api/alarms", "/api/rig", "/api/rig.svg", "/api/rigs",
					    "/api/devices"};
	const struct bench *bench = *state;

	for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
		const struct rv_api_request request = {
		    .method = "GET", .path = paths[i], .body = "", .by_whom = "192.0.2.7"};
		struct rv_api_reply reply;
		rv_api_answer(&bench->api, &request, &reply);
		assert_int_equal(reply.status, 200);
		rv_text_free(&reply.body);
	}
}

static void the_rig_is_told_from_the_winch_on(void **state)
{
	const struct bench *bench = *state;
	const struct rv_api_request request = {.method = "GET", .path = "/api/rig", .body = ""};
	struct rv_api_reply reply;
	json_error_t why;

	rv_api_answer(&bench->api, &request, &reply);
	json_t *json = json_loads(reply.body.data, 0, &why);
	json_t *path = json_array_get(json_object_get(json, "paths"), 0);
	json_t *steps = json_object_get(path, "steps");
	assert_string_equal(json_string_value(json_object_get(path, "winch")), "drum");
	assert_int_equal(json_array_size(steps), 3);
	assert_string_equal(json_string_value(json_object_get(json_array_get(steps, 0), "kind")),
			    "winch");
	assert_true(json_is_true(json_object_get(json_array_get(steps, 1), "moves")));
	assert_false(json_is_true(json_object_get(json_array_get(steps, 2), "moves")));
	assert_near("warning", json_real_value(json_object_get(json, "warning_ratio")), 0.8, 0.0);
	assert_int_equal(json_array_size(json_object_get(json, "not_rated")), 2);
	json_decref(json);
	rv_text_free(&reply.body);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test_setup_teardown(a_change_from_outside_needs_the_key, api_bench_setup,
					    api_bench_teardown),
	    cmocka_unit_test_setup_teardown(a_key_file_that_others_can_read_is_not_trusted,
					    api_bench_setup, api_bench_teardown),
	    cmocka_unit_test_setup_teardown(guessing_keys_is_slowed_down, api_bench_setup,
					    api_bench_teardown),
	    cmocka_unit_test_setup_teardown(reading_needs_no_key, api_bench_setup,
					    api_bench_teardown),
	    cmocka_unit_test_setup_teardown(the_rig_is_told_from_the_winch_on, api_bench_setup,
					    api_bench_teardown),
	};

	return cmocka_run_group_tests_name("api", tests, NULL, NULL);
}
