/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/quantity.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

/* kgf, lbf, foot and inch: exact by their definitions (standard gravity 9.80665 m/s2, pound
 * 0.45359237 kg, foot 0.3048 m), worked out by hand; as printed in NIST SP 811 Appendix B.8:
 * lbf 4.448 222 N, kgf 9.806 65 N, ft 0.3048 m, in 2.54 cm (from memory, not re-read). */
static void every_unit_comes_out_in_si(void **state)
{
	static const struct {
		const char *text;
		enum rv_measure measure;
		double si;
	} cases[] = {
	    {"5", RV_MEASURE_NUMBER, 5.0},
	    {"-2.5e-1", RV_MEASURE_NUMBER, -0.25},
	    {".5", RV_MEASURE_NUMBER, 0.5},
	    {"0.85", RV_MEASURE_RATIO, 0.85},
	    {"85 %", RV_MEASURE_RATIO, 0.85},
	    {"85%", RV_MEASURE_PERCENT, 0.85},
	    {"7 N", RV_MEASURE_FORCE, 7.0},
	    {"7 daN", RV_MEASURE_FORCE, 70.0},
	    {"7kN", RV_MEASURE_FORCE, 7000.0},
	    {"1000kgf", RV_MEASURE_FORCE, 9806.65},
	    {"2 tf", RV_MEASURE_FORCE, 19613.3},
	    {"1 lbf", RV_MEASURE_FORCE, 4.4482216152605},
	    {"3 klbf", RV_MEASURE_FORCE, 13344.6648457815},
	    {"100 kg", RV_MEASURE_STAMPED, 980.665},
	    {"3.25 t", RV_MEASURE_STAMPED, 31871.6125},
	    {"1000 lb", RV_MEASURE_STAMPED, 4448.2216152605},
	    {"5 kN", RV_MEASURE_STAMPED, 5000.0},
	    {"40 kN/s", RV_MEASURE_FORCE_RATE, 40000.0},
	    {"100 kgf/s", RV_MEASURE_FORCE_RATE, 980.665},
	    {"30", RV_MEASURE_LENGTH, 30.0},
	    {"30 m", RV_MEASURE_LENGTH, 30.0},
	    {"98 ft", RV_MEASURE_LENGTH, 29.8704},
	    {"14 mm", RV_MEASURE_LENGTH, 0.014},
	    {"6 cm", RV_MEASURE_LENGTH, 0.06},
	    {"1.2 km", RV_MEASURE_LENGTH, 1200.0},
	    {"10 in", RV_MEASURE_LENGTH, 0.254},
	    {"14", RV_MEASURE_MILLIMETRES, 14.0},
	    {"0.5 in", RV_MEASURE_MILLIMETRES, 12.7},
	    {"0.5 m/s", RV_MEASURE_SPEED, 0.5},
	    {"30 m/min", RV_MEASURE_SPEED, 0.5},
	    {"100 ft/min", RV_MEASURE_SPEED, 0.508},
	    {"10 ms", RV_MEASURE_TIME, 0.01},
	    {"3 s", RV_MEASURE_TIME, 3.0},
	    {"5 min", RV_MEASURE_TIME, 300.0},
	    {"2 h", RV_MEASURE_TIME, 7200.0},
	    {"7 d", RV_MEASURE_TIME, 604800.0},
	    {"6.2 t", RV_MEASURE_MASS, 6200.0},
	    {"80 kg", RV_MEASURE_MASS, 80.0},
	    {"100 lb", RV_MEASURE_MASS, 45.359237},
	    {"3 Hz", RV_MEASURE_RATE, 3.0},
	};

	(void)state;
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct rv_amount amount = {0};
		struct rv_error error = {0};
		if (rv_quantity_read(cases[i].text, cases[i].measure, &amount, &error) != RV_OK)
			print_error("%s: %s\n", cases[i].text, error.text);
		assert_near(cases[i].text, amount.value, cases[i].si,
			    1e-12 * (1.0 + fabs(cases[i].si)));
	}
}

