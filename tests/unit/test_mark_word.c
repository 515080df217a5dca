/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "core/mark_word.h"

static void words_are_known_however_they_are_written(void **state)
{
	static const struct {
		const char *text;
		enum rv_mark_word word;
	} cases[] = {
	    {"hauling in", RV_MARK_HAULING},
	    {"  Haul-Start. ", RV_MARK_HAULING},
	    {"PAYING  OUT", RV_MARK_PAYING_OUT},
	    {"stop", RV_MARK_STOPPED},
	    {"Cells exchanged", RV_MARK_EXCHANGED},
	    {"rigged anew", RV_MARK_RIGGED_ANEW},
	    {"", RV_MARK_NOTE},
	    {" - ", RV_MARK_NOTE},
	    {"hauling in, wet rope", RV_MARK_NOTE},
	    {"stopped because the shackle looked odd to me", RV_MARK_NOTE},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		if (rv_mark_word(cases[i].text) != cases[i].word)
			fail_msg("\"%s\"", cases[i].text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(words_are_known_however_they_are_written),
	};

	return cmocka_run_group_tests_name("mark_word", tests, NULL, NULL);
}
