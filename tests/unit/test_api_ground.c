/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Requests about the rig on the ground: its plan, its drawing, another in its place.
 */
#include "tests/rvtest.h"

#include <jansson.h>
#include <string.h>

#include "tests/unit/api_bench.h"

/* The reply's JSON; the caller decrefs. */
static json_t *ask(const struct bench *bench, const char *method, const char *path,
		   const char *body, int *status)
{
	const struct rv_api_request request = {.method = method,
					       .path = path,
					       .body = body,
					       .body_len = strlen(body),
					       .from_loopback = true,
					       .by_whom = "this machine"};
	struct rv_api_reply reply;
	json_error_t why;

	rv_api_answer(&bench->api, &request, &reply);
	*status = reply.status;
	assert_string_equal(reply.type, "application/json");
	json_t *json = json_loads(reply.body.data, 0, &why);
	assert_non_null(json);
	rv_text_free(&reply.body);
	return json;
}

static double number_at(const json_t *json, const char *list, const char *key)
{
	return json_number_value(
	    json_object_get(json_array_get(json_object_get(json, list), 0), key));
}

static void the_rig_comes_with_its_plan_and_its_drawing(void **state)
{
	const struct bench *bench = *state;
	const struct rv_api_request request = {.method = "GET", .path = "/api/rig.svg", .body = ""};
	struct rv_api_reply reply;
	int status;

	json_t *rig = ask(bench, "GET", "/api/rig", "", &status);
	json_t *plan = json_object_get(rig, "plan");
	assert_near("resists", number_at(plan, "loads", "resists_n"), 46000.0, 1e-6);
	assert_true(json_is_null(json_object_get(rig, "plan_refused")));
	json_decref(rig);
	rv_api_answer(&bench->api, &request, &reply);
	assert_int_equal(reply.status, 200);
	assert_string_equal(reply.type, "image/svg+xml");
	assert_int_equal(strncmp(reply.body.data, "<svg ", 5), 0);
	assert_non_null(strstr(reply.body.data, "First to reach its limit: eye shackle"));
	rv_text_free(&reply.body);
}

#define RIG(resists)                                                                               \
	"points:\\n  a: {at: [0, 0]}\\n  b: {at: [9, 0], moves_with: cart}\\n"                     \
	"loads: {cart: {travels: [-1, 0]" resists "}}\\n"                                          \
	"winches: {drum: {at: a}}\\nlines: {wire: {path: [drum, b]}}\\n"

static void a_plan_is_for_what_was_sent(void **state)
{
	static const struct {
		const char *label, *body;
		double pull_n;
	} cases[] = {
	    {"the rig on the ground", "{\"line_pull_n\": 20000}", 20000.0},
	    {"by name", "{\"line_pull_n\": {\"drum\": 21000}}", 21000.0},
	    {"a cell", "{\"cell_n\": {\"lead\": 19000}}", 19000.0},
	    {"a rig sent", "{\"rig\": \"" RIG(", resists: 5 kN") "\"}", 5000.0},
	    {"a rig sent and a force", "{\"rig\": \"" RIG("") "\", \"resist_n\": 6000}", 6000.0},
	};
	const struct bench *bench = *state;
	int status, before, after;

	rv_engine_rig_done(bench->engine, rv_engine_rig(bench->engine, &before));
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		json_t *plan = ask(bench, "POST", "/api/plan", cases[i].body, &status);

		assert_near(cases[i].label, status, 200, 0.0);
		assert_near(cases[i].label, number_at(plan, "winches", "line_pull_n"),
			    cases[i].pull_n, 1e-6);
		json_decref(plan);
	}
	rv_engine_rig_done(bench->engine, rv_engine_rig(bench->engine, &after));
	assert_int_equal(before, after);
}

