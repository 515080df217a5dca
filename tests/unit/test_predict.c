/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <stdlib.h>

#include "core/predict.h"
#include "tests/unit/rig_cases.h"

static struct rv_predictor *made(const char *text)
{
	static struct rv_rig rig;
	struct rv_predictor *predictor = NULL;
	struct rv_error error = {0};

	rig_case_read(text, &rig);
	if (rv_predictor_new(&rig, &predictor, &error) != RV_OK) {
		print_error("%s: %s\n", error.tag, error.text);
		fail();
	}
	return predictor;
}

static int component(const struct rv_predictor *predictor, const char *name)
{
	for (int i = 0; i < rv_predictor_components(predictor); i++)
		if (strcmp(rv_predictor_component(predictor, i)->name, name) == 0)
			return i;
	print_error("no component %s\n", name);
	fail();
	return -1;
}

/* Source of the figures: the independent prototype of rig_cases.h. */
static void one_cell_tells_the_load_of_every_component(void **state)
{
	static const struct {
		const char *label, *rig;
		int cell;
		double cell_n;
		enum rv_motion motion;
		const char *component;
		double load_n;
	} cases[] = {
	    {"redirect, lead cell: corner block", RIG_REDIRECT, 0, 18750.000000, RV_MOTION_IN,
	     "corner", 25991.585},
	    {"redirect, anchor cell: lead line", RIG_REDIRECT, 1, 25991.584607, RV_MOTION_IN,
	     "drum", 18750.0},
	    {"redirect: one leg of the strop", RIG_REDIRECT, 0, 18750.0, RV_MOTION_IN, "strop",
	     14339.271},
	    {"two parts, lead cell: the eye", RIG_TWO_PARTS, 0, 23591.200, RV_MOTION_IN, "eye",
	     46000.002},
	    {"two parts, dead cell: the winch", RIG_TWO_PARTS, 1, 22411.640, RV_MOTION_IN, "drum",
	     23591.200},
	    {"two parts: what is shackled to the end", RIG_TWO_PARTS, 0, 23591.200, RV_MOTION_IN,
	     "dead pin", 22411.640},
	    {"three parts: block with becket", RIG_THREE_PARTS, 0, 26201.789, RV_MOTION_IN,
	     "runner", 75000.0},
	    {"three parts: becket", RIG_THREE_PARTS, 0, 26201.789, RV_MOTION_IN, "runner becket",
	     23644.494},
	    {"three parts, post cell: the winch", RIG_THREE_PARTS, 1, 48798.211, RV_MOTION_IN,
	     "drum", 26201.789},
	    {"four parts: strop", RIG_FOUR_PARTS, 0, 26103.474, RV_MOTION_IN, "strop", 25730.055},
	    {"four parts, dead cell: twin", RIG_FOUR_PARTS, 1, 22380.466, RV_MOTION_IN, "twin",
	     95160.043},
	    {"five parts: far block", RIG_FIVE_PARTS, 0, 39784.446, RV_MOTION_IN, "far twin",
	     140215.554},
	    {"five parts, paying out: the same pull", RIG_FIVE_PARTS, 0, 32404.680, RV_MOTION_OUT,
	     "eye", 180000.0},
	    {"lowering over a bar: the bar", RIG_LOWER, 0, 2135.475, RV_MOTION_OUT, "bar",
	     3786.141},
	    {"lowering over a bar: dead end", RIG_LOWER, 0, 2135.475, RV_MOTION_OUT, "dead",
	     6251.435},
	    {"self recovery: the tree", RIG_SELF, 0, 17441.345, RV_MOTION_IN, "tree", 34000.007},
	    {"piggyback, haul line's cell: the load", RIG_PIGGYBACK, 0, 10970.204923, RV_MOTION_IN,
	     "hitch", 60000.0},
	    {"piggyback, main line's cell: the winch", RIG_PIGGYBACK, 1, 18499.715, RV_MOTION_IN,
	     "drum", 10970.205},
	    {"piggyback, the grab", RIG_PIGGYBACK, 0, 10970.204923, RV_MOTION_IN, "long at clamp",
	     21391.900},
	    {"piggyback, paying out", RIG_PIGGYBACK, 0, 9077.409, RV_MOTION_OUT, "hitch", 60000.0},
	    {"burton, beam cell: the winch", RIG_BURTON_3, 1, 32872.458, RV_MOTION_IN, "drum",
	     8872.458},
	    {"sling, lead cell: the fir", RIG_SLING, 0, 20763.130, RV_MOTION_IN, "fir", 26275.883},
	    {"sling, sling cell: the winch", RIG_SLING, 1, 26275.883, RV_MOTION_IN, "drum",
	     20763.130},
	    {"self recovery, tree cell: the rail", RIG_SELF, 1, 34000.007, RV_MOTION_IN, "rail",
	     16569.278},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_predictor *predictor = made(cases[i].rig);
		static struct rv_loads loads;

		assert_int_equal(rv_predictor_loads(predictor, cases[i].cell, cases[i].cell_n,
						    cases[i].motion, &loads),
				 RV_OK);
		int c = component(predictor, cases[i].component);
		assert_near(cases[i].label, loads.component[c].nominal_n, cases[i].load_n, 0.01);
		rv_predictor_free(predictor);
	}
}

