/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every rig at hand is drawn; no label may meet another, a symbol or another's leader, or leave the
 * picture.  Widths are those of the conservative table; tests/page measures real letters.
 */
#include "tests/rvtest.h"

#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "core/drawing.h"
#include "tests/unit/plan_cases.h"

/* The names are as long as they may be. */
#define LONG "a name that is as long as a name of a thing in a rig may be 62"
#define RIG_LONG_NAMES                                                                             \
	"rig: long names\n"                                                                        \
	"points:\n"                                                                                \
	"  " LONG "A: {at: [0, 0]}\n"                                                              \
	"  " LONG "B: {at: [0, 0.5], wll: 20 kN}\n"                                                \
	"  " LONG "C: {at: [30, 0], moves_with: " LONG "D}\n"                                      \
	"loads: {" LONG "D: {travels: [-1, 0], resists: [40 kN, 48 kN]}}\n"                        \
	"winches: {" LONG "E: {at: " LONG "A, rated: 20 kN}}\n"                                    \
	"blocks: {" LONG "F: {at: " LONG "C, efficiency: [0.90, 0.98], wll: 45 kN}}\n"             \
	"lines: {" LONG "G: {path: [" LONG "E, " LONG "F, " LONG "B], wll: 24 kN}}\n"

/* Everything at two places. */
#define RIG_CROWDED                                                                                \
	"points:\n"                                                                                \
	"  a: {at: [0, 0]}\n  b: {at: [0, 0]}\n  c: {at: [0, 0], wll: 9 kN}\n"                     \
	"  d: {at: [20, 0], moves_with: cart}\n  e: {at: [20, 0], moves_with: cart}\n"             \
	"loads: {cart: {travels: [-1, 0], resists: 30 kN}}\n"                                      \
	"winches: {drum: {at: a, rated: 20 kN}}\n"                                                 \
	"blocks:\n"                                                                                \
	"  first: {at: d, efficiency: 0.95}\n  second: {at: b, efficiency: 0.95}\n"                \
	"  third: {at: e, efficiency: 0.95}\n"                                                     \
	"lines: {wire: {path: [drum, first, second, third, c], wll: 8 kN}}\n"

/* Everything on one line, each part with much to say. */
#define RIG_IN_A_ROW                                                                               \
	"points:\n"                                                                                \
	"  yard: {at: [0, 0]}\n  post a: {at: [6, 0.2], wll: 40 kN}\n"                             \
	"  post b: {at: [12, -0.2], wll: 40 kN}\n  post c: {at: [18, 0.2], wll: 40 kN}\n"          \
	"  post d: {at: [24, -0.2], wll: 40 kN}\n"                                                 \
	"  nose: {at: [60, 0], moves_with: gangway, wll: 40 kN}\n"                                 \
	"loads: {gangway: {travels: [-1, 0], resists: [14 kN, 22 kN]}}\n"                          \
	"winches: {yard winch with a long name: {at: yard, rated: 40 kN}}\n"                       \
	"blocks:\n"                                                                                \
	"  block on post a: {at: post a, efficiency: [0.9, 0.97], wll: 30 kN}\n"                   \
	"  block on post b: {at: post b, efficiency: [0.9, 0.97], wll: 30 kN}\n"                   \
	"  block on post c: {at: post c, efficiency: [0.9, 0.97], wll: 30 kN}\n"                   \
	"  block on post d: {at: post d, efficiency: [0.9, 0.97], wll: 30 kN}\n"                   \
	"lines: {gangway wire of sixteen millimetres: {path: [yard winch with a long name, "       \
	"block on post a, block on post b, block on post c, block on post d, nose], wll: 30 "      \
	"kN}}\n"                                                                                   \
	"fittings:\n"                                                                              \
	"  shackle a: {kind: shackle, holds: block on post a, wll: 20 kN}\n"                       \
	"  shackle b: {kind: shackle, holds: block on post b, wll: 20 kN}\n"                       \
	"  strop c: {kind: strop, holds: block on post c, legs: 2, included_angle: 60, wll: 20 "   \
	"kN}\n"

