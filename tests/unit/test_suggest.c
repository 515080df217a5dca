/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "core/rig_read.h"
#include "core/suggest.h"
#include "tests/unit/rig_cases.h"

/* Patterns: a straight pull, two parts and three parts, parallel, 40 m. */
#define STRAIGHT                                                                                   \
	"rig: straight\npoints: {a: {at: [0, 0]}, m: {at: [40, 0], moves_with: sled}}\n"           \
	"loads: {sled: {travels: [-1, 0], resists: 1 kN}}\nwinches: {w: {at: a}}\n"                \
	"lines: {l: {path: [w, m]}}\n"
#define TWO                                                                                        \
	"rig: two\npoints: {a: {at: [0, 0]}, p: {at: [0, 0]}, m: {at: [40, 0], moves_with: "       \
	"sled}}\n"                                                                                 \
	"loads: {sled: {travels: [-1, 0], resists: 1 kN}}\nwinches: {w: {at: a}}\n"                \
	"blocks: {runner: {at: m, efficiency: 0.8, wll: 1 N}}\n"                                   \
	"lines: {l: {path: [w, runner, p]}}\n"                                                     \
	"fittings: {pin: {kind: shackle, holds: runner, wll: 1 N}}\n"
#define THREE                                                                                      \
	"rig: three\npoints: {a: {at: [0, 0]}, p: {at: [0, 0]}, m: {at: [40, 0], moves_with: "     \
	"sled}}\n"                                                                                 \
	"loads: {sled: {travels: [-1, 0], resists: 1 kN}}\nwinches: {w: {at: a}}\n"                \
	"blocks: {runner: {at: m}, fixed: {at: p}}\nlines: {l: {path: [w, runner, fixed, "         \
	"runner]}}\n"

/* At hand: a winch of 20 kN, two blocks of which the better is the blue one, an anchor; 20 m to the
 * load. */
#define HAND(more)                                                                                 \
	"points: {truck: {at: [0, 0]}, tree: {at: [1, 2], wll: 50 kN}, eye: {at: [20, 0], "        \
	"moves_with: van, "                                                                        \
	"wll: 60 kN}}\n"                                                                           \
	"loads: {van: {travels: [-1, 0]}}\nwinches: {drum: {at: truck, rated: 20 kN" more "}}\n"   \
	"blocks: {red: {at: tree, efficiency: [0.8, 1.0], wll: 30 kN}, "                           \
	"blue: {at: tree, efficiency: [0.8, 1.0], wll: 40 kN}}\n"                                  \
	"lines: {wire: {path: [drum, eye], wll: 25 kN, length: 70, diameter: 10 mm}}\n"            \
	"fittings: {big pin: {kind: shackle, holds: red, wll: 45 kN}}\n"

static void read_hand(const char *text, struct rv_rig *rig)
{
	struct rv_error error = {0};

	if (rv_rig_read_gear(text, strlen(text), rig, &error) != RV_OK) {
		print_error("%d: %s\n", error.line, error.text);
		fail();
	}
}

static void try(const char *pattern, const char *hand, double resists_n, struct rv_suggest *reach)
{
	static struct rv_rig pattern_rig, hand_rig;

	rig_case_read(pattern, &pattern_rig);
	read_hand(hand, &hand_rig);
	assert_int_equal(rv_suggest_check(&hand_rig, NULL), RV_OK);
	assert_int_equal(rv_suggest_try(&pattern_rig, &hand_rig, resists_n, reach, NULL), RV_OK);
}

static const struct rv_suggest_piece *find(const struct rv_suggest *reach,
					   enum rv_suggest_class class)
{
	for (int i = 0; i < reach->gear.pieces; i++)
		if (reach->gear.piece[i].class == class)
			return &reach->gear.piece[i];
	fail();
	return &reach->gear.piece[0];
}

/* By hand: two parts need 30 / (1 + 0.8) = 16.67 kN at the lowest efficiency, three parts 30 / (1 +
 * 0.8 + 0.64) = 12.30 kN; 40 and 60 m of line for 20 m. */
