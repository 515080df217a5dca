/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was made ready for every reading, against all corners tried one by one: 1,000 seeded rigs,
 * every cell and motion, and loads from below zero up to what no line carries.
 */
#include "tests/rvtest.h"

#include <math.h>
#include <stdlib.h>

#include "core/cell.h"
#include "core/envelope.h"
#include "core/given.h"
#include "tests/unit/rig_cases.h"
#include "tests/unit/rig_draft.h"

enum { RIGS = 1000, LOADS = 400 };

/* ---- rigs ---- */

static void add_block(struct rv_text *text, int i)
{
	double low = rig_draft_draw(0.88, 0.96);

	rv_text_add(text, "  b%d: {at: p%d, efficiency: [%.5f, %.5f]", i, i, low,
		    low + rig_draft_draw(0.0, 0.03));
	if (rig_draft_one_in(3))
		rv_text_add(text, ", bearing_share: %.4f", rig_draft_draw(0, 1));
	if (rig_draft_one_in(3))
		rv_text_add(text, ", pin_drag: %.5f", rig_draft_draw(0, 0.03));
	if (rig_draft_one_in(2))
		rv_text_add(text, ", drag: %.3f N", rig_draft_draw(0, 400));
	rv_text_add(text, "}\n");
}

/* A tackle between the ground and a load; what holds it may be heavy. */
static void write_tackle(struct rv_text *text)
{
	int blocks = 1 + (int)rig_draft_draw(0.0, 3.999);

	rv_text_add(text, "points:\n  a: {at: [%.4f, %.4f]}\n", rig_draft_draw(-5, 0),
		    rig_draft_draw(-5, 5));
	for (int i = 0; i <= blocks; i++) {
		rv_text_add(text, "  p%d: {at: [%.4f, %.4f]", i,
			    i % 2 == 0 ? rig_draft_draw(30, 40) : rig_draft_draw(-2, 6),
			    rig_draft_draw(-8, 8));
		if (i % 2 == 0)
			rv_text_add(text, ", moves_with: car");
		if (rig_draft_one_in(3))
			rv_text_add(text, ", weight: %.2f N", rig_draft_draw(10, 4000));
		rv_text_add(text, "}\n");
	}
	rv_text_add(text, "loads: {car: {travels: [-1, %.3f], resists: %.3f kN}}\n",
		    rig_draft_draw(-0.2, 0.2), rig_draft_draw(2, 60));
	rv_text_add(text, "winches: {drum: {at: a}}\nblocks:\n");
	for (int i = 0; i < blocks; i++)
		add_block(text, i);
	rv_text_add(text, "lines: {wire: {path: [drum");
	for (int i = 0; i < blocks; i++)
		rv_text_add(text, ", b%d", i);
	rv_text_add(text,
		    ", p%d]}}\nfittings: {strop: {kind: strop, holds: b0, legs: 2, "
		    "included_angle: 40}}\ncells: {lead: {in: wire, leg: 1}, last: {in: wire, "
		    "leg: %d}, pin: {holds: b0}}\n",
		    blocks, blocks + 1);
}

/* A rig whose points float, its friction known as ranges. */
static void write_floating(struct rv_text *text, int number)
{
	static const char *const line[RIG_DRAFT_FAMILIES] = {"wire", "l0",   "short",
							     "l0",   "main", "fall"};
	struct rig_draft draft = {.in_space = number % 2 == 1};
	const char *rest, *word;

	rig_draft_write(&draft, number / 2 % RIG_DRAFT_FAMILIES);
	for (rest = draft.text.data; (word = strstr(rest, "efficiency: ")); rest = word) {
		rv_text_add(text, "%.*s", (int)(word - rest), rest);
		char *end;
		double eta = strtod(word + strlen("efficiency: "), &end);
		rv_text_add(text, "efficiency: [%.5f, %.5f]", eta - rig_draft_draw(0, 0.03), eta);
		word = end;
	}
	rv_text_add(text, "%scells: {lead: {in: %s, leg: 1}, second: {in: %s, leg: 2}}\n", rest,
		    line[number / 2 % RIG_DRAFT_FAMILIES], line[number / 2 % RIG_DRAFT_FAMILIES]);
	rv_text_free(&draft.text);
}

struct made {
	struct rv_rig rig;
	struct rv_layout layout;
	struct rv_givens givens;
	struct rv_solver solver;
	struct rv_flow flow;
	struct rv_envelope envelope;
};

/* False: the rig has no balance, which other tests look after. */
static bool make(struct made *made, const char *text, int sense)
{
	struct rv_givens none = {0};
	struct rv_balance balance;
	struct rv_error error = {0};

	rig_case_read(text, &made->rig);
	assert_int_equal(rv_layout_make(&made->rig, &made->layout, &error), RV_OK);
	assert_int_equal(rv_given_choose(&made->rig, &none, &made->givens, &error), RV_OK);
	if (rv_solver_open(&made->layout, &made->givens, &made->solver, &error) != RV_OK)
		return false;
	if (rv_solver_settle(&made->solver, 1, &balance, &error) != RV_OK ||
	    rv_flow_make(&made->solver, sense, &made->flow, &error) != RV_OK) {
		rv_solver_close(&made->solver);
		return false;
	}
	assert_int_equal(rv_envelope_make(&made->layout, &made->flow, &made->envelope), RV_OK);
	return true;
}

