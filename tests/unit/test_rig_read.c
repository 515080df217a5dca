/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "core/rig_read.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

/* A rig that uses every section and most keys. */
static const char whole[] =
    "rig: pontoon warped along the quay\n"
    "points:\n"
    "  quay:  {at: [0, 0, 2]}\n"
    "  pile:  {at: {from: quay, distance: 30 m, bearing: 90, rise: -1.5}, wll: 90 kN, within: "
    "0.5}\n"
    "  stake: {at: {from: pile, distance: 10, bearing: 180}, mbs: 200 kN, design_factor: 4}\n"
    "  ring:  {at: [26, 1, 0.5], moves_with: pontoon}\n"
    "  bight: {at: [9, 0, 2], floats: true, weight: 50 kgf, force: [0 N, 1 kN, 0 N]}\n"
    "loads:\n"
    "  pontoon: {travels: [-1, 0, 0.1], resists: [20 kN, 30 kN], character: varies}\n"
    "winches:\n"
    "  capstan: {at: quay, rated: 4 t, line_pull: 10 kN, wraps_left: 3, drum: {diameter: 300 mm,"
    " width: 0.6, layers: 4}}\n"
    "  tug: {at: stake, rated: 40 kN, vehicle: true}\n"
    "blocks:\n"
    "  twin:   {at: ring, sheaves: 2, efficiency: [0.92, 0.98], drag: 20 N, pin_drag: 0.02,"
    " bearing_share: 0.6, diameter: 0.22, hangs: 2 m, takes: [wire, chain], groove: [12, 16],"
    " opens: true, wll: 80 kN, mbs: 320 kN, becket_wll: 3 t}\n"
    "  runner: {at: bight, efficiency: 95 %}\n"
    "  post:   {at: pile, bar_friction: 0.15, turns: 2, wrap: 200, opens: false}\n"
    "lines:\n"
    "  hawser: {path: [tail, bight, twin, post, twin, stake], wll: 35 kN, mbs: 120 kN,"
    " material: synthetic, diameter: 14 mm, stiffness: 1200 kN, terminal: soft eye, length: 98 "
    "ft}\n"
    "  fall:   {path: [capstan, runner, twin], material: wire}\n"
    "  tow:    {path: [pile, tug]}\n"
    "fittings:\n"
    "  shackle: {kind: shackle, holds: [post, fall end], wll: 32.5 kN}\n"
    "  strop: {kind: strop, holds: shackle, legs: 2, included_angle: 50, wll: 2 t}\n"
    "cells:\n"
    "  lead: {in: fall, leg: 2}\n"
    "  mid:  {in: hawser, leg: 4}\n"
    "  pin:  {holds: shackle}\n"
    "drive: {capstan: 1, tug: 0.5}\n"
    "haul: out\n";

static struct rv_rig *read_rig(const char *text)
{
	struct rv_rig *rig = calloc(1, sizeof *rig);
	struct rv_error error = {0};

	assert_non_null(rig);
	if (rv_rig_read(text, strlen(text), rig, &error) != RV_OK) {
		print_error("%d:%d: %s\n", error.line, error.column, error.text);
		fail();
	}
	return rig;
}

static void points_and_what_stands_at_them_are_placed(void **state)
{
	struct rv_rig *rig = read_rig(whole);
	const struct rv_point *pile = &rig->point[rv_rig_find_point(rig, "pile")];
	const struct rv_point *stake = &rig->point[rv_rig_find_point(rig, "stake")];
	const struct rv_point *bight = &rig->point[rv_rig_find_point(rig, "bight")];

	(void)state;
	assert_int_equal(rig->dimensions, 3);
	assert_true(rig->haul_out);
	assert_near("east of the quay", pile->at_m[0], 30.0, 1e-9);
	assert_near("level with it", pile->at_m[1], 0.0, 1e-9);
	assert_near("below it", pile->at_m[2], 0.5, 1e-9);
	assert_near("south of the pile, x", stake->at_m[0], 30.0, 1e-9);
	assert_near("south of the pile, y", stake->at_m[1], -10.0, 1e-9);
	assert_near("as high as the pile", stake->at_m[2], 0.5, 1e-9);
	assert_near("pile within", pile->within_m, 0.5, 0.0);
	assert_near("limit from wll", rv_rig_limit_n(pile->rating), 90e3, 1e-9);
	assert_near("limit from mbs / factor", rv_rig_limit_n(stake->rating), 50e3, 1e-9);
	assert_near("no rating", rv_rig_limit_n(bight->rating), (double)NAN, 0.0);
	assert_int_equal(bight->kind, RV_POINT_FLOATS);
	assert_near("weight", bight->weight_n, 490.3325, 1e-9);
	assert_near("outside force", bight->force_n[1], 1000.0, 1e-9);
	assert_int_equal(rig->point[3].kind, RV_POINT_WITH_LOAD);
	assert_int_equal(rig->point[3].load, 0);
	assert_int_equal(rig->block[0].point, 3);
	assert_int_equal(pile->line, 4);
	free(rig);
}