static void what_cannot_be_done_is_told_with_its_place(void **state)
{
	static const struct {
		const char *label, *method, *path, *body;
		int status;
		const char *code;
		int line;
	} cases[] = {
	    {"a key of the rig", "POST", "/api/plan",
	     "{\"rig\": \"points:\\n  a: {at: [0, 0], wlll: 3 kN}\\nlines: {}\\n\"}", 422, NULL, 2},
	    {"no force", "POST", "/api/plan", "{\"rig\": \"" RIG("") "\"}", 422, "forces_missing",
	     0},
	    {"an unknown winch", "POST", "/api/plan", "{\"line_pull_n\": {\"dram\": 1}}", 422,
	     "name_unknown", 0},
	    {"a cell without a name", "POST", "/api/plan", "{\"cell_n\": 1000}", 422,
	     "name_missing", 0},
	    {"a force of zero", "POST", "/api/plan", "{\"resist_n\": 0}", 422, "range", 0},
	    {"a force that is text", "POST", "/api/plan", "{\"resist_n\": \"1 kN\"}", 422, "syntax",
	     0},
	    {"a key nobody knows", "POST", "/api/plan", "{\"resists_n\": 1}", 422, "unknown", 0},
	    {"no travel", "POST", "/api/plan", "{\"travel_m\": -1}", 422, "range", 0},
	    {"nothing chosen", "PUT", "/api/rig", "{}", 422, "missing", 0},
	    {"two chosen", "PUT", "/api/rig", "{\"own\": true, \"file\": \"a.yaml\"}", 422,
	     "missing", 0},
	    {"not a choice", "PUT", "/api/rig", "{\"own\": false}", 422, "missing", 0},
	    {"no folder", "PUT", "/api/rig", "{\"file\": \"a.yaml\"}", 404, "not_found", 0},
	    {"a rig that is none", "PUT", "/api/rig", "{\"rig\": \"points: 3\"}", 422, NULL, 1},
	    {"another rig was seen", "PUT", "/api/rig", "{\"own\": true, \"seen\": {\"rig\": 7}}",
	     409, "stale", 0},
	    {"a wrong method", "DELETE", "/api/rig", "{}", 405, "method", 0},
	};
	const struct bench *bench = *state;

	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		int status;
		json_t *json = ask(bench, cases[i].method, cases[i].path, cases[i].body, &status);
		json_t *error = json_object_get(json, "error");
		const char *code = json_string_value(json_object_get(error, "code"));

		assert_near(cases[i].label, status, cases[i].status, 0.0);
		assert_near(cases[i].label,
			    (double)json_integer_value(json_object_get(error, "line")),
			    cases[i].line, 0.0);
		if (cases[i].code && (!code || strcmp(code, cases[i].code) != 0)) {
			print_error("%s: %s\n", cases[i].label, code);
			fail();
		}
		json_decref(json);
	}
}

static void write_rig(const struct bench *bench, const char *name, const char *text)
{
	char path[256];

	snprintf(path, sizeof path, "%s/%s", bench->folder, name);
	FILE *file = fopen(path, "w");
	assert_non_null(file);
	fputs(text, file);
	fclose(file);
}

static void remove_rig(const struct bench *bench, const char *name)
{
	char path[256];

	snprintf(path, sizeof path, "%s/%s", bench->folder, name);
	unlink(path);
}

static const char other_rig[] =
    "rig: another\n"
    "points: {a: {at: [0, 0]}, t: {at: [0, 9]}, b: {at: [30, 0], moves_with: cart}}\n"
    "loads: {cart: {travels: [-1, 0], resists: 5 kN}}\n"
    "winches: {drum: {at: a}}\n"
    "blocks: {k: {at: b, efficiency: 0.95}}\n"
    "lines: {wire: {path: [drum, k, t]}}\n"
    "cells: {lead: {in: wire, leg: 2}, anchor: {holds: t}}\n";

static const char *name_at(const json_t *cells, const char *list, const char *key)
{
	return json_string_value(
	    json_object_get(json_array_get(json_object_get(cells, list), 0), key));
}