/* A purchase of seven parts with all its blocks on one line. */
#define RIG_IN_LINE                                                                                \
	"points:\n"                                                                                \
	"  deck: {at: [0, 0]}\n  a: {at: [4, 0], wll: 50 kN}\n  b: {at: [9, 0], wll: 50 kN}\n"     \
	"  c: {at: [15, 0], wll: 50 kN}\n  eye: {at: [40, 0], moves_with: car, wll: 60 kN}\n"      \
	"loads: {car: {travels: [-1, 0], resists: 30 kN}}\n"                                       \
	"winches: {drum: {at: deck, rated: 20 kN}}\n"                                              \
	"blocks:\n"                                                                                \
	"  block one: {at: a, efficiency: [0.9, 0.97], wll: 26 kN}\n"                              \
	"  block two: {at: b, efficiency: [0.9, 0.97], wll: 44 kN}\n"                              \
	"  block three: {at: c, efficiency: [0.9, 0.97], wll: 30 kN}\n"                            \
	"  mover: {at: eye, sheaves: 4, efficiency: 0.95, wll: 50 kN}\n"                           \
	"lines: {hauling wire: {path: [drum, mover, block one, mover, block two, mover, "          \
	"block three, mover, c], wll: 12 kN}}\n"

/* Letters that XML reserves, and letters beyond ASCII. */
#define RIG_LETTERS                                                                                \
	"rig: \"<b> & \\\"c\\\" 'd'\"\n"                                                           \
	"points: {\"a<b\": {at: [0, 0]}, \"caf\u00e9 \u6728\": {at: [0, 9]}, lug: {at: [20, 4], "  \
	"moves_with: cart}}\n"                                                                     \
	"loads: {cart: {travels: [-1, 0], resists: 30 kN}}\n"                                      \
	"winches: {drum: {at: \"a<b\", rated: 20 kN}}\n"                                           \
	"blocks: {\"x & y\": {at: lug, efficiency: 0.95}}\n"                                       \
	"lines: {wire: {path: [drum, \"x & y\", \"caf\u00e9 \u6728\"], wll: 30 kN}}\n"

static bool is_inside(struct rv_svg_box box, struct rv_svg_box room)
{
	return box.x >= room.x && box.y >= room.y && box.x + box.w <= room.x + room.w + 1e-6 &&
	       box.y + box.h <= room.y + room.h + 1e-6;
}

static void check_pair(const char *label, const struct rv_drawing *drawing, int i, int k)
{
	const struct rv_label *a = &drawing->field.label[i], *b = &drawing->field.label[k];
	const char *one = drawing->cards.card[i].line[0], *two = drawing->cards.card[k].line[0];

	if (rv_svg_meet(a->box, b->box)) {
		print_error("%s: labels meet: %s / %s\n", label, one, two);
		fail();
	}
	if ((a->has_leader && rv_label_crosses(a->leader, b->box)) ||
	    (b->has_leader && rv_label_crosses(b->leader, a->box))) {
		print_error("%s: a leader crosses a label: %s / %s\n", label, one, two);
		fail();
	}
}

static void check_label(const char *label, const struct rv_drawing *drawing, int i)
{
	const struct rv_label *at = &drawing->field.label[i];
	const char *words = drawing->cards.card[i].line[0];

	if (!at->is_placed && !at->may_go) {
		print_error("%s: no place for: %s\n", label, words);
		fail();
	}
	if (!at->is_placed)
		return;
	if (!is_inside(at->box, drawing->scene.field) ||
	    !is_inside(at->box, (struct rv_svg_box){0.0, 0.0, RV_DRAWING_WIDTH, drawing->height})) {
		print_error("%s: outside the picture: %s\n", label, words);
		fail();
	}
	for (int s = 0; s < drawing->scene.reeving.legs; s++) {
		const struct rv_reeve_leg *leg = &drawing->scene.reeving.leg[s];
		struct rv_svg_point end = drawing->scene.leg[s].a;
		if (leg->from.kind == RV_STEP_WINCH &&
		    rv_svg_meet(at->box, (struct rv_svg_box){end.x - 13, end.y - 11, 26, 22})) {
			print_error("%s: on the winch: %s\n", label, words);
			fail();
		}
	}
	for (int k = 0; k < i; k++)
		if (drawing->field.label[k].is_placed)
			check_pair(label, drawing, i, k);
}