static void what_is_refused_says_why_and_leaves_the_amount_alone(void **state)
{
	static const struct {
		const char *text;
		enum rv_measure measure;
		enum rv_err err;
		const char *tag, *says;
	} cases[] = {
	    {"", RV_MEASURE_FORCE, RV_ERR_SYNTAX, "number", "no number"},
	    {"kN", RV_MEASURE_FORCE, RV_ERR_SYNTAX, "number", "N daN kN"},
	    {"5,2 kN", RV_MEASURE_FORCE, RV_ERR_SYNTAX, "number", "decimal point"},
	    {"1 000 kN", RV_MEASURE_FORCE, RV_ERR_SYNTAX, "number", "no number"},
	    {"1e999 N", RV_MEASURE_FORCE, RV_ERR_SYNTAX, "number", "no number"},
	    {"inf N", RV_MEASURE_FORCE, RV_ERR_SYNTAX, "number", "no number"},
	    {"nan", RV_MEASURE_NUMBER, RV_ERR_SYNTAX, "number", "no number"},
	    {"5", RV_MEASURE_FORCE, RV_ERR_MISSING, "unit_missing", "N daN kN kgf tf lbf klbf"},
	    {"0", RV_MEASURE_FORCE, RV_ERR_MISSING, "unit_missing", "N daN kN"},
	    {"5", RV_MEASURE_TIME, RV_ERR_MISSING, "unit_missing", "ms s min h d"},
	    {"5", RV_MEASURE_PERCENT, RV_ERR_MISSING, "unit_missing", "%"},
	    {"1000 kg", RV_MEASURE_FORCE, RV_ERR_UNKNOWN, "force_in_mass", "write 1000kgf"},
	    {"2.5 t", RV_MEASURE_FORCE, RV_ERR_UNKNOWN, "force_in_mass", "write 2.5tf"},
	    {"500 lb", RV_MEASURE_FORCE, RV_ERR_UNKNOWN, "force_in_mass", "write 500lbf"},
	    {"3 ton", RV_MEASURE_FORCE, RV_ERR_UNKNOWN, "unit_ton",
	     "3tf (metric, 1000 kg each), 6000lbf (short, 2000 lb each) or 6720lbf (long"},
	    {"3 tons", RV_MEASURE_STAMPED, RV_ERR_UNKNOWN, "unit_ton",
	     "3t (metric, 1000 kg each), 6000lb (short, 2000 lb each) or 6720lb (long"},
	    {"3 ton", RV_MEASURE_MASS, RV_ERR_UNKNOWN, "unit_ton", "3t (metric"},
	    {"5 KN", RV_MEASURE_FORCE, RV_ERR_UNKNOWN, "unit_unknown", "did you mean kN?"},
	    {"5 kn", RV_MEASURE_STAMPED, RV_ERR_UNKNOWN, "unit_unknown", "did you mean kN?"},
	    {"5 kN/s", RV_MEASURE_FORCE, RV_ERR_UNKNOWN, "unit_unknown", "no unit of a force"},
	    {"5 kN", RV_MEASURE_FORCE_RATE, RV_ERR_UNKNOWN, "unit_unknown", "kN/s"},
	    {"5 kg/s", RV_MEASURE_FORCE_RATE, RV_ERR_UNKNOWN, "unit_unknown", "kN/s"},
	    {"5 yd", RV_MEASURE_LENGTH, RV_ERR_UNKNOWN, "unit_unknown", "mm cm m km in ft"},
	    {"5 kN", RV_MEASURE_MASS, RV_ERR_UNKNOWN, "unit_unknown", "kg t lb"},
	    {"5 deg", RV_MEASURE_NUMBER, RV_ERR_UNKNOWN, "unit_unknown", "no unit goes here"},
	    {"5 kN m", RV_MEASURE_FORCE, RV_ERR_UNKNOWN, "unit_unknown", "no unit of a force"},
	};

	(void)state;
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct rv_amount amount = {.value = -7.0};
		struct rv_error error = {0};
		enum rv_err err =
		    rv_quantity_read(cases[i].text, cases[i].measure, &amount, &error);
		if (err != cases[i].err || strcmp(error.tag, cases[i].tag) != 0 ||
		    !strstr(error.text, cases[i].says)) {
			print_error("\"%s\": got %d [%s] %s\n", cases[i].text, (int)err, error.tag,
				    error.text);
			fail();
		}
		assert_near(cases[i].text, amount.value, -7.0, 0.0);
	}
}

static void only_a_stamped_mass_is_marked_as_one(void **state)
{
	struct rv_amount amount;

	(void)state;
	assert_int_equal(rv_quantity_read("3.25 t", RV_MEASURE_STAMPED, &amount, NULL), RV_OK);
	assert_true(amount.as_mass);
	assert_int_equal(rv_quantity_read("32 kN", RV_MEASURE_STAMPED, &amount, NULL), RV_OK);
	assert_false(amount.as_mass);
	assert_int_equal(rv_quantity_read("3 t", RV_MEASURE_MASS, &amount, NULL), RV_OK);
	assert_false(amount.as_mass);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(every_unit_comes_out_in_si),
	    cmocka_unit_test(what_is_refused_says_why_and_leaves_the_amount_alone),
	    cmocka_unit_test(only_a_stamped_mass_is_marked_as_one),
	};

	return cmocka_run_group_tests_name("quantity", tests, NULL, NULL);
}
