/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "daemon/modbus_probe.h"

/* Independent of the code under test: function by space, length of the data in bytes. */
static bool answers_alike(const struct rv_regs_request *a, const struct rv_regs_request *b)
{
	bool bits = a->space == RV_REGISTER_DISCRETE || a->space == RV_REGISTER_COIL;
	int a_bytes = bits ? (a->count + 7) / 8 : 2 * a->count;
	int b_bytes = bits ? (b->count + 7) / 8 : 2 * b->count;

	return a->space == b->space && a_bytes == b_bytes;
}

static void no_probe_is_answered_like_an_ordinary_question_or_another_probe(void **state)
{
	static const struct {
		const char *label;
		int requests;
		struct rv_regs_request request[3];
	} cases[] = {
	    {"one register", 1, {{RV_REGISTER_INPUT, 7, 1}}},
	    {"one number", 1, {{RV_REGISTER_HOLDING, 0, 2}}},
	    {"a full block", 1, {{RV_REGISTER_INPUT, 0, 125}}},
	    {"two blocks", 2, {{RV_REGISTER_INPUT, 0, 4}, {RV_REGISTER_INPUT, 40, 2}}},
	    {"one bit", 1, {{RV_REGISTER_DISCRETE, 0, 1}}},
	    {"all kinds",
	     3,
	     {{RV_REGISTER_HOLDING, 0, 1}, {RV_REGISTER_INPUT, 0, 1}, {RV_REGISTER_COIL, 0, 1}}},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_regs_plan plan = {.requests = cases[i].requests};
		struct rv_modbus_probes probes;
		for (int k = 0; k < plan.requests; k++)
			plan.request[k] = cases[i].request[k];
		rv_modbus_probe_choose(&probes, &plan);
		if (probes.count < 2)
			fail_msg("%s: no probe but the last resort", cases[i].label);
		assert_true(probes.probe[probes.count - 1].is_plain);
		for (int p = 0; p < probes.count - 1; p++) {
			const struct rv_modbus_probe *probe = &probes.probe[p];
			bool is_own = true;
			assert_false(probe->is_plain);
			assert_in_range(probe->request.count, 1, 125);
			for (int k = 0; k < plan.requests; k++) {
				assert_false(answers_alike(&probe->request, &plan.request[k]));
				is_own = is_own && probe->request.space != plan.request[k].space;
			}
			assert_int_equal(probe->is_own_function, is_own);
			for (int q = 0; q < p; q++)
				assert_false(
				    answers_alike(&probe->request, &probes.probe[q].request));
		}
	}
}

static void probes_take_turns_and_refused_ones_are_left_out(void **state)
{
	struct rv_regs_plan plan = {.requests = 1, .request = {{RV_REGISTER_INPUT, 0, 4}}};
	struct rv_modbus_probes probes;

	(void)state;
	rv_modbus_probe_choose(&probes, &plan);
	struct rv_modbus_probe *first = rv_modbus_probe_next(&probes);
	assert_ptr_not_equal(rv_modbus_probe_next(&probes), first);
	first->is_refused = true;
	for (int i = 0; i < 2 * probes.count; i++)
		assert_ptr_not_equal(rv_modbus_probe_next(&probes), first);
	plan.requests = 0;
	rv_modbus_probe_choose(&probes, &plan);
	assert_null(rv_modbus_probe_next(&probes));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(no_probe_is_answered_like_an_ordinary_question_or_another_probe),
	    cmocka_unit_test(probes_take_turns_and_refused_ones_are_left_out),
	};

	return cmocka_run_group_tests_name("modbus probe", tests, NULL, NULL);
}