/* Blocks, too, stand beside one another. */
static void check_blocks(const char *label, const struct rv_plan *plan,
			 const struct rv_drawing *drawing)
{
	const struct rv_scene_block *block = drawing->scene.block;

	for (int b = 0; b < plan->rig.blocks; b++)
		for (int a = 0; a < b; a++)
			if (block[a].is_used && block[b].is_used &&
			    hypot(block[a].at.x - block[b].at.x, block[a].at.y - block[b].at.y) <
				block[a].radius + block[b].radius) {
				print_error("%s: blocks %s and %s meet\n", label,
					    plan->rig.block[a].name, plan->rig.block[b].name);
				fail();
			}
}

static void check_words(const char *label, const struct rv_plan *plan, const char *svg)
{
	struct rv_text want = {0};

	assert_non_null(strstr(svg, "no safety device"));
	if (plan->weakest >= 0) {
		rv_text_add(&want, "First to reach its limit:");
		assert_non_null(strstr(svg, "FIRST TO REACH ITS LIMIT:"));
	} else {
		rv_text_add(&want, "No part is rated");
	}
	if (!strstr(svg, want.data)) {
		print_error("%s: does not say: %s\n", label, want.data);
		fail();
	}
	assert_null(strstr(svg, "nan"));
	assert_null(strstr(svg, "inf"));
	rv_text_free(&want);
}

/* Draws it in a unit of long numbers too.  False: the rig waits for a solver. */
static void check(const char *label, const struct rv_plan *plan, enum rv_force_unit unit)
{
	struct rv_drawing *drawing = NULL;
	struct rv_text svg = {0};
	struct rv_error error = {0};

	if (rv_drawing_new(plan, unit, &drawing, &error) != RV_OK) {
		print_error("%s: %s\n", label, error.text);
		fail();
	}
	assert_true(rv_drawing_write(plan, drawing, &svg) == RV_OK);
	for (int i = 0; i < drawing->cards.count; i++)
		check_label(label, drawing, i);
	check_blocks(label, plan, drawing);
	check_words(label, plan, svg.data);
	rv_text_free(&svg);
	rv_drawing_free(drawing);
}

static void labels_of_known_rigs_keep_apart(void **state)
{
	static const struct {
		const char *label, *rig;
	} cases[] = {
	    {"redirect", RIG_REDIRECT},	      {"two parts", RIG_TWO_PARTS},
	    {"three parts", RIG_THREE_PARTS}, {"four parts", RIG_FOUR_PARTS},
	    {"five parts", RIG_FIVE_PARTS},   {"lowering", RIG_LOWER},
	    {"self recovery", RIG_SELF},      {"long names", RIG_LONG_NAMES},
	    {"crowded", RIG_CROWDED},	      {"letters", RIG_LETTERS},
	    {"in a row", RIG_IN_A_ROW},	      {"in line", RIG_IN_LINE},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_plan *plan = plan_case_make(cases[i].rig, NULL);

		check(cases[i].label, plan, RV_FORCE_KN);
		check(cases[i].label, plan, RV_FORCE_KLBF);
		check(cases[i].label, plan, RV_FORCE_N);
		rv_plan_free(plan);
	}
}

static struct rv_plan *plan_of_file(const char *path)
{
	static const struct rv_plan_request nothing = {.travel_m = (double)NAN};
	static struct rv_rig rig;
	static char text[1 << 16];
	struct rv_plan *plan = NULL;
	struct rv_error error = {0};
	FILE *file = fopen(path, "rb");

	assert_non_null(file);
	size_t len = fread(text, 1, sizeof text, file);
	fclose(file);
	if (rv_rig_read(text, len, &rig, &error) != RV_OK ||
	    rv_plan_new(&rig, &nothing, &plan, &error) != RV_OK) {
		print_error("%s: %s\n", path, error.text);
		assert_string_equal(error.tag, "floats_unsolved");
	}
	return plan;
}

