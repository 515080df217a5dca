/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "core/drum.h"
#include "core/units.h"

static const double inch_m = 0.0254, unknown = (double)NAN;

/* US Army TM 9-2320-279-10-2, table 2-7 (the same in TM 9-2320-338-10 and TM 9-2320-430-10), pounds
 * of pull on each layer.  The table does not say drum and line, only their ratio matters: twice the
 * line over drum and line together is 0.1005. */
static void a_published_winch_pulls_less_on_each_layer(void **state)
{
	static const double pull_lb[] = {20000.0, 18173.0, 16663.0, 15361.0, 14254.0};
	struct rv_drum drum = {.diameter_m = 2.0 / 0.1005 - 1.0, .width_m = 20.0, .line_m = 1.0};

	(void)state;
	for (int k = 1; k <= 5; k++)
		assert_near("pull", 20000.0 * rv_drum_pull_ratio(&drum, k), pull_lb[k - 1],
			    0.001 * pull_lb[k - 1]);
}

/* The trade's formula (A + D) A B K feet, A = depth of the flange, D drum, B width, all in inches,
 * K = pi / (12 d^2) (a winch hire firm's page; K derived): 942.5 ft of half-inch line on this drum.
 */
static void a_full_drum_holds_what_the_capacity_formula_says(void **state)
{
	struct rv_drum drum = {10.0 * inch_m, 12.0 * inch_m, 0.5 * inch_m};

	(void)state;
	assert_near("ten layers", rv_drum_holds_m(&drum, 10) / RV_FOOT_M, 942.5, 0.05);
}

static void the_layer_follows_from_what_lies_on_the_drum(void **state)
{
	/* 25 turns to a layer; by hand: pi 25 k (0.2 + 0.01 k). */
	static const struct rv_drum drum = {0.2, 0.25, 0.01};
	static const struct {
		const char *label;
		double on_drum_m;
		int layer;
	} cases[] = {
	    {"nothing", 0.0, 1},
	    {"one layer less a bit", 16.48, 1},
	    {"one layer and a bit", 16.50, 2},
	    {"two layers less a bit", 34.55, 2},
	    {"two layers and a bit", 34.56, 3},
	    {"more than any drum", 1e9, RV_DRUM_LAYERS + 1},
	    {"not known", (double)NAN, 0},
	};

	(void)state;
	assert_near("first", rv_drum_holds_m(&drum, 1), 16.4934, 1e-4);
	assert_near("second", rv_drum_holds_m(&drum, 2), 34.5575, 1e-4);
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		assert_near(cases[i].label, rv_drum_layer(&drum, cases[i].on_drum_m),
			    cases[i].layer, 0.0);
}

static void what_is_not_declared_is_not_known(void **state)
{
	struct rv_drum no_width = {0.2, unknown, 0.01}, no_line = {0.2, 0.25, unknown};

	(void)state;
	assert_int_equal(rv_drum_layer(&no_width, 10.0), 0);
	assert_int_equal(rv_drum_layer(&no_line, 10.0), 0);
	assert_near("pull needs no width", rv_drum_pull_ratio(&no_width, 1), 1.0, 1e-15);
	assert_near("pull needs the line", rv_drum_pull_ratio(&no_line, 2), unknown, 0.0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_published_winch_pulls_less_on_each_layer),
	    cmocka_unit_test(a_full_drum_holds_what_the_capacity_formula_says),
	    cmocka_unit_test(the_layer_follows_from_what_lies_on_the_drum),
	    cmocka_unit_test(what_is_not_declared_is_not_known),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