static void a_rig_file_is_laid_and_taken_back(void **state)
{
	struct bench *bench = *state;
	char rig_path[160];
	int status, number = 0;

	snprintf(rig_path, sizeof rig_path, "%s/own.yaml", bench->folder);
	bench->api.rig_path = rig_path;
	write_rig(bench, "other.yaml", other_rig);
	write_rig(bench, "broken.yaml", "points: {a: {at: [0]}}\n");
	write_rig(bench, ".hidden.yaml", other_rig);
	json_t *json = ask(bench, "GET", "/api/rigs", "", &status);
	json_t *rigs = json_object_get(json, "rigs");
	assert_int_equal(json_array_size(rigs), 2);
	assert_string_equal(name_at(json, "rigs", "file"), "broken.yaml");
	assert_true(json_is_object(json_object_get(json_array_get(rigs, 0), "error")));
	assert_string_equal(json_string_value(json_object_get(json_array_get(rigs, 1), "name")),
			    "another");
	json_decref(json);

	json = ask(bench, "PUT", "/api/rig", "{\"file\": \".hidden.yaml\"}", &status);
	assert_int_equal(status, 404);
	json_decref(json);
	json = ask(bench, "PUT", "/api/rig", "{\"file\": \"other.yaml\", \"seen\": {\"rig\": 0}}",
		   &status);
	json_t *cells = json_object_get(json, "cells");
	assert_int_equal(status, 200);
	assert_string_equal(json_string_value(json_object_get(json, "name")), "another");
	assert_string_equal(name_at(cells, "moved", "name"), "lead");
	assert_string_equal(name_at(cells, "moved", "from"), "wire, part 1");
	assert_string_equal(name_at(cells, "moved", "to"), "wire, part 2");
	assert_string_equal(json_string_value(json_array_get(json_object_get(cells, "gone"), 0)),
			    "dead");
	assert_string_equal(json_string_value(json_array_get(json_object_get(cells, "added"), 0)),
			    "anchor");
	assert_true(json_is_true(json_object_get(json, "committed")));
	json_decref(json);
	json = ask(bench, "PUT", "/api/rig", "{\"own\": true}", &status);
	assert_int_equal(status, 200);
	assert_string_equal(json_string_value(json_object_get(json, "name")),
			    "two-part line, block on the load");
	json_decref(json);
	rv_engine_rig_done(bench->engine, rv_engine_rig(bench->engine, &number));
	assert_int_equal(number, 2);
	remove_rig(bench, "other.yaml");
	remove_rig(bench, "broken.yaml");
	remove_rig(bench, ".hidden.yaml");
}

static void planning_needs_no_key_but_laying_a_rig_does(void **state)
{
	static const struct {
		const char *method, *path, *body;
		int status;
	} cases[] = {
	    {"POST", "/api/plan", "{\"line_pull_n\": 20000}", 200},
	    {"PUT", "/api/rig", "{\"own\": true}", 401},
	};
	const struct bench *bench = *state;

	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		const struct rv_api_request request = {.method = cases[i].method,
						       .path = cases[i].path,
						       .body = cases[i].body,
						       .body_len = strlen(cases[i].body),
						       .by_whom = "192.0.2.7"};
		struct rv_api_reply reply;
		rv_api_answer(&bench->api, &request, &reply);
		assert_int_equal(reply.status, cases[i].status);
		rv_text_free(&reply.body);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test_setup_teardown(the_rig_comes_with_its_plan_and_its_drawing,
					    api_bench_setup, api_bench_teardown),
	    cmocka_unit_test_setup_teardown(a_plan_is_for_what_was_sent, api_bench_setup,
					    api_bench_teardown),
	    cmocka_unit_test_setup_teardown(what_cannot_be_done_is_told_with_its_place,
					    api_bench_setup, api_bench_teardown),
	    cmocka_unit_test_setup_teardown(a_rig_file_is_laid_and_taken_back, api_bench_setup,
					    api_bench_teardown),
	    cmocka_unit_test_setup_teardown(planning_needs_no_key_but_laying_a_rig_does,
					    api_bench_setup, api_bench_teardown),
	};

	return cmocka_run_group_tests_name("api_ground", tests, NULL, NULL);
}