static void a_rig_does_when_pull_parts_and_line_suffice(void **state)
{
	static const struct {
		const char *label, *pattern, *hand;
		double resists_n;
		const char *code; /* "" = does */
		double pull_n, use_ratio;
	} cases[] = {
	    {"straight, light", STRAIGHT, HAND(""), 15e3, "", 15e3, 0.75},
	    {"straight, heavy", STRAIGHT, HAND(""), 30e3, "pull_over_rating", 30e3, 1.5},
	    {"two parts", TWO, HAND(""), 30e3, "", 30e3 / 1.8, 30e3 / 1.8 / 20e3},
	    {"two parts, too heavy", TWO, HAND(""), 42e3, "pull_over_rating", 42e3 / 1.8,
	     42e3 / 1.8 / 20e3},
	    {"three parts", THREE, HAND(""), 30e3, "", 30e3 / 2.44, 0.75},
	    {"three parts, block too weak", THREE, HAND(""), 41e3, "over_limit", 41e3 / 2.44,
	     41.0 / 40.0},
	    {"three parts, few turns", THREE, HAND(", wraps_left: 20, drum: {diameter: 0.2}"), 30e3,
	     "line_short", 30e3 / 2.44, 0.75},
	    /* 70 m less 40 m: 30 m on the drum, 16.49 m in each first layer, so on the second. */
	    {"two parts, second layer", TWO,
	     HAND(", drum: {diameter: 0.2, width: 0.25, layers: 5}"), 30e3, "", 30e3 / 1.8,
	     30e3 / 1.8 / (20e3 * 0.21 / 0.23)},
	    {"two parts, too much for the layer", TWO,
	     HAND(", drum: {diameter: 0.2, width: 0.25, layers: 5}"), 34e3, "pull_over_layer",
	     34e3 / 1.8, 34e3 / 1.8 / (20e3 * 0.21 / 0.23)},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_suggest reach;

		try(cases[i].pattern, cases[i].hand, cases[i].resists_n, &reach);
		if (strcmp(reach.code, cases[i].code) != 0)
			print_error("%s: %s %s\n", cases[i].label, reach.code, reach.why);
		assert_string_equal(reach.code, cases[i].code);
		assert_int_equal(reach.does, cases[i].code[0] == '\0');
		assert_near(cases[i].label, reach.pull_n, cases[i].pull_n, 1e-6);
		assert_near(cases[i].label, reach.use_ratio, cases[i].use_ratio, 1e-9);
		rv_suggest_free(&reach);
	}
}

static void gear_at_hand_takes_the_place_of_the_pattern_s(void **state)
{
	struct rv_suggest reach;

	(void)state;
	try(TWO, HAND(""), 30e3, &reach);
	assert_string_equal(find(&reach, RV_SUGGEST_BLOCK)->hand, "blue");
	assert_near("block", find(&reach, RV_SUGGEST_BLOCK)->carries_n, 30e3, 1e-6);
	assert_string_equal(find(&reach, RV_SUGGEST_ANCHOR)->hand, "tree");
	assert_string_equal(find(&reach, RV_SUGGEST_LOAD_POINT)->hand, "eye");
	assert_string_equal(find(&reach, RV_SUGGEST_FITTING)->hand, "big pin");
	assert_int_equal(reach.gear.missing, 0);
	assert_int_equal(reach.gear.blocks, 1);
	assert_string_equal(reach.plan->rig.winch[0].name, "drum");
	/* The line at hand, drawn to the 20 m at hand. */
	assert_near("line", reach.plan->line_needed_m[0], 40.0, 1e-9);
	assert_near("left", reach.plan->winch[0].drum.left_m, 30.0, 1e-9);
	rv_suggest_free(&reach);

	/* Of two blocks the one that carries more gets the better. */
	try(THREE, HAND(""), 30e3, &reach);
	assert_string_equal(reach.gear.piece[0].hand, "blue");
	assert_string_equal(reach.gear.piece[1].hand, "red");
	rv_suggest_free(&reach);
}

static void what_is_not_at_hand_has_to_be_found_and_is_not_rated(void **state)
{
	static const char bare[] =
	    "points: {truck: {at: [0, 0]}, eye: {at: [20, 0], moves_with: van}}\n"
	    "loads: {van: {travels: [-1, 0]}}\nwinches: {drum: {at: truck, rated: 20 kN}}\n"
	    "lines: {wire: {path: [drum, eye]}}\n";
	struct rv_suggest reach;

	(void)state;
	try(TWO, bare, 30e3, &reach);
	assert_true(reach.does); /* the pattern's own limits of 1 N do not count */
	assert_string_equal(find(&reach, RV_SUGGEST_BLOCK)->hand, "");
	assert_int_equal(reach.gear.missing, 2); /* block and anchor */
	assert_string_equal(reach.weakest, "drum");
	rv_suggest_free(&reach);
}

