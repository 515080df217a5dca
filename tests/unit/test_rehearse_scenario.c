/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_scenario.h"

#include <string.h>

#include "tests/rvtest.h"

static const char good[] = "scenario: small\n"					 /* 1 */
			   "lasts: 10 s\n"					 /* 2 */
			   "line:\n"						 /* 3 */
			   "  stiffness: 500 kN\n"				 /* 4 */
			   "  legs: [{length: 20 m, pulls_load: true}]\n"	 /* 5 */
			   "  sheaves: []\n"					 /* 6 */
			   "load: {mass: 2 t, pulls_back: 300 daN}\n"		 /* 7 */
			   "winch: {ramp: 500 ms, moves: [{hold: 1 min}]}\n"	 /* 8 */
			   "cells: {lead: {legs: [1], noise: 10 N}}\n"		 /* 9 */
			   "instruments:\n"					 /* 10 */
			   "  box:\n"						 /* 11 */
			   "    link: serial-text\n"				 /* 12 */
			   "    wire: box\n"					 /* 13 */
			   "    refresh: 20 ms\n"				 /* 14 */
			   "    line: \"{pull:8.1} {pull:unit}\\r\\n\"\n"	 /* 15 */
			   "    fields: {pull: {shows: cell lead, unit: kg}}\n"; /* 16 */

static void a_scenario_is_read_in_si(void **state)
{
	static struct rv_rehearse_scenario s;
	struct rv_error error = {0};

	(void)state;
	if (rv_rehearse_scenario_read(good, strlen(good), &s, &error) != RV_OK)
		fail_msg("%d:%d: %s", error.line, error.column, error.text);
	assert_string_equal(s.name, "small");
	assert_near("stiffness", s.line.stiffness_n, 500e3, 1e-9);
	assert_near("mass", s.load.mass_kg, 2000, 1e-9);
	assert_near("pulls back", s.load.pulls_back_n, 3000, 1e-9);
	assert_near("ramp", s.winch.ramp_s, 0.5, 1e-12);
	assert_near("hold", s.winch.move[0].wait_s, 60, 1e-12);
	assert_near("kg shown as force", s.instrument[0].field[0].per_count, 9.80665, 1e-12);
	assert_int_equal(s.rounds, 1);
}

/* Every row puts one fault into the good text. */
static void a_fault_is_refused_with_its_place(void **state)
{
	static const struct {
		const char *was, *becomes;
		int line;
		const char *says;
	} rows[] = {
	    {"stiffness: 500 kN", "stiffness: 500", 4, "unit"},
	    {"stiffness: 500 kN", "stiffness: 500 kg", 4, "unit"},
	    {"stiffness", "stifness", 4, "stiffness"},
	    {"sheaves: []", "sheaves: [0.95]", 6, "0 sheaves"},
	    {"mass: 2 t", "mass: -2 t", 7, "above 0"},
	    {"{hold: 1 min}", "{hold: 1 min, haul: 2}", 8, "one of"},
	    {"legs: [1]", "legs: [2]", 9, "legs 1 to 1"},
	    {"link: serial-text", "link: serial", 12, "serial-text"},
	    {"wire: box", "wire: ../box", 13, "file name"},
	    {"{pull:8.1}", "{push:8.1}", 15, "push"},
	    {"{pull:8.1}", "{pull:eight}", 15, "eight"},
	    {"cell lead", "cell leed", 16, "leed"},
	    {"unit: kg", "unit: stone", 16, "stone"},
	    {"lasts: 10 s\n", "lasts: 10 s\nlasts: 9 s\n", 3, "twice"},
	    {"lasts: 10 s\n", "", 1, "lasts"},
	    {"link: serial-text", "link: [serial-text", 0, ""},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		static struct rv_rehearse_scenario s;
		struct rv_error error = {0};
		char text[2048];
		const char *at = strstr(good, rows[i].was);
		assert_non_null(at);
		int len = snprintf(text, sizeof text, "%.*s%s%s", (int)(at - good), good,
				   rows[i].becomes, at + strlen(rows[i].was));
		print_message("%s\n", rows[i].becomes);
		assert_int_not_equal(rv_rehearse_scenario_read(text, (size_t)len, &s, &error),
				     RV_OK);
		if (rows[i].line)
			assert_int_equal(error.line, rows[i].line);
		if (!strstr(error.text, rows[i].says))
			fail_msg("%s: says \"%s\"", rows[i].becomes, error.text);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_scenario_is_read_in_si),
	    cmocka_unit_test(a_fault_is_refused_with_its_place),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