static void holding_spans_both_directions(void **state)
{
	struct rv_predictor *predictor = made(RIG_TWO_PARTS);
	static struct rv_loads in, out, hold;
	int eye = component(predictor, "eye");

	(void)state;
	assert_int_equal(rv_predictor_loads(predictor, 0, 20000.0, RV_MOTION_IN, &in), RV_OK);
	assert_int_equal(rv_predictor_loads(predictor, 0, 20000.0, RV_MOTION_OUT, &out), RV_OK);
	assert_int_equal(rv_predictor_loads(predictor, 0, 20000.0, RV_MOTION_HOLD, &hold), RV_OK);
	assert_true(in.component[eye].high_n < out.component[eye].low_n);
	assert_near("low", hold.component[eye].low_n, in.component[eye].low_n, 1e-9);
	assert_near("high", hold.component[eye].high_n, out.component[eye].high_n, 1e-9);
	assert_near("halfway", hold.component[eye].nominal_n,
		    0.5 * (in.component[eye].low_n + out.component[eye].high_n), 1e-9);
	assert_near("the cell itself", hold.cell[0].low_n, 20000.0, 1e-9);
	assert_int_equal(rv_predictor_loads(predictor, 0, 20000.0, RV_MOTION_UNKNOWN, &in), RV_OK);
	assert_near("unknown is as holding", in.component[eye].high_n, hold.component[eye].high_n,
		    0.0);
	rv_predictor_free(predictor);
}

static void a_range_of_efficiency_makes_a_range_of_load(void **state)
{
	struct rv_predictor *predictor = made(RIG_REDIRECT);
	static struct rv_loads loads;

	(void)state;
	assert_int_equal(rv_predictor_loads(predictor, 0, 10000.0, RV_MOTION_IN, &loads), RV_OK);
	assert_near("far leg, low", loads.leg[1].low_n, 9400.0, 1e-9);
	assert_near("far leg", loads.leg[1].nominal_n, 9600.0, 1e-9);
	assert_near("far leg, high", loads.leg[1].high_n, 9800.0, 1e-9);
	assert_near("lead leg is the cell's own", loads.leg[0].high_n, 10000.0, 1e-9);
	rv_predictor_free(predictor);
}

static void the_cell_nearest_the_winch_is_known(void **state)
{
	struct rv_predictor *predictor = made(RIG_FIVE_PARTS);

	(void)state;
	assert_int_equal(rv_predictor_cell_distance(predictor, 0), 0);
	assert_int_equal(rv_predictor_cell_distance(predictor, 1), 4);
	assert_int_equal(rv_predictor_cell_distance(predictor, 2), 2);
	assert_near("velocity ratio", rv_predictor_velocity_ratio(predictor, 0), 5.0, 1e-12);
	rv_predictor_free(predictor);
}

static void a_ratio_gives_back_its_efficiency(void **state)
{
	static const struct {
		const char *label, *rig;
		int near, far;
	} cases[] = {
	    {"two parts", RIG_TWO_PARTS, 0, 1},		{"five parts", RIG_FIVE_PARTS, 0, 1},
	    {"five parts, half", RIG_FIVE_PARTS, 2, 1}, {"anchor cell", RIG_THREE_PARTS, 0, 1},
	    {"redirect", RIG_REDIRECT, 0, 1},		{"tree cell", RIG_SELF, 0, 1},
	};
	static const enum rv_motion motions[] = {RV_MOTION_IN, RV_MOTION_OUT};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_predictor *p = made(cases[i].rig);

		for (int m = 0; m < 2; m++)
			for (double eta = 0.45; eta < 1.2; eta += 0.05) {
				double got = 0.0, ratio = rv_predictor_log_ratio(p, cases[i].near,
										 cases[i].far, eta,
										 motions[m]);
				assert_int_equal(rv_predictor_efficiency(p, cases[i].near,
									 cases[i].far, ratio,
									 motions[m], &got),
						 RV_OK);
				assert_near(cases[i].label, got, eta, 1e-12);
			}
		rv_predictor_free(p);
	}
}

