/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig function against closed forms: sums of powers of the efficiency, as every textbook of
 * rope tackle has them.
 */
#include "tests/rvtest.h"

#include "core/curve.h"
#include "tests/unit/rig_cases.h"

/* Four parts, all legs level: dead end, moving twin block, fixed twin block. */
#define PARALLEL_FOUR                                                                              \
	"points: {deck: {at: [0, 0]}, post: {at: [0, 0]}, eye: {at: [40, 0], moves_with: cart}}\n" \
	"loads: {cart: {travels: [-1, 0], resists: 40 kN}}\n"                                      \
	"winches: {drum: {at: deck, rated: 50 kN}}\n"                                              \
	"blocks:\n"                                                                                \
	"  runner: {at: eye, sheaves: 2, efficiency: [0.93, 0.97]}\n"                              \
	"  fixed: {at: post, efficiency: [0.92, 0.96]}\n"                                          \
	"lines: {wire: {path: [drum, runner, fixed, runner, post]}}\n"                             \
	"cells:\n"                                                                                 \
	"  lead: {in: wire, leg: 1}\n"                                                             \
	"  second: {in: wire, leg: 2}\n"                                                           \
	"  dead: {in: wire, leg: 4}\n"                                                             \
	"  fixed cell: {holds: fixed}\n"

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

static int cell(const struct rv_predictor *predictor, const char *name)
{
	return rv_rig_find_cell(rv_predictor_rig(predictor), name);
}

static void it_is_the_closed_form_both_ways(void **state)
{
	static const struct {
		const char *label, *far;
		int first, last; /* far = sum of e^k over these; hauling */
	} rows[] = {{"dead end", "dead", 3, 3},
		    {"second leg", "second", 1, 1},
		    {"fixed block", "fixed cell", 1, 2},
		    {"load", NULL, 0, 3}};
	struct rv_predictor *predictor = made(PARALLEL_FOUR);
	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct rv_curve curve;
		int far = rows[i].far ? cell(predictor, rows[i].far) : RV_PREDICTOR_LOAD;
		assert_int_equal(
		    rv_curve_make(predictor, cell(predictor, "lead"), far, &curve, NULL), RV_OK);
		struct rv_estimate_curve f = rv_curve_function(&curve);
		for (int n = 0; n < 5; n++) {
			static const double x[] = {-0.9, -0.2, -0.04, 0.1, 0.9};
			double in = 0, out = 0;
			for (int k = rows[i].first; k <= rows[i].last; k++) {
				in += exp(k * x[n]);
				out += exp(-k * x[n]);
			}
			assert_near(rows[i].label, f.log_ratio(f.rig, x[n], RV_MOTION_IN), log(in),
				    1e-12);
			assert_near(rows[i].label, f.log_ratio(f.rig, x[n], RV_MOTION_OUT),
				    log(out), 1e-12);
		}
	}
	rv_predictor_free(predictor);
}

static void it_names_the_sheaves_in_question(void **state)
{
	struct rv_predictor *predictor = made(PARALLEL_FOUR);
	int lead = cell(predictor, "lead"), dead = cell(predictor, "dead");
	struct rv_curve curve;
	(void)state;

	/* Whichever is said first, the lead is near. */
	assert_int_equal(rv_curve_make(predictor, dead, lead, &curve, NULL), RV_OK);
	assert_int_equal(curve.near, lead);
	assert_int_equal(curve.far, dead);
	assert_int_equal(curve.sheaves, 3);
	assert_near("three sheaves", curve.effective, 3, 1e-8);
	assert_near("declared low", curve.declared_low_ratio, 0.92, 0);
	assert_near("declared high", curve.declared_high_ratio, 0.97, 0);
	assert_string_equal(rv_predictor_rig(predictor)->block[curve.sheave[0].block].name,
			    "runner");
	assert_int_equal(curve.sheave[0].sheave, 0);
	assert_string_equal(rv_predictor_rig(predictor)->block[curve.sheave[1].block].name,
			    "fixed");
	assert_int_equal(curve.sheave[2].sheave, 1);
	rv_predictor_free(predictor);
}

