/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/estimate_make.h"
#include "core/rig_read.h"
#include "core/sheet.h"

/* Four parts, the line off the fixed block: three sheaves between lead and dead end besides the
 * lead's own. */
static const char rig_text[] = "rig: Test tackle\n"
			       "points:\n"
			       "  winch post: {at: [-6, 10]}\n"
			       "  beam: {at: [0, 10]}\n"
			       "  hook: {at: [0, 0], moves_with: crate}\n"
			       "loads:\n"
			       "  crate: {travels: [0, 1], resists: 10 kN, character: hung}\n"
			       "winches:\n"
			       "  drum: {at: winch post}\n"
			       "blocks:\n"
			       "  top: {at: beam, sheaves: 2, efficiency: [0.9, 0.98]}\n"
			       "  low: {at: hook, sheaves: 1, efficiency: [0.9, 0.98]}\n"
			       "lines:\n"
			       "  rope: {path: [drum, top, low, top]}\n"
			       "cells:\n"
			       "  lead: {in: rope, leg: 1}\n"
			       "  dead: {in: rope, leg: 3}\n"
			       "  other: {in: rope, leg: 2}\n";

static struct rv_rig rig;
static struct rv_sheet sheet;

static int set_up(void **state)
{
	struct rv_error error = {0};

	(void)state;
	if (rv_rig_read(rig_text, strlen(rig_text), &rig, &error) != RV_OK)
		print_error("%d: %s\n", error.line, error.text);
	return 0;
}

static enum rv_err read(const char *text, struct rv_error *error)
{
	return rv_sheet_read(text, strlen(text), &rig, &sheet, error);
}

static void a_sheet_is_read_by_the_names_of_its_columns(void **state)
{
	struct rv_error error = {0};
	(void)state;

	assert_int_equal(read("dead_n,direction,lead_n,load_n\n9000,in,10000,19000\n"
			      "8000.5,out,7000,19000\n",
			      &error),
			 RV_OK);
	assert_int_equal(sheet.cells, 2);
	assert_int_equal(sheet.rows, 2);
	assert_true(sheet.has_load);
	assert_int_equal(sheet.cell[0], rv_rig_find_cell(&rig, "dead"));
	assert_int_equal(sheet.row[1].direction, RV_MOTION_OUT);
	assert_int_equal(sheet.row[1].line, 3);
	assert_near("dead", sheet.row[1].cell_n[0], 8000.5, 0);
	assert_near("lead", sheet.row[1].cell_n[1], 7000.0, 0);
	assert_near("load", rv_sheet_load_log(&sheet, sheet.cell[1]), log(1.9), 1e-12);
	/* as a spreadsheet with a decimal comma writes it */
	assert_int_equal(read("direction;lead_n;dead_n\r\nin;10000,5;9000\r\n", &error), RV_OK);
	assert_near("comma", sheet.row[0].cell_n[0], 10000.5, 0);
}

static void what_is_wrong_is_refused_with_its_place(void **state)
{
	static const struct {
		const char *label, *text;
		enum rv_err code;
		int line, column;
	} cases[] = {
	    {"empty", "", RV_ERR_MISSING, 1, 1},
	    {"no pulls", "direction,lead_n,dead_n\n", RV_ERR_MISSING, 1, 1},
	    {"no direction", "lead_n,dead_n\n1,2\n", RV_ERR_MISSING, 1, 1},
	    {"no cell", "direction,load_n\nin,2\n", RV_ERR_MISSING, 1, 1},
	    {"no such cell", "direction,led_n,dead_n\nin,2,1\n", RV_ERR_UNKNOWN, 1, 11},
	    {"other unit", "direction,lead_kn,dead_n\nin,2,1\n", RV_ERR_UNKNOWN, 1, 11},
	    {"twice", "direction,lead_n,lead_n\nin,2,1\n", RV_ERR_SYNTAX, 1, 18},
	    {"three cells", "direction,lead_n,dead_n,other_n\nin,2,1,1\n", RV_ERR_RANGE, 1, 25},
	    {"direction", "direction,lead_n,dead_n\nin,2,1\nup,2,1\n", RV_ERR_UNKNOWN, 3, 1},
	    {"empty force", "direction,lead_n,dead_n\nin,,1\n", RV_ERR_MISSING, 2, 4},
	    {"no number", "direction,lead_n,dead_n\nin,2,1x\n", RV_ERR_SYNTAX, 2, 6},
	    {"slack", "direction,lead_n,dead_n\nin,2,0\n", RV_ERR_RANGE, 2, 6},
	    {"below zero", "direction,lead_n,dead_n\nin,-2,1\n", RV_ERR_RANGE, 2, 4},
	    {"short row", "direction,lead_n,dead_n\nin,2\n", RV_ERR_SYNTAX, 2, 0},
	};
	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_error error = {0};
		sheet.rows = -1;
		enum rv_err err = read(cases[i].text, &error);
		if (err != cases[i].code || error.line != cases[i].line ||
		    (cases[i].column > 0 && error.column != cases[i].column) || sheet.rows != -1)
			fail_msg("%s: %d at %d:%d: %s", cases[i].label, (int)err, error.line,
				 error.column, error.text);
	}
}