static void the_sheaves_between_two_cells_are_the_slope_of_their_ratio(void **state)
{
	static const struct {
		const char *label, *rig;
		int near, far;
		double sheaves; /* NaN: only the numerical slope is compared */
		double efficiency;
	} cases[] = {
	    {"one sheave", RIG_TWO_PARTS, 0, 1, 1.0, 0.95},
	    {"four sheaves", RIG_FIVE_PARTS, 0, 1, 4.0, 0.95},
	    {"two of them", RIG_FIVE_PARTS, 2, 1, 2.0, 0.95},
	    {"backwards", RIG_FIVE_PARTS, 1, 0, -4.0, 0.95},
	    {"the bar is no sheave", RIG_LOWER, 0, 1, 1.0, 0.92},
	    {"anchor cell", RIG_SELF, 0, 1, (double)NAN, 0.95},
	    {"itself", RIG_TWO_PARTS, 0, 0, 0.0, 0.95},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_predictor *p = made(cases[i].rig);
		double got = rv_predictor_sheaves_between(p, cases[i].near, cases[i].far);
		double up = rv_predictor_log_ratio(p, cases[i].near, cases[i].far,
						   cases[i].efficiency * exp(1e-4), RV_MOTION_IN);
		double down = rv_predictor_log_ratio(
		    p, cases[i].near, cases[i].far, cases[i].efficiency * exp(-1e-4), RV_MOTION_IN);

		assert_near(cases[i].label, got, (up - down) / 2e-4, 1e-7);
		if (!isnan(cases[i].sheaves))
			assert_near(cases[i].label, got, cases[i].sheaves, 1e-7);
		rv_predictor_free(p);
	}
}

static void what_cannot_be_told_is_refused(void **state)
{
	struct rv_predictor *p = made(RIG_TWO_PARTS);
	static struct rv_loads loads;
	double efficiency = 7.0;

	(void)state;
	assert_int_equal(rv_predictor_loads(p, 5, 1.0, RV_MOTION_IN, &loads), RV_ERR_REFUSED);
	assert_int_equal(rv_predictor_loads(p, 0, (double)NAN, RV_MOTION_IN, &loads),
			 RV_ERR_REFUSED);
	assert_int_equal(rv_predictor_efficiency(p, 0, 0, 0.0, RV_MOTION_IN, &efficiency),
			 RV_ERR_REFUSED);
	assert_int_equal(rv_predictor_efficiency(p, 0, 1, 0.0, RV_MOTION_HOLD, &efficiency),
			 RV_ERR_REFUSED);
	assert_int_equal(rv_predictor_efficiency(p, 0, 1, 1.0, RV_MOTION_IN, &efficiency),
			 RV_ERR_RANGE);
	assert_near("untouched", efficiency, 7.0, 0.0);
	rv_predictor_free(p);
}

/* Source of the figures: the same prototype's travel tables. */
static void the_prediction_follows_the_line_taken_in(void **state)
{
	static const struct {
		const char *label, *rig;
		double line_in_m, velocity_ratio, leg_m;
		int leg;
	} cases[] = {
	    {"four parts, a quarter", RIG_FOUR_PARTS, 32.1669, 3.86962, (double)NAN, 0},
	    {"four parts, half", RIG_FOUR_PARTS, 63.6570, 3.74389, (double)NAN, 0},
	    {"four parts, all", RIG_FOUR_PARTS, 114.8899, 1.31147, (double)NAN, 0},
	    {"piggyback, half: the haul block's leg", RIG_PIGGYBACK, 8.7, 6.0, 9.0 - 3.0 * 1.45, 4},
	    {"paid out", RIG_PIGGYBACK, -6.0, 6.0, 12.0, 4},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_predictor *p = made(cases[i].rig);
		struct rv_error error;

		assert_int_equal(rv_predictor_at_payout(p, cases[i].line_in_m, 0, 5000.0, &error),
				 RV_OK);
		assert_near(cases[i].label, rv_predictor_velocity_ratio(p, 0),
			    cases[i].velocity_ratio, 2e-5);
		if (!isnan(cases[i].leg_m))
			assert_near(cases[i].label, rv_predictor_leg(p, cases[i].leg)->length_m,
				    cases[i].leg_m, 1e-6);
		rv_predictor_free(p);
	}
}