static void unmake(struct made *made)
{
	rv_envelope_free(&made->envelope);
	rv_flow_free(&made->flow);
	rv_solver_close(&made->solver);
}

/* ---- compared ---- */

struct tally {
	int rigs, cells, ready, readings, quick;
};

/* scale_n: of the terms that a load is the sum of, whose roundings it has. */
static void compare(const struct rv_span *quick, const struct rv_span *slow, int count,
		    double scale_n)
{
	for (int i = 0; i < count; i++) {
		const double x[] = {quick[i].low_n, quick[i].nominal_n, quick[i].high_n};
		const double y[] = {slow[i].low_n, slow[i].nominal_n, slow[i].high_n};

		assert_false(x[0] > x[1] || x[1] > x[2]);
		for (int k = 0; k < 3; k++) {
			if (isnan(x[k]) && isnan(y[k]))
				continue;
			if (!(fabs(x[k] - y[k]) <= 1e-12 * (fabs(y[k]) + scale_n))) {
				print_error("output %d, %d: %.17g, one by one %.17g (%g)\n", i, k,
					    x[k], y[k], scale_n);
				fail();
			}
		}
	}
}

static double constants_n(const struct made *made)
{
	double sum_n = 0.0;

	for (int l = 0; l < made->layout.reeving.legs; l++)
		sum_n += fabs(made->flow.nominal.chain.constant_n[l]);
	for (int p = 0; p < made->layout.rig.points; p++)
		sum_n += rv_pose_size(made->layout.set.outside_n[p]);
	return isfinite(sum_n) ? sum_n : 0.0;
}

static void check_load(const struct made *made, int cell, double load_n)
{
	static struct rv_loads quick, slow;
	const struct rv_layout *layout = &made->layout;
	double scale_n = fmax(0.0, load_n) + constants_n(made);

	rv_envelope_loads(&made->envelope, layout, &made->flow, cell, load_n, &quick);
	rv_evaluate_loads(layout, &made->flow, cell, load_n, &slow);
	compare(quick.component, slow.component, layout->set.components, scale_n);
	compare(quick.leg, slow.leg, layout->reeving.legs, scale_n);
	compare(quick.cell, slow.cell, layout->rig.cells, scale_n);
}

static bool is_quick(const struct rv_envelope *envelope, int cell, double load_n)
{
	for (int w = 0; w < RV_ENVELOPE_BANDS; w++) {
		const struct rv_envelope_band *band = &envelope->band[cell][w];
		if (band->is_made && load_n >= band->from_n && load_n <= band->to_n)
			return true;
	}
	return false;
}

/* Every place where a piece ends, and a little to either side of it. */
static void check_ends(const struct made *made, int cell)
{
	for (int w = 0; w < RV_ENVELOPE_BANDS; w++) {
		const struct rv_envelope_band *band = &made->envelope.band[cell][w];

		if (!band->is_made)
			continue;
		double ends_n[] = {band->from_n, band->to_n, band->piece[0].until_n,
				   band->piece[1].until_n, band->piece[2].until_n};
		for (int i = 0; i < 5; i++)
			for (int k = -1; k <= 1 && isfinite(ends_n[i]); k++)
				check_load(made, cell, ends_n[i] * (1.0 + 1e-9 * k));
	}
}

static void check_cells(const struct made *made, int loads, struct tally *tally)
{
	static const double odd_n[] = {0.0, -0.0, -5.0, -1e9, 1e-300, 1e-9, 1e12, 1e30};

	for (int c = 0; c < made->layout.rig.cells; c++) {
		if (rv_cell_piece(&made->layout, c) < 0)
			continue;
		tally->cells++;
		tally->ready += is_quick(&made->envelope, c, 1e8);
		for (int i = 0; i < (int)(sizeof odd_n / sizeof odd_n[0]); i++)
			check_load(made, c, odd_n[i]);
		for (int i = 0; i < loads; i++) {
			double load_n = pow(10.0, rig_draft_draw(-1.0, 7.0));

			check_load(made, c, load_n);
			tally->readings++;
			tally->quick += is_quick(&made->envelope, c, load_n);
		}
		check_ends(made, c);
	}
}

static void a_reading_made_ready_is_as_all_corners_one_by_one(void **state)
{
	static struct made made;
	struct tally tally = {0};

	(void)state;
	for (int number = 0; number < RIGS; number++) {
		struct rv_text text = {0};

		rig_draft_seed = 99013u + (uint64_t)number * 1000003u;
		if (number % 2 == 0)
			write_tackle(&text);
		else
			write_floating(&text, number / 2);
		for (int sense = -1; sense <= 1; sense++) {
			if (!make(&made, text.data, sense))
				continue;
			/* Scaling is another matter: it leaves out what a solver's residue adds. */
			tally.rigs += !made.envelope.is_proportional;
			if (!made.envelope.is_proportional)
				check_cells(&made, LOADS / (made.flow.corners + 8), &tally);
			unmake(&made);
		}
		rv_text_free(&text);
	}
	print_message("%d rigs and motions, %d of %d cells ready, %d of %d readings\n", tally.rigs,
		      tally.ready, tally.cells, tally.quick, tally.readings);
	assert_true(tally.rigs > RIGS && tally.ready > tally.cells / 2);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_reading_made_ready_is_as_all_corners_one_by_one),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
