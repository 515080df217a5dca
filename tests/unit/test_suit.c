/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a plan says of gear that does not suit: suit, suit_factor, plan_drum, clear.
 */
#include "tests/rvtest.h"

#include "core/clear.h"
#include "core/plan_note.h"
#include "core/resist.h"
#include "core/suit.h"
#include "core/suit_factor.h"
#include "tests/unit/plan_cases.h"

static const double nan_ = (double)NAN;

/* Two parts of 30 m each, 1 m apart at the winch; the block and the line take what the case says.
 */
#define TWO(winch, block, line)                                                                    \
	"points: {deck: {at: [0, 0]}, post: {at: [0, 1]}, eye: {at: [30, 0.5], moves_with: "       \
	"sled}}\n"                                                                                 \
	"loads: {sled: {travels: [-1, 0], resists: 20 kN}}\n"                                      \
	"winches: {drum: {at: deck, rated: 20 kN" winch "}}\n"                                     \
	"blocks: {runner: {at: eye, efficiency: 0.95" block "}}\n"                                 \
	"lines: {wire: {path: [drum, runner, post]" line "}}\n"

static int count(const struct rv_plan *plan, const char *code)
{
	int found = 0;

	for (int i = 0; i < plan->notes; i++)
		found += strcmp(plan->note[i].code, code) == 0;
	return found;
}

static const char *text_of(const struct rv_plan *plan, const char *code)
{
	const char *text = plan_case_note(plan, code);

	return text ? text : "";
}