/* A pull that the table of the four parts' travel says at half of it. */
static void loads_are_those_of_the_geometry_gone_to(void **state)
{
	struct rv_predictor *p = made(RIG_FOUR_PARTS);
	static struct rv_loads loads, before, after;
	struct rv_error error;
	int stake = component(p, "stake");

	(void)state;
	assert_int_equal(rv_predictor_at_payout(p, 63.6570, 0, 27305.08, &error), RV_OK);
	assert_int_equal(rv_predictor_loads(p, 0, 27305.08, RV_MOTION_IN, &loads), RV_OK);
	assert_near("dead end: three sheaves at 0.95", loads.component[stake].nominal_n,
		    27305.08 * 0.95 * 0.95 * 0.95, 1e-6);
	int eye = component(p, "eye");
	/* 95 kN along the travel, and what the spread legs add across it. */
	assert_true(loads.component[eye].nominal_n > 95000.0 &&
		    loads.component[eye].nominal_n < 97000.0);
	assert_int_equal(rv_predictor_loads(p, 0, 20000.0, RV_MOTION_IN, &before), RV_OK);
	assert_int_not_equal(rv_predictor_at_payout(p, 500.0, 0, 20000.0, &error), RV_OK);
	assert_int_equal(rv_predictor_loads(p, 0, 20000.0, RV_MOTION_IN, &after), RV_OK);
	assert_near("stays where it was", after.component[eye].nominal_n,
		    before.component[eye].nominal_n, 1e-6);
	rv_predictor_free(p);
}

/* By hand: a weight of 2 kN in a bight between two equal legs that sag 5 in 10 pulls each with its
 * half over the sine of their slope. */
static void weights_bend_what_a_cell_tells(void **state)
{
	struct rv_predictor *p =
	    made("points: {a: {at: [0, 10]}, b: {at: [20, 10]}, k: {at: [11, 6], floats: true, "
		 "weight: 2 kN}, e: {at: [0, 0], moves_with: car}}\n"
		 "loads: {car: {travels: [0, 1], resists: 3 kN}}\n"
		 "winches: {drum: {at: b}}\n"
		 "blocks: {top: {at: a, efficiency: 1}}\n"
		 "lines: {one: {path: [drum, k]}, two: {path: [k, top, e]}}\n"
		 "cells: {lead: {in: one, leg: 1}}\n");
	static struct rv_loads loads;
	struct rv_error error;
	double half_n = 1000.0 * hypot(10.0, 5.0) / 5.0;
	double in_m = rv_predictor_leg(p, 0)->length_m - hypot(10.0, 5.0);

	(void)state;
	assert_int_equal(rv_predictor_at_payout(p, in_m, 0, half_n, &error), RV_OK);
	assert_near("the drum's leg", rv_predictor_leg(p, 0)->length_m, hypot(10.0, 5.0), 1e-5);
	assert_int_equal(rv_predictor_loads(p, 0, half_n, RV_MOTION_IN, &loads), RV_OK);
	double level = rv_predictor_leg(p, 1)->length_m;
	/* Sides of the triangle between the two anchors and the knot give both slopes. */
	double x = (400.0 + level * level - 125.0) / 40.0;
	double sag = sqrt(level * level - x * x);
	double lift_n = half_n * sag / hypot(10.0, 5.0) + loads.leg[1].nominal_n * sag / level;
	assert_near("the legs lift the weight", lift_n, 2000.0, 1e-3);
	assert_near("and pull alike sideways", loads.leg[1].nominal_n * x / level,
		    half_n * (20.0 - x) / hypot(10.0, 5.0), 1e-3);
	rv_predictor_free(p);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(one_cell_tells_the_load_of_every_component),
	    cmocka_unit_test(holding_spans_both_directions),
	    cmocka_unit_test(a_range_of_efficiency_makes_a_range_of_load),
	    cmocka_unit_test(the_cell_nearest_the_winch_is_known),
	    cmocka_unit_test(a_ratio_gives_back_its_efficiency),
	    cmocka_unit_test(the_sheaves_between_two_cells_are_the_slope_of_their_ratio),
	    cmocka_unit_test(what_cannot_be_told_is_refused),
	    cmocka_unit_test(the_prediction_follows_the_line_taken_in),
	    cmocka_unit_test(loads_are_those_of_the_geometry_gone_to),
	    cmocka_unit_test(weights_bend_what_a_cell_tells),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