static void loads_and_winches_keep_what_was_said(void **state)
{
	struct rv_rig *rig = read_rig(whole);
	const struct rv_load *load = &rig->load[0];
	const struct rv_winch *capstan = &rig->winch[0], *tug = &rig->winch[1];

	(void)state;
	assert_near("resists low", load->resists_n.low, 20e3, 1e-9);
	assert_near("resists middle", load->resists_n.middle, 25e3, 1e-9);
	assert_near("resists high", load->resists_n.high, 30e3, 1e-9);
	assert_near("travels up a little", load->travels[2], 0.1, 0.0);
	assert_near("no mass", load->mass_kg, (double)NAN, 0.0);
	assert_int_equal(load->character, RV_LOAD_VARIES);
	assert_near("rated in t", capstan->rated_n, 39226.6, 1e-9);
	assert_true(capstan->rated_as_mass);
	assert_false(tug->rated_as_mass);
	assert_true(tug->is_vehicle);
	assert_near("line pull", capstan->line_pull_n, 10e3, 1e-9);
	assert_near("no line pull", tug->line_pull_n, (double)NAN, 0.0);
	assert_near("wraps left", capstan->wraps_left, 3.0, 0.0);
	assert_near("drum", capstan->drum_diameter_m, 0.3, 1e-12);
	assert_near("drum width", capstan->drum_width_m, 0.6, 1e-12);
	assert_int_equal(capstan->drum_layers, 4);
	assert_near("drive", rig->drive[1], 0.5, 0.0);
	free(rig);
}

static void blocks_keep_what_was_said(void **state)
{
	struct rv_rig *rig = read_rig(whole);
	const struct rv_block *twin = &rig->block[0], *runner = &rig->block[1],
			      *post = &rig->block[2];

	(void)state;
	assert_int_equal(twin->sheaves, 2);
	assert_near("efficiency low", twin->efficiency.low, 0.92, 0.0);
	assert_near("efficiency middle", twin->efficiency.middle, 0.95, 1e-12);
	assert_near("efficiency high", twin->efficiency.high, 0.98, 0.0);
	assert_near("efficiency in %", runner->efficiency.low, 0.95, 1e-12);
	assert_near("drag", twin->drag_n, 20.0, 0.0);
	assert_near("pin drag", twin->pin_drag_ratio, 0.02, 0.0);
	assert_near("bearing share", twin->bearing_share, 0.6, 0.0);
	assert_near("hangs", twin->hangs_m, 2.0, 0.0);
	assert_int_equal(twin->takes, RV_TAKES_WIRE | RV_TAKES_CHAIN);
	assert_near("groove", twin->groove_high_mm, 16.0, 0.0);
	assert_int_equal(twin->opens, RV_SAID_YES);
	assert_int_equal(runner->opens, RV_UNSAID);
	assert_int_equal(post->opens, RV_SAID_NO);
	assert_near("becket", twin->becket_wll_n, 29419.95, 1e-9);
	assert_true(twin->becket_as_mass);
	assert_false(twin->rating.as_mass);
	assert_near("bar", post->bar_friction, 0.15, 0.0);
	assert_near("bar turns", post->turns, 2.0, 0.0);
	assert_near("bar wrap", post->wrap_deg, 200.0, 0.0);
	assert_near("bar has no efficiency", post->efficiency.middle, (double)NAN, 0.0);
	assert_near("sheave has no bar friction", twin->bar_friction, (double)NAN, 0.0);
	free(rig);
}

static void paths_follow_the_rule(void **state)
{
	static const struct {
		const char *label;
		int rope, step;
		enum rv_step_kind kind;
		int index, sheave;
	} cases[] = {
	    {"tail", 0, 0, RV_STEP_TAIL, -1, -1},	  {"grab", 0, 1, RV_STEP_POINT, 4, -1},
	    {"first sheave", 0, 2, RV_STEP_BLOCK, 0, 0},  {"bar", 0, 3, RV_STEP_BLOCK, 2, 0},
	    {"second sheave", 0, 4, RV_STEP_BLOCK, 0, 1}, {"winch", 1, 0, RV_STEP_WINCH, 0, -1},
	    {"run over", 1, 1, RV_STEP_BLOCK, 1, 0},	  {"becket", 1, 2, RV_STEP_BLOCK, 0, -1},
	    {"vehicle last", 2, 1, RV_STEP_WINCH, 1, -1},
	};
	struct rv_rig *rig = read_rig(whole);

	(void)state;
	for (size_t i = 0; i < COUNT(cases); i++) {
		const struct rv_step *step = &rig->rope[cases[i].rope].path[cases[i].step];
		if (step->kind != cases[i].kind || step->index != cases[i].index ||
		    step->sheave != cases[i].sheave) {
			print_error("%s: kind %d index %d sheave %d\n", cases[i].label,
				    (int)step->kind, step->index, step->sheave);
			fail();
		}
	}
	assert_int_equal(rv_rig_legs(&rig->rope[0]), 4);
	assert_int_equal(rv_rig_legs(&rig->rope[1]), 2);
	free(rig);
}