static void of_many_cells_the_pair_furthest_apart_is_chosen(void **state)
{
	struct rv_predictor *predictor = made(PARALLEL_FOUR);
	int cells[] = {cell(predictor, "fixed cell"), cell(predictor, "dead"),
		       cell(predictor, "second"), cell(predictor, "lead")};
	struct rv_curve curve;
	struct rv_error error = {0};
	(void)state;

	assert_int_equal(rv_curve_choose(predictor, cells, 4, &curve, NULL), RV_OK);
	assert_int_equal(curve.near, cells[3]);
	assert_int_equal(curve.far, cells[1]);
	assert_int_equal(rv_curve_choose(predictor, cells, 1, &curve, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "one_cell_no_design");
	rv_predictor_free(predictor);
}

#define TWO_LINES                                                                                  \
	"points: {deck: {at: [0, 0]}, hut: {at: [0, 5]}, eye: {at: [30, 0], moves_with: cart}, "   \
	"lug: {at: [30, 5], moves_with: cart}}\n"                                                  \
	"loads: {cart: {travels: [-1, 0], resists: 40 kN}}\n"                                      \
	"winches: {drum: {at: deck, rated: 50 kN}, other: {at: hut, rated: 50 kN}}\n"              \
	"lines: {wire: {path: [drum, eye]}, rope: {path: [other, lug]}}\n"                         \
	"cells: {a: {in: wire, leg: 1}, b: {in: rope, leg: 1}}\n"

static void what_it_cannot_tell_is_refused_with_names(void **state)
{
	struct rv_curve curve = {.sheaves = 77};
	struct rv_error error = {0};
	(void)state;

	struct rv_predictor *two = made(TWO_LINES);
	assert_int_equal(rv_curve_make(two, 0, 1, &curve, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "rig_not_covered");
	rv_predictor_free(two);

	struct rv_predictor *same = made(RIG_TWO_PARTS);
	assert_int_equal(rv_curve_make(same, 0, 0, &curve, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "insensitive_placement");
	assert_non_null(strstr(error.text, "lead"));
	assert_int_equal(curve.sheaves, 77);
	rv_predictor_free(same);
}

/* A ring the line slides through is as it was declared; the sheave alone is in question. */
#define RING_AND_SHEAVE                                                                            \
	"points: {deck: {at: [0, 0]}, post: {at: [30, 0]}, stub: {at: [0, 1]}, lug: {at: [40, "    \
	"1], moves_with: cart}}\n"                                                                 \
	"loads: {cart: {travels: [-1, 0], resists: 10 kN}}\n"                                      \
	"winches: {drum: {at: deck, rated: 50 kN}}\n"                                              \
	"blocks: {corner: {at: post, efficiency: 0.95}, ring: {at: stub, bar_friction: 0.2, "      \
	"wrap: 180}}\n"                                                                            \
	"lines: {wire: {path: [drum, corner, ring, lug]}}\n"                                       \
	"cells: {lead: {in: wire, leg: 1}, last: {in: wire, leg: 3}}\n"

static void a_fixed_bar_stays_as_declared_and_rubs_both_ways(void **state)
{
	struct rv_predictor *predictor = made(RING_AND_SHEAVE);
	struct rv_curve curve;
	(void)state;

	assert_int_equal(rv_curve_make(predictor, 0, 1, &curve, NULL), RV_OK);
	struct rv_estimate_curve f = rv_curve_function(&curve);
	assert_int_equal(curve.sheaves, 1);
	assert_near("in", f.log_ratio(f.rig, -0.05, RV_MOTION_IN), -0.05 - 0.2 * M_PI, 1e-9);
	assert_near("out", f.log_ratio(f.rig, -0.05, RV_MOTION_OUT), 0.05 + 0.2 * M_PI, 1e-9);
	rv_predictor_free(predictor);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(it_is_the_closed_form_both_ways),
	    cmocka_unit_test(it_names_the_sheaves_in_question),
	    cmocka_unit_test(of_many_cells_the_pair_furthest_apart_is_chosen),
	    cmocka_unit_test(what_it_cannot_tell_is_refused_with_names),
	    cmocka_unit_test(a_fixed_bar_stays_as_declared_and_rubs_both_ways),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
