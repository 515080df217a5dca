/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "daemon/pace.h"

static void slots_are_absolute_and_those_that_passed_are_counted(void **state)
{
	static const struct {
		const char *label;
		int64_t now_ns;
		int passed;
		int64_t due_ns;
	} steps[] = {
	    {"the first slot is now", 1000, 0, 1010},
	    {"none has begun", 1009, -1, 1010},
	    {"late within its slot", 1017, 0, 1020},
	    {"on time", 1020, 0, 1030},
	    {"held up for three and a half", 1065, 3, 1070},
	    {"and on as before", 1070, 0, 1080},
	    {"a long stop is not made up for", 9001000, 899992, 9001010},
	};
	struct rv_pace pace;

	(void)state;
	rv_pace_init(&pace, 10e-9, 1000);
	for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
		int passed = rv_pace_take(&pace, steps[i].now_ns);
		if (passed != steps[i].passed || pace.due_ns != steps[i].due_ns)
			fail_msg("%s: %d passed, next at %lld", steps[i].label, passed,
				 (long long)pace.due_ns);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(slots_are_absolute_and_those_that_passed_are_counted),
	};

	return cmocka_run_group_tests_name("pace", tests, NULL, NULL);
}