/* Line needed: 2 x 30.0042 m and half the sheave's round of the wrap. */
static void gear_that_does_not_suit_is_told(void **state)
{
	static const struct {
		const char *label, *rig, *code;
		int times;
	} cases[] = {
	    {"takes wire, is wire", TWO("", ", takes: [wire]", ", material: wire"),
	     "rope_not_taken", 0},
	    {"takes wire, is synthetic", TWO("", ", takes: [wire]", ", material: synthetic"),
	     "rope_not_taken", 1},
	    {"takes unsaid", TWO("", "", ", material: chain"), "rope_not_taken", 0},
	    {"material unsaid", TWO("", ", takes: [wire]", ""), "rope_not_taken", 0},
	    {"groove fits at its end", TWO("", ", groove: [10, 12]", ", diameter: 12 mm"), "groove",
	     0},
	    {"too thick", TWO("", ", groove: [10, 12]", ", diameter: 12.5 mm"), "groove", 1},
	    {"too thin", TWO("", ", groove: [10, 12]", ", diameter: 9 mm"), "groove", 1},
	    {"wire at 16", TWO("", ", diameter: 0.16", ", diameter: 0.01, material: wire"),
	     "sheave_small", 0},
	    {"wire at 15", TWO("", ", diameter: 0.15", ", diameter: 0.01, material: wire"),
	     "sheave_small", 1},
	    {"synthetic at 8", TWO("", ", diameter: 0.08", ", diameter: 0.01, material: synthetic"),
	     "sheave_small", 0},
	    {"synthetic at 7", TWO("", ", diameter: 0.07", ", diameter: 0.01, material: synthetic"),
	     "sheave_small", 1},
	    {"material unsaid", TWO("", ", diameter: 0.07", ", diameter: 0.01"), "sheave_small", 0},
	    {"hook, opens", TWO("", ", opens: true", ", terminal: hook"), "hook_in_block", 0},
	    {"hook, closed", TWO("", ", opens: false", ", terminal: hook"), "hook_in_block", 1},
	    {"hook, unsaid", TWO("", "", ", terminal: hook"), "hook_in_block", 0},
	    {"eye, closed", TWO("", ", opens: false", ", terminal: eye"), "hook_in_block", 0},
	    {"long enough", TWO("", "", ", length: 60.1"), "line_short", 0},
	    {"too short", TWO("", "", ", length: 60"), "line_short", 1},
	    {"too short with turns",
	     TWO(", wraps_left: 5, drum: {diameter: 0.2}", "", ", length: 63"), "line_short", 1},
	    {"enough with turns",
	     TWO(", wraps_left: 5, drum: {diameter: 0.2}", "", ", length: 63.2"), "line_short", 0},
	    {"five turns of wire", TWO(", wraps_left: 5", "", ", material: wire"), "wraps_few", 0},
	    {"four turns of wire", TWO(", wraps_left: 4", "", ", material: wire"), "wraps_few", 1},
	    {"five turns of synthetic", TWO(", wraps_left: 5", "", ", material: synthetic"),
	     "wraps_few", 1},
	    {"line 3.5 times", TWO("", "", ", mbs: 35.8 kN"), "factor_low", 1},
	    {"line enough", TWO("", "", ", mbs: 36 kN"), "factor_low", 0},
	    {"block four times", TWO("", ", mbs: 79.9 kN", ""), "factor_low", 1},
	    {"block enough", TWO("", ", mbs: 80.1 kN", ""), "factor_low", 0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_plan *plan = plan_case_make(cases[i].rig, NULL);

		if (count(plan, cases[i].code) != cases[i].times)
			print_error("%s: %s\n", cases[i].label, text_of(plan, cases[i].code));
		assert_int_equal(count(plan, cases[i].code), cases[i].times);
		rv_plan_free(plan);
	}
}

static void least_factors_are_those_published(void **state)
{
	static const struct {
		const char *kind;
		enum rv_material material;
		bool lifts;
		double least;
	} cases[] = {
	    {"line", RV_WIRE, false, 3.5},
	    {"line", RV_WIRE, true, 5.0},
	    {"line", RV_SYNTHETIC, false, 3.5},
	    {"line", RV_SYNTHETIC, true, 7.0},
	    {"line", RV_CHAIN, false, 6.0},
	    {"line", RV_MATERIAL_UNSAID, false, 3.5},
	    {"shackle", RV_MATERIAL_UNSAID, false, 5.0},
	    {"block", RV_MATERIAL_UNSAID, true, 4.0},
	    {"strop", RV_MATERIAL_UNSAID, false, 5.0},
	    {"ring", RV_MATERIAL_UNSAID, false, 4.0},
	    {"point", RV_MATERIAL_UNSAID, false, 3.0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		assert_near(
		    cases[i].kind,
		    rv_suit_factor_least(cases[i].kind, cases[i].material, cases[i].lifts).least,
		    cases[i].least, 1e-12);
	assert_string_equal(rv_suit_factor_least("point", RV_MATERIAL_UNSAID, false).source,
			    "common practice, no source");
}

/* A hoist maker's table of 2007; halfway between two rows by hand. */
static void bending_takes_what_the_table_says(void **state)
{
	static const double rows[][2] = {{4.0, 0.21},  {6.0, 0.21},  {7.0, 0.19},
					 {8.0, 0.17},  {10.0, 0.14}, {12.5, 0.125},
					 {15.0, 0.11}, {20.0, 0.09}, {40.0, 0.09}};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_near("loss", rv_suit_bend_loss_ratio(rows[i][0]), rows[i][1], 1e-12);
}

static void legs_far_from_parallel_are_told_at_travelling_blocks_only(void **state)
{
	/* The runner's parts open by 2 atan(4 / 10) = 43.6 degrees, or 2 atan(2 / 10) = 22.6. */
	static const char wide[] =
	    "points: {a: {at: [0, -4]}, b: {at: [0, 4]}, m: {at: [10, 0], moves_with: sled}}\n"
	    "loads: {sled: {travels: [-1, 0], resists: 9 kN}}\nwinches: {drum: {at: a}}\n"
	    "blocks: {runner: {at: m}}\nlines: {wire: {path: [drum, runner, b]}}\n";
	static const char narrow[] =
	    "points: {a: {at: [0, -2]}, b: {at: [0, 2]}, m: {at: [10, 0], moves_with: sled}}\n"
	    "loads: {sled: {travels: [-1, 0], resists: 9 kN}}\nwinches: {drum: {at: a}}\n"
	    "blocks: {runner: {at: m}}\nlines: {wire: {path: [drum, runner, b]}}\n";
	struct rv_plan *plan = plan_case_make(wide, NULL);

	(void)state;
	assert_int_equal(count(plan, "legs_spread"), 1);
	assert_non_null(strstr(text_of(plan, "legs_spread"), "44 degrees"));
	assert_non_null(strstr(text_of(plan, "legs_spread"), "1.86 parts"));
	rv_plan_free(plan);
	plan = plan_case_make(narrow, NULL);
	assert_int_equal(count(plan, "legs_spread"), 0);
	rv_plan_free(plan);
	plan = plan_case_make(RIG_REDIRECT, NULL);
	assert_int_equal(count(plan, "legs_spread"), 0);
	rv_plan_free(plan);
}

static void the_largest_clearance_rule_is_taken(void **state)
{
	/* Winch 25 m from the oak, load 30 m: 55 m out; the ends are 39.05 m apart. */
	struct rv_plan *plan = plan_case_make(RIG_REDIRECT, NULL);

	(void)state;
	assert_near("twice", plan->clear.keep_m, 110.0, 1e-9);
	assert_near("longest", plan->clear.longest_m, 55.0, 1e-9);
	assert_near("apart", plan->clear.apart_m, sqrt(25.0 * 25.0 + 30.0 * 30.0), 1e-9);
	assert_int_equal(plan->clear.rule, RV_CLEAR_TWICE_OUT);
	assert_int_equal(count(plan, "keep_clear"), 1);
	assert_int_equal(count(plan, "bight"), 1);
	assert_non_null(
	    strstr(text_of(plan, "bight"), "90 degrees at corner, between drum and lug"));
	rv_plan_free(plan);

	/* Parallel parts form no angle; turns on the drum are not paid out. */
	plan = plan_case_make(RIG_THREE_PARTS, NULL);
	assert_near("three times 40 m, twice", plan->clear.keep_m, 240.0, 1e-9);
	assert_int_equal(count(plan, "bight"), 0);
	rv_plan_free(plan);

	/* What the travel pays out counts: 3 x 10 m more. */
	struct rv_plan_request out = {.travel_m = 10.0};
	plan = plan_case_make("haul: out\n" RIG_THREE_PARTS, &out);
	assert_near("three times 50 m, twice", plan->clear.keep_m, 300.0, 1e-9);
	rv_plan_free(plan);

	/* Two short lines far apart: 8 m each, side by side at 100 m. */
	plan = plan_case_make(
	    "points: {a: {at: [0, 0]}, b: {at: [0, 100]}, m: {at: [8, 0], moves_with: sled}, "
	    "n: {at: [8, 100], moves_with: sled}}\n"
	    "loads: {sled: {travels: [-1, 0]}}\nwinches: {near: {at: a, line_pull: 5 kN}, far: "
	    "{at: b, "
	    "line_pull: 1 kN}}\nlines: {l1: {path: [near, m]}, l2: {path: [far, n]}}\n",
	    NULL);
	assert_int_equal(plan->clear.rule, RV_CLEAR_APART);
	assert_near("apart", plan->clear.keep_m, hypot(8.0, 100.0), 1e-9);
	rv_plan_free(plan);
}

/* A drum of 0.2 m, 0.25 m wide, line of 10 mm: 16.49 m in the first layer, 34.56 m in two, 54.19 m
 * in three (by hand, as in test_drum); 60.01 m are out. */
#define DRUM ", wraps_left: 5, drum: {diameter: 0.2, width: 0.25, layers: 3}"

static void line_on_the_drum_is_reckoned_by_layers(void **state)
{
	static const struct {
		const char *label, *rig;
		double on_drum_m, left_m;
		int layer;
		double rated_n;
	} cases[] = {
	    {"first layer", TWO(DRUM, "", ", length: 70, diameter: 10 mm"), 9.9917, 6.8501, 1,
	     20000.0},
	    {"third layer", TWO(DRUM, "", ", length: 100, diameter: 10 mm"), 39.9917, 36.8501, 3,
	     20000.0 * 0.21 / 0.25},
	    {"too short", TWO(DRUM, "", ", length: 50, diameter: 10 mm"), 0.0, -13.1499, 1,
	     20000.0},
	    {"no length", TWO(DRUM, "", ", diameter: 10 mm"), nan_, nan_, 0, nan_},
	    {"no diameter", TWO(DRUM, "", ", length: 70"), 9.9917, 6.8501, 0, nan_},
	    {"no drum", TWO("", "", ", length: 70, diameter: 10 mm"), 9.9917, 9.9917, 0, nan_},
	    {"vehicle", TWO(", vehicle: true", "", ", length: 70, diameter: 10 mm"), nan_, nan_, 0,
	     nan_},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_plan *plan = plan_case_make(cases[i].rig, NULL);
		const struct rv_plan_drum *drum = &plan->winch[0].drum;

		assert_near(cases[i].label, drum->on_drum_m, cases[i].on_drum_m, 1e-4);
		assert_near(cases[i].label, drum->left_m, cases[i].left_m, 1e-4);
		assert_int_equal(drum->layer, cases[i].layer);
		assert_near(cases[i].label, drum->rated_n, cases[i].rated_n, 1e-6);
		rv_plan_free(plan);
	}
}

/* The line pull is 20 / (1 + 0.95) kN = 10.26 kN, a little more for the parts' angle. */
#define SMALL(rated, line)                                                                         \
	"points: {deck: {at: [0, 0]}, post: {at: [0, 1]}, eye: {at: [30, 0.5], moves_with: "       \
	"sled}}\n"                                                                                 \
	"loads: {sled: {travels: [-1, 0], resists: 20 kN}}\n"                                      \
	"winches: {drum: {at: deck, rated: " rated DRUM "}}\n"                                     \
	"blocks: {runner: {at: eye, efficiency: 0.95}}\n"                                          \
	"lines: {wire: {path: [drum, runner, post], diameter: 10 mm" line "}}\n"

static void a_pull_above_what_the_layer_allows_is_told(void **state)
{
	static const struct {
		const char *label, *rig, *code;
		double travel_m;
		int times;
	} cases[] = {
	    {"first layer, enough", SMALL("11 kN", ", length: 70"), "pull_over_layer", nan_, 0},
	    {"first layer, too little", SMALL("10 kN", ", length: 70"), "pull_over_layer", nan_, 1},
	    {"third layer, too little", SMALL("12 kN", ", length: 100"), "pull_over_layer", nan_,
	     1},
	    {"third layer, enough", SMALL("12.5 kN", ", length: 100"), "pull_over_layer", nan_, 0},
	    {"later on the second", SMALL("11 kN", ", length: 70"), "pull_over_layer", 5.0, 1},
	    {"not so far", SMALL("11 kN", ", length: 70"), "pull_over_layer", 2.0, 0},
	    {"layer unknown, top too weak", SMALL("12 kN", ""), "layer_unknown", nan_, 1},
	    {"layer unknown, top enough", SMALL("12.5 kN", ""), "layer_unknown", nan_, 0},
	    {"drum too small", SMALL("20 kN", ", length: 120"), "drum_overfull", nan_, 1},
	    {"drum just full", SMALL("20 kN", ", length: 114"), "drum_overfull", nan_, 0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_plan_request request = {.travel_m = cases[i].travel_m};
		struct rv_plan *plan = plan_case_make(cases[i].rig, &request);

		if (count(plan, cases[i].code) != cases[i].times)
			print_error("%s: %s\n", cases[i].label, text_of(plan, cases[i].code));
		assert_int_equal(count(plan, cases[i].code), cases[i].times);
		rv_plan_free(plan);
	}
}

/* Both published examples; and a vehicle with parallel parts, by hand. */
static void the_additive_rule_stands_beside_the_prediction(void **state)
{
	static const char van[] =
	    "points: {deck: {at: [0, 0]}, eye: {at: [40, 0], moves_with: van}, post: {at: [0, "
	    "0]}}\n"
	    "loads: {van: {travels: [-1, 0], resists: {mass: 6200 kg, slope_deg: 8, rolling: "
	    "[0.12, 0.25]}}}\nwinches: {drum: {at: deck}}\n"
	    "blocks: {runner: {at: eye, efficiency: 0.9}, fixed: {at: post, efficiency: 0.9}}\n"
	    "lines: {wire: {path: [drum, runner, fixed, runner]}}\n";
	struct rv_plan *plan = plan_case_make(van, NULL);

	(void)state;
	assert_near("US Navy Steelworker vol. 2: 1,000 lb, 4 sheaves, 4 parts: 350 lb",
		    rv_resist_additive_n(1000.0, 4, 4.0), 350.0, 1e-9);
	assert_near("US Army method, constructed: 60,000 lb, 2 sheaves, 3 parts: 24,000 lb",
		    rv_resist_additive_n(60000.0, 2, 3.0), 24000.0, 1e-9);
	assert_int_equal(plan->additive.sheaves, 2);
	assert_near("van", plan->additive.line_pull_n, plan->load[0].resists_n * 1.2 / 3.0, 1e-6);
	assert_near("van resists", plan->load[0].low_n, 15687.0, 0.5);
	assert_near("van resists", plan->load[0].high_n, 23514.0, 0.5);
	rv_plan_free(plan);
	plan = plan_case_make(RIG_THREE_PARTS, NULL);
	assert_near("a plain force", plan->additive.line_pull_n, nan_, 0.0);
	rv_plan_free(plan);
}

/* A plan that would need more notes than there is room for says so. */
static void notes_that_find_no_room_are_told(void **state)
{
	struct rv_plan *plan = plan_case_make(RIG_REDIRECT, NULL);

	(void)state;
	for (int i = 0; i < 2 * RV_PLAN_NOTES; i++)
		rv_plan_note_add(plan, "test", "note %d", i);
	assert_int_equal(plan->notes, RV_PLAN_NOTES);
	assert_string_equal(plan->note[RV_PLAN_NOTES - 2].code, "test");
	assert_string_equal(plan->note[RV_PLAN_NOTES - 1].code, "notes_cut");
	rv_plan_free(plan);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(gear_that_does_not_suit_is_told),
	    cmocka_unit_test(least_factors_are_those_published),
	    cmocka_unit_test(bending_takes_what_the_table_says),
	    cmocka_unit_test(legs_far_from_parallel_are_told_at_travelling_blocks_only),
	    cmocka_unit_test(the_largest_clearance_rule_is_taken),
	    cmocka_unit_test(line_on_the_drum_is_reckoned_by_layers),
	    cmocka_unit_test(a_pull_above_what_the_layer_allows_is_told),
	    cmocka_unit_test(the_additive_rule_stands_beside_the_prediction),
	    cmocka_unit_test(notes_that_find_no_room_are_told),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