static void patterns_for_something_else_say_so(void **state)
{
	static const struct {
		const char *pattern, *code;
	} cases[] = {
	    {"haul: out\n" STRAIGHT, "pays_out"},
	    {RIG_SELF, "winch_place"},
	    {"points: {a: {at: [0, 0]}, m: {at: [40, 0], moves_with: sled}}\n"
	     "loads: {sled: {travels: [-1, 0], character: hung}}\nwinches: {w: {at: a}}\n"
	     "lines: {l: {path: [w, m]}}\n",
	     "load_character"},
	    {"points: {a: {at: [0, 0]}, b: {at: [0, 1]}, m: {at: [40, 0], moves_with: sled}}\n"
	     "loads: {sled: {travels: [-1, 0]}}\nwinches: {w: {at: a}, v: {at: b}}\n"
	     "lines: {l: {path: [w, m]}, k: {path: [v, m]}}\n",
	     "not_single"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_suggest reach;

		try(cases[i].pattern, HAND(""), 10e3, &reach);
		assert_false(reach.does);
		assert_string_equal(reach.code, cases[i].code);
		assert_null(reach.plan);
		rv_suggest_free(&reach);
	}
}

static void the_quickest_with_something_left_comes_first(void **state)
{
	struct rv_suggest straight, two, three, bad;

	(void)state;
	try(STRAIGHT, HAND(""), 15e3, &straight); /* 75 % */
	try(TWO, HAND(""), 15e3, &two);
	try(THREE, HAND(""), 15e3, &three);
	try(STRAIGHT, HAND(""), 30e3, &bad);
	assert_true(rv_suggest_compare(&straight, &two) < 0);
	assert_true(rv_suggest_compare(&two, &three) < 0);
	assert_true(rv_suggest_compare(&three, &bad) < 0);
	assert_int_equal(rv_suggest_compare(&bad, &bad), 0);
	rv_suggest_free(&straight);
	try(STRAIGHT, HAND(""), 19e3, &straight); /* 95 %: nothing left */
	assert_true(rv_suggest_compare(&straight, &two) > 0);
	assert_true(rv_suggest_compare(&straight, &bad) < 0);
	rv_suggest_free(&straight);
	rv_suggest_free(&two);
	rv_suggest_free(&three);
	rv_suggest_free(&bad);
}

static void a_rig_at_hand_needs_one_rated_winch(void **state)
{
	static const struct {
		const char *text, *tag;
	} cases[] = {
	    {"points: {a: {at: [0, 0]}, m: {at: [9, 0], moves_with: s}}\nloads: {s: {travels: [-1, "
	     "0]}}\nwinches: {w: {at: a}}\nlines: {l: {path: [w, m]}}\n",
	     "winch_unrated"},
	    {"points: {a: {at: [0, 0]}, b: {at: [0, 1]}, m: {at: [9, 0], moves_with: s}}\nloads: "
	     "{s: "
	     "{travels: [-1, 0]}}\nwinches: {w: {at: a, rated: 1 kN}, v: {at: b, rated: 1 kN}}\n"
	     "lines: {l: {path: [w, m]}, k: {path: [v, m]}}\n",
	     "winches"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_rig hand;
		struct rv_error error = {0};

		read_hand(cases[i].text, &hand);
		assert_int_equal(rv_suggest_check(&hand, &error), RV_ERR_REFUSED);
		assert_string_equal(error.tag, cases[i].tag);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_rig_does_when_pull_parts_and_line_suffice),
	    cmocka_unit_test(gear_at_hand_takes_the_place_of_the_pattern_s),
	    cmocka_unit_test(what_is_not_at_hand_has_to_be_found_and_is_not_rated),
	    cmocka_unit_test(patterns_for_something_else_say_so),
	    cmocka_unit_test(the_quickest_with_something_left_comes_first),
	    cmocka_unit_test(a_rig_at_hand_needs_one_rated_winch),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