static void lines_fittings_and_cells_keep_what_was_said(void **state)
{
	struct rv_rig *rig = read_rig(whole);
	const struct rv_rope *hawser = &rig->rope[0];
	const struct rv_fitting *shackle = &rig->fitting[0], *strop = &rig->fitting[1];

	(void)state;
	assert_int_equal(hawser->material, RV_SYNTHETIC);
	assert_int_equal(hawser->terminal, RV_SOFT_EYE);
	assert_int_equal(rig->rope[1].material, RV_WIRE);
	assert_int_equal(rig->rope[2].material, RV_MATERIAL_UNSAID);
	assert_near("diameter", hawser->diameter_m, 0.014, 1e-12);
	assert_near("stiffness", hawser->stiffness_n, 1.2e6, 1e-6);
	assert_near("length in ft", hawser->length_m, 29.8704, 1e-9);
	assert_int_equal(shackle->count, 2);
	assert_int_equal(shackle->holds[0].kind, RV_HELD_BLOCK);
	assert_int_equal(shackle->holds[1].kind, RV_HELD_LINE_END);
	assert_int_equal(shackle->holds[1].index, 1);
	assert_int_equal(strop->holds[0].kind, RV_HELD_FITTING);
	assert_int_equal(strop->legs, 2);
	assert_near("included angle", strop->included_angle_deg, 50.0, 0.0);
	assert_true(strop->rating.as_mass);
	assert_true(rig->cell[1].in_leg);
	assert_int_equal(rig->cell[1].rope, 0);
	assert_int_equal(rig->cell[1].leg, 4);
	assert_false(rig->cell[2].in_leg);
	assert_int_equal(rig->cell[2].holds.kind, RV_HELD_FITTING);
	free(rig);
}

/* Worked by hand: W = 6200 kg x 9.80665 = 60801.23 N; sin 8 deg = 0.1391731, cos 8 deg = 0.9902681;
 * hauling W (0.1391731 + 0.12 x 0.9902681) = 15687.0 N and with 0.25: 23514.3 N; paying out down
 * 20 deg: sin 0.3420201, cos 0.9396926: W (0.3420201 - 0.12 x 0.9396926) = 13939.1 N. */
static void a_vehicle_on_a_slope_resists_with_weight_and_friction(void **state)
{
	static const char form[] = "%spoints: {a: {at: [0, 0]}, b: {at: [9, 0], moves_with: van}}\n"
				   "loads: {van: {travels: [-1, 0], resists: {mass: 6.2 t, %s}}}\n"
				   "lines: {l: {path: [a, b]}}\n";
	static const struct {
		const char *label, *haul, *terms;
		double low_n, high_n;
	} cases[] = {
	    {"hauling", "", "slope_deg: 8, rolling: [0.12, 0.25], mire: 0", 15687.0, 23514.3},
	    {"paying out", "haul: out\n", "slope_deg: 20, rolling: 0.12", 13939.1, 13939.1},
	    {"mire only", "", "mire: 100 %", 60801.2, 60801.2},
	};

	(void)state;
	for (size_t i = 0; i < COUNT(cases); i++) {
		char text[400];
		snprintf(text, sizeof text, form, cases[i].haul, cases[i].terms);
		struct rv_rig *rig = read_rig(text);
		assert_near(cases[i].label, rig->load[0].resists_n.low, cases[i].low_n, 0.1);
		assert_near(cases[i].label, rig->load[0].resists_n.high, cases[i].high_n, 0.1);
		assert_near(cases[i].label, rig->load[0].mass_kg, 6200.0, 1e-9);
		free(rig);
	}
}

static void a_refused_rig_leaves_the_output_alone(void **state)
{
	static const char text[] = "points: {a: {at: [0, 0]}}\nlines: {l: {path: [a, b]}}\n";
	struct rv_rig *rig = calloc(1, sizeof *rig);
	struct rv_error error = {0};

	(void)state;
	rig->points = 77;
	assert_int_equal(rv_rig_read(text, strlen(text), rig, &error), RV_ERR_UNKNOWN);
	assert_string_equal(error.tag, "name_unknown");
	assert_int_equal(error.line, 2);
	assert_int_equal(error.column, 23);
	assert_int_equal(rig->points, 77);
	assert_int_equal(rv_rig_read(text, strlen(text), rig, NULL), RV_ERR_UNKNOWN);
	free(rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(points_and_what_stands_at_them_are_placed),
	    cmocka_unit_test(loads_and_winches_keep_what_was_said),
	    cmocka_unit_test(blocks_keep_what_was_said),
	    cmocka_unit_test(paths_follow_the_rule),
	    cmocka_unit_test(lines_fittings_and_cells_keep_what_was_said),
	    cmocka_unit_test(a_vehicle_on_a_slope_resists_with_weight_and_friction),
	    cmocka_unit_test(a_refused_rig_leaves_the_output_alone),
	};

	return cmocka_run_group_tests_name("rig_read", tests, NULL, NULL);
}
