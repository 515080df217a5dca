/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_line.h"

#include "tests/rvtest.h"

/* 4903.325 N are 500 kgf (standard gravity, exact) or 1102.31 lbf (pound 0.45359237 kg). */
static struct rv_rehearse_instrument scale(const char *line)
{
	struct rv_rehearse_instrument scale = {.link = RV_REHEARSE_TEXT, .fields = 2};

	snprintf(scale.line, sizeof scale.line, "%s", line);
	scale.field[0] =
	    (struct rv_rehearse_field){.name = "pull", .unit = "kg", .per_count = 9.80665};
	scale.field[1] = (struct rv_rehearse_field){.name = "n", .per_count = 1};
	return scale;
}

static void a_template_becomes_a_line(void **state)
{
	static const struct {
		const char *label, *template, *other_unit, *line;
	} rows[] = {
	    {"plain", "C{n}\r\n", NULL, "C-7\r\n"},
	    {"width and places", "<{pull:8.1}>", NULL, "<   500.0>"},
	    {"with its sign", "{pull:+8.2}", NULL, " +500.00"},
	    {"sign, no width", "{n:+}|", NULL, "-7|"},
	    {"its unit", "{pull:1.0} {pull:unit}", NULL, "500 kg"},
	    {"in another unit", "{pull:1.2} {pull:unit}", "lb", "1102.31 lb"},
	    {"a count has no unit to change", "{n}{n:unit}", "lb", "-7"},
	    {"a brace alone", "a{b", NULL, "a{b"},
	};
	const double shown[] = {500, -7};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct rv_rehearse_instrument instrument = scale(rows[i].template);
		char line[RV_REHEARSE_LINE];
		print_message("%s\n", rows[i].label);
		assert_int_equal(
		    rv_rehearse_line_compose(&instrument, shown, rows[i].other_unit, line, NULL),
		    RV_OK);
		assert_string_equal(line, rows[i].line);
	}
}

static void a_template_of_unknown_places_is_refused(void **state)
{
	static const char *const rows[] = {"{push}", "{pull:x}",    "{pull:8.}x}",
					   "{}",     "{pull:99.1}", "{pull:8.1.1}"};
	const double shown[] = {500, -7};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct rv_rehearse_instrument instrument = scale(rows[i]);
		char line[RV_REHEARSE_LINE];
		struct rv_error error = {0};
		enum rv_err err = rv_rehearse_line_compose(&instrument, shown, NULL, line, &error);
		print_message("%s: %s\n", rows[i], error.text);
		assert_int_equal(err, i == 2 ? RV_OK : RV_ERR_UNKNOWN);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_template_becomes_a_line),
	    cmocka_unit_test(a_template_of_unknown_places_is_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