static void labels_of_the_library_keep_apart(void **state)
{
	const char *folder = getenv("RV_TESTS_RIGS");
	DIR *dir = folder ? opendir(folder) : NULL;
	int drawn = 0;

	(void)state;
	assert_non_null(dir);
	for (struct dirent *entry = readdir(dir); entry; entry = readdir(dir)) {
		char path[512];
		size_t len = strlen(entry->d_name);

		if (len < 6 || strcmp(entry->d_name + len - 5, ".yaml") != 0)
			continue;
		snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
		struct rv_plan *plan = plan_of_file(path);
		if (!plan)
			continue;
		check(entry->d_name, plan, RV_FORCE_KN);
		check(entry->d_name, plan, RV_FORCE_N);
		rv_plan_free(plan);
		drawn++;
	}
	closedir(dir);
	assert_true(drawn >= 20);
}

static void reserved_letters_are_escaped(void **state)
{
	struct rv_plan *plan = plan_case_make(RIG_LETTERS, NULL);
	struct rv_text svg = {0};

	(void)state;
	assert_true(rv_drawing_svg(plan, RV_FORCE_KN, &svg, NULL) == RV_OK);
	assert_non_null(
	    strstr(svg.data, "<title>&lt;b&gt; &amp; &quot;c&quot; &#39;d&#39;</title>"));
	assert_non_null(strstr(svg.data, "x &amp; y"));
	assert_null(strstr(svg.data, "a<b"));
	rv_text_free(&svg);
	rv_plan_free(plan);
}

/* A word for every state beside its pattern. */
static void over_and_near_are_told_in_words(void **state)
{
	static const struct {
		const char *label;
		double pull_n;
		const char *says, *not_says;
	} cases[] = {
	    {"below", 10e3, "reeve-bight", "NEAR\u00a0LIMIT"},
	    {"near", 25.5e3, "NEAR\u00a0LIMIT", "OVER\u00a0LIMIT"},
	    {"over", 33e3, "OVER\u00a0LIMIT", "no such words"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		double n = cases[i].pull_n;
		const struct rv_plan_request request = {
		    .givens = {.count = 1, .given = {{RV_GIVEN_LINE_PULL, 0, {n, n, n}}}},
		    .travel_m = (double)NAN};
		struct rv_plan *plan = plan_case_make(RIG_SELF, &request);
		struct rv_text svg = {0};

		assert_true(rv_drawing_svg(plan, RV_FORCE_KN, &svg, NULL) == RV_OK);
		if (!strstr(svg.data, cases[i].says) || strstr(svg.data, cases[i].not_says)) {
			print_error("%s\n", cases[i].label);
			fail();
		}
		rv_text_free(&svg);
		rv_plan_free(plan);
	}
}

static void a_long_scale_is_written_out(void **state)
{
	struct rv_plan *plan = plan_case_make(
	    "points: {a: {at: [0, 0]}, b: {at: [0, 9000]}, c: {at: [9000, 0], moves_with: d}}\n"
	    "loads: {d: {travels: [-1, 0], resists: 9 kN}}\n"
	    "winches: {w: {at: a, rated: 9 kN}}\n"
	    "blocks: {k: {at: c, efficiency: 0.9}}\n"
	    "lines: {rope: {path: [w, k, b]}}\n",
	    NULL);
	struct rv_text svg = {0};

	(void)state;
	assert_true(rv_drawing_svg(plan, RV_FORCE_KN, &svg, NULL) == RV_OK);
	assert_non_null(strstr(svg.data, ">20000 m<"));
	assert_null(strstr(svg.data, "e+0"));
	rv_text_free(&svg);
	rv_plan_free(plan);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_long_scale_is_written_out),
	    cmocka_unit_test(labels_of_known_rigs_keep_apart),
	    cmocka_unit_test(labels_of_the_library_keep_apart),
	    cmocka_unit_test(reserved_letters_are_escaped),
	    cmocka_unit_test(over_and_near_are_told_in_words),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