static void more_pulls_than_an_estimate_takes_are_refused(void **state)
{
	struct rv_text text = {0};
	struct rv_error error = {0};
	(void)state;

	rv_text_add(&text, "direction,lead_n,dead_n\n");
	for (int i = 0; i <= RV_ESTIMATE_PULLS; i++)
		rv_text_add(&text, "in,10000,9000\n");
	assert_int_equal(read(text.data, &error), RV_ERR_RANGE);
	assert_int_equal(error.line, RV_ESTIMATE_PULLS + 2);
	rv_text_free(&text);
}

/* Cycles with the forces that an efficiency of 0.95 gives at two sheaves. */
static void a_sheet_of_cycles_gives_the_efficiency(void **state)
{
	static struct rv_sheet_case made;
	static struct rv_estimate estimate;
	struct rv_predictor *predictor;
	struct rv_text text = {0};
	struct rv_error error = {0};
	(void)state;

	assert_int_equal(rv_predictor_new(&rig, &predictor, &error), RV_OK);
	rv_text_add(&text, "direction,dead_n,lead_n\n");
	for (int i = 0; i < 4; i++) {
		double off = i % 2 ? 1.001 : 0.999;
		rv_text_add(&text, "in,%.3f,10000\nout,%.3f,10000\n", 10000 * 0.95 * 0.95 * off,
			    10000 / (0.95 * 0.95) * off);
	}
	assert_int_equal(read(text.data, &error), RV_OK);
	rv_text_free(&text);
	assert_int_equal(rv_sheet_prepare(&sheet, predictor, &made, &error), RV_OK);
	made.setup.excess_high_ratio = 0.0;
	assert_int_equal(rv_estimate_make(&made.setup, made.pull, made.pulls, &estimate), RV_OK);
	if (estimate.refused)
		fail_msg("%s", estimate.refusal.text);
	assert_int_equal(estimate.mode, RV_ESTIMATE_CYCLES);
	assert_int_equal(estimate.cycles, 4);
	assert_string_equal(made.run.cell[RV_PULL_NEAR].name, "lead");
	/* the wraps of this tackle are all but half turns */
	assert_near("efficiency", estimate.efficiency.ratio, 0.95, 0.002);
	rv_predictor_free(predictor);
}

static void one_cell_below_a_hung_weight_gives_it_too(void **state)
{
	static struct rv_sheet_case made;
	static struct rv_estimate estimate;
	struct rv_predictor *predictor;
	struct rv_text text = {0};
	struct rv_error error = {0};
	(void)state;

	assert_int_equal(rv_predictor_new(&rig, &predictor, &error), RV_OK);
	rv_text_add(&text, "direction,lead_n,load_n\n");
	for (int i = 0; i < 3; i++) {
		double load_n = 10000.0 + 500.0 * i, up = 0.95 + 0.95 * 0.95,
		       down = 1.0 / 0.95 + 1.0 / (0.95 * 0.95);
		rv_text_add(&text, "in,%.3f,%.0f\nout,%.3f,%.0f\n", load_n / up, load_n,
			    load_n / down, load_n);
	}
	assert_int_equal(read(text.data, &error), RV_OK);
	rv_text_free(&text);
	assert_int_equal(rv_sheet_prepare(&sheet, predictor, &made, &error), RV_OK);
	made.setup.excess_high_ratio = 0.0;
	assert_int_equal(rv_estimate_make(&made.setup, made.pull, made.pulls, &estimate), RV_OK);
	if (estimate.refused)
		fail_msg("%s", estimate.refusal.text);
	assert_int_equal(estimate.mode, RV_ESTIMATE_HUNG);
	assert_near("efficiency", estimate.efficiency.ratio, 0.95, 0.002);
	rv_predictor_free(predictor);
}

static void hauls_alone_are_refused_for_want_of_a_gain(void **state)
{
	static struct rv_sheet_case made;
	static struct rv_estimate estimate;
	struct rv_predictor *predictor;
	struct rv_error error = {0};
	(void)state;

	assert_int_equal(rv_predictor_new(&rig, &predictor, &error), RV_OK);
	assert_int_equal(read("direction,lead_n,dead_n\nin,10000,9000\nin,10000,9010\n", &error),
			 RV_OK);
	assert_int_equal(rv_sheet_prepare(&sheet, predictor, &made, &error), RV_OK);
	assert_int_equal(rv_estimate_make(&made.setup, made.pull, made.pulls, &estimate), RV_OK);
	assert_true(estimate.refused);
	assert_string_equal(estimate.refusal.code, "no_gain_calibration");
	rv_predictor_free(predictor);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_sheet_is_read_by_the_names_of_its_columns),
	    cmocka_unit_test(what_is_wrong_is_refused_with_its_place),
	    cmocka_unit_test(more_pulls_than_an_estimate_takes_are_refused),
	    cmocka_unit_test(a_sheet_of_cycles_gives_the_efficiency),
	    cmocka_unit_test(one_cell_below_a_hung_weight_gives_it_too),
	    cmocka_unit_test(hauls_alone_are_refused_for_want_of_a_gain),
	};

	return cmocka_run_group_tests(tests, set_up, NULL);
}
