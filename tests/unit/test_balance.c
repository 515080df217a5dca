/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "core/plan.h"
#include "tests/unit/plan_cases.h"

static const double nan_ = (double)NAN;

/* Source as above: rig of four parts, line in, velocity ratio and pull along the travel. */
/* Point, block and shackle that carry the same count in this order: the first is the weakest. */
static void of_equals_the_first_is_the_weakest(void **state)
{
	struct rv_plan *plan = plan_case_make(
	    "points: {a: {at: [0, 0.3]}, b: {at: [0, -0.7], wll: 90 kN}, eye: {at: [33, "
	    "0.1], moves_with: car, wll: 20 kN}}\n"
	    "loads: {car: {travels: [-1, 0.07], resists: 17 kN}}\n"
	    "winches: {drum: {at: a}}\n"
	    "blocks: {runner: {at: eye, efficiency: 0.93, wll: 20 kN}}\n"
	    "lines: {wire: {path: [drum, runner, b]}}\n"
	    "fittings: {pin: {kind: shackle, holds: runner, wll: 20 kN}}\n",
	    NULL);

	(void)state;
	assert_string_equal(plan->component[plan->weakest].name, "eye");
	assert_string_equal(plan->component[plan->weakest_worst].name, "eye");
	assert_near("the same load", plan->use_ratio[plan_case_component(plan, "runner")],
		    plan->use_ratio[plan_case_component(plan, "pin")], 1e-12);
	rv_plan_free(plan);
}

/* By hand: 6200 kg on 8 degrees, rolling 0.12 to 0.25 of weight; two parts, efficiency 0.9. */
static void a_vehicle_s_range_is_shown_apart(void **state)
{
	struct rv_plan *plan = plan_case_make(
	    "points: {a: {at: [0, 0]}, b: {at: [0, 0]}, eye: {at: [30, 0], moves_with: truck}}\n"
	    "loads: {truck: {travels: [-1, 0], resists: {mass: 6200 kg, slope_deg: 8, rolling: "
	    "[0.12, 0.25]}}}\n"
	    "winches: {drum: {at: a}}\n"
	    "blocks: {runner: {at: eye, efficiency: 0.9}}\n"
	    "lines: {wire: {path: [drum, runner, b]}}\n",
	    NULL);
	double low_n = 6200 * 9.80665 * (sin(M_PI * 8 / 180) + 0.12 * cos(M_PI * 8 / 180));
	double high_n = 6200 * 9.80665 * (sin(M_PI * 8 / 180) + 0.25 * cos(M_PI * 8 / 180));

	(void)state;
	assert_near("low of the load", plan->load[0].low_n, low_n, 1e-6);
	assert_near("the prototype's figure", plan->load[0].low_n, 15687.0, 0.51);
	assert_near("high of the load", plan->load[0].high_n, high_n, 1e-6);
	assert_near("the prototype's figure", plan->load[0].high_n, 23514.0, 0.51);
	assert_near("nominal is the middle", plan->load[0].resists_n, 0.5 * (low_n + high_n), 1e-6);
	assert_near("line pull at low", plan->winch[0].at_low_n, low_n / 1.9, 1e-6);
	assert_near("line pull at high", plan->winch[0].at_high_n, high_n / 1.9, 1e-6);
	assert_near("no range from efficiency", plan->winch[0].line_pull.low_n,
		    plan->winch[0].line_pull.high_n, 1e-9);
	assert_int_equal(plan->weakest, -1);
	rv_plan_free(plan);
}

/* By hand: ten redirects in a row, more ranges than are tried in full. */
static void many_ranges_still_give_the_whole_range(void **state)
{
	struct rv_text text = {0};

	(void)state;
	rv_text_add(&text, "points: {a: {at: [0, 0]}, lug: {at: [11, 1], moves_with: car}");
	for (int i = 1; i <= 10; i++)
		rv_text_add(&text, ", p%d: {at: [%d, %d]}", i, i, i % 2);
	rv_text_add(&text, "}\nloads: {car: {travels: [-1, -1], resists: 10 kN}}\nwinches: {drum: "
			   "{at: a}}\nblocks:\n");
	for (int i = 1; i <= 10; i++)
		rv_text_add(&text, "  b%d: {at: p%d, efficiency: [0.9, 0.96]}\n", i, i);
	rv_text_add(&text, "lines: {wire: {path: [drum");
	for (int i = 1; i <= 10; i++)
		rv_text_add(&text, ", b%d", i);
	rv_text_add(&text, ", lug]}}\n");
	struct rv_plan *plan = plan_case_make(text.data, NULL);
	double lug_n = plan->tension[10].nominal_n;
	assert_near("low", plan->winch[0].line_pull.low_n, lug_n / pow(0.96, 10), 1e-6);
	assert_near("nominal", plan->winch[0].line_pull.nominal_n, lug_n / pow(0.93, 10), 1e-6);
	assert_near("high", plan->winch[0].line_pull.high_n, lug_n / pow(0.9, 10), 1e-6);
	rv_plan_free(plan);
	rv_text_free(&text);
}

/* By hand: the dead end's leg is square to the travel, so the sheave does not turn. */
static void a_still_sheave_may_hold_either_way(void **state)
{
	struct rv_plan *plan = plan_case_make(
	    "points: {a: {at: [0, 0]}, b: {at: [20, 9]}, eye: {at: [20, 0], moves_with: car}}\n"
	    "loads: {car: {travels: [-1, 0], resists: 10 kN}}\n"
	    "winches: {drum: {at: a}}\n"
	    "blocks: {runner: {at: eye, efficiency: 0.9}}\n"
	    "lines: {wire: {path: [drum, runner, b]}}\n",
	    NULL);

	(void)state;
	assert_near("lead", plan->tension[0].nominal_n, 10000.0, 1e-9);
	assert_near("nominal", plan->tension[1].nominal_n, 10000.0, 1e-9);
	assert_near("low", plan->tension[1].low_n, 9000.0, 1e-9);
	assert_near("high", plan->tension[1].high_n, 10000.0 / 0.9, 1e-9);
	assert_non_null(plan_case_note(plan, "sheave_still"));
	assert_non_null(plan_case_note(plan, "side_force"));
	rv_plan_free(plan);
}

/* By hand: lines 3-4-5 and 4-3-5 to one load; 6 kN in the one, 12 kN held. */
static void two_winches_share_a_load(void **state)
{
	struct rv_plan *plan = plan_case_make(
	    "points: {a: {at: [0, 3]}, b: {at: [0, -8]}, eye: {at: [4, 0], moves_with: "
	    "car}, far: {at: [10, -8]}}\n"
	    "loads: {car: {travels: [-1, 0], resists: 12 kN}}\n"
	    "winches: {left: {at: a, line_pull: 6 kN}, right: {at: b}}\n"
	    "lines: {one: {path: [left, eye]}, two: {path: [right, eye]}}\n",
	    NULL);
	double cosine = 4.0 / hypot(4.0, 8.0);

	(void)state;
	assert_near("given", plan->winch[0].line_pull.nominal_n, 6000.0, 1e-9);
	assert_near("the other", plan->winch[1].line_pull.nominal_n,
		    (12000.0 - 6000.0 * 0.8) / cosine, 1e-6);
	assert_near("its speed", plan->winch[1].velocity_ratio, cosine, 1e-12);
	assert_true(isnan(plan->velocity_ratio) && isnan(plan->advantage.expected_ratio) &&
		    isnan(plan->line_pull_limit_n));
	rv_plan_free(plan);
}

/* By hand: a free load on two equal legs at right angles goes halfway between them. */
static void a_free_load_goes_where_its_lines_pull(void **state)
{
	struct rv_plan *plan = plan_case_make(
	    "points: {a: {at: [0, 0]}, b: {at: [10, 10]}, eye: {at: [10, 0], moves_with: sled}}\n"
	    "loads: {sled: {free: true, resists: 10 kN}}\n"
	    "winches: {drum: {at: a}}\n"
	    "blocks: {runner: {at: eye, efficiency: 0.9}}\n"
	    "lines: {wire: {path: [drum, runner, b]}}\n",
	    NULL);

	(void)state;
	assert_near("line pull", plan->winch[0].line_pull.nominal_n, 10000.0 / hypot(1.0, 0.9),
		    1e-6);
	assert_near("no side force", plan->load[0].side_n, 0.0, 1e-9);
	assert_near("speed of the line", plan->velocity_ratio, 1.9 / hypot(1.0, 0.9), 1e-9);
	rv_plan_free(plan);
}

/* By hand: a weight on the load's point, straight up; and a limit reached by both together. */
static void weights_and_drag_are_carried(void **state)
{
	struct rv_plan *plan =
	    plan_case_make("points: {beam: {at: [0, 10], wll: 30 kN}, deck: {at: [1, "
			   "0]}, hook: {at: [0, 0], moves_with: crate, weight: 2 kN}}\n"
			   "loads: {crate: {travels: [0, 1], resists: 8 kN}}\n"
			   "winches: {drum: {at: deck}}\n"
			   "blocks: {top: {at: beam, efficiency: 1, drag: 100 N}}\n"
			   "lines: {wire: {path: [drum, top, hook], wll: 20 kN}}\n",
			   NULL);

	(void)state;
	assert_near("hook leg", plan->tension[1].nominal_n, 10000.0, 1e-6);
	assert_near("lead leg", plan->tension[0].nominal_n, 10100.0, 1e-6);
	assert_near("held by the crate", plan->load[0].resists_n, 8000.0, 1e-6);
	double cosine = 10.0 / hypot(1.0, 10.0), t = plan->line_pull_limit_n, u = t - 100.0;
	assert_near("beam at its limit", sqrt(t * t + u * u + 2.0 * t * u * cosine), 30000.0, 1e-6);
	rv_plan_free(plan);
}

static void rigs_without_an_honest_answer_are_refused(void **state)
{
	static const struct {
		const char *tag, *culprit, *rig;
	} cases[] = {
	    {"forces_missing", "line_pull",
	     "points: {a: {at: [0, 0]}, e: {at: [9, 0], moves_with: car}}\nloads: {car: {travels: "
	     "[-1, 0]}}\n"
	     "winches: {drum: {at: a}}\nlines: {wire: {path: [drum, e]}}\n"},
	    {"forces_extra", "car",
	     "points: {a: {at: [0, 0]}, e: {at: [9, 0], moves_with: car}}\nloads: {car: {travels: "
	     "[-1, 0], resists: 1 kN}}\n"
	     "winches: {drum: {at: a, line_pull: 1 kN}}\nlines: {wire: {path: [drum, e]}}\n"},
	    {"load_not_pulled", "car",
	     "points: {a: {at: [0, 0]}, e: {at: [9, 0], moves_with: car}}\nloads: {car: {travels: "
	     "[1, 0], resists: 1 kN}}\n"
	     "winches: {drum: {at: a}}\nlines: {wire: {path: [drum, e]}}\n"},
	    {"travel_blocked", "rope",
	     "points: {a: {at: [0, 0]}, s: {at: [20, 0]}, e: {at: [9, 0], moves_with: "
	     "car}}\nloads: {car: {travels: [-1, 0], resists: 1 kN}}\n"
	     "winches: {drum: {at: a}}\nlines: {wire: {path: [drum, e]}, rope: {path: [e, s]}}\n"},
	    {"winch_idle", "idle",
	     "points: {a: {at: [0, 0]}, s: {at: [20, 0]}, e: {at: [9, 0], moves_with: "
	     "car}}\nloads: {car: {travels: [-1, 0], resists: 1 kN}}\n"
	     "winches: {drum: {at: a}, idle: {at: a}}\nlines: {wire: {path: [drum, e]}, rope: "
	     "{path: [idle, s]}}\n"},
	    {"line_slack", "runner pendant",
	     "points: {a: {at: [0, 0]}, s: {at: [4, 1]}, e: {at: [9, 0], moves_with: car}}\nloads: "
	     "{car: {travels: [-1, 0], resists: 1 kN}}\n"
	     "winches: {drum: {at: a}}\nblocks: {runner: {at: s, efficiency: 1, hangs: "
	     "2.0}}\nlines: {wire: {path: [drum, runner, e]}}\n"},
	    {"line_slack", "wire",
	     "points: {a: {at: [0, 0]}, b: {at: [5, 0]}, e: {at: [9, 0], moves_with: car}}\nloads: "
	     "{car: {travels: [-1, 0]}}\n"
	     "winches: {drum: {at: a, line_pull: 50 N}}\nblocks: {s: {at: b, efficiency: 1, drag: "
	     "80 N}}\nlines: {wire: {path: [drum, s, e]}}\n"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		static struct rv_rig rig;
		struct rv_plan_request request = {.travel_m = nan_};
		struct rv_plan *plan = NULL;
		struct rv_error error = {0};

		rig_case_read(cases[i].rig, &rig);
		assert_int_equal(rv_plan_new(&rig, &request, &plan, &error), RV_ERR_REFUSED);
		assert_string_equal(error.tag, cases[i].tag);
		if (!strstr(error.text, cases[i].culprit)) {
			print_error("%s does not name %s\n", error.text, cases[i].culprit);
			fail();
		}
		assert_null(plan);
	}
}

static void points_that_coincide_are_refused(void **state)
{
	static struct rv_rig rig;
	struct rv_plan_request request = {.travel_m = nan_};
	struct rv_plan *plan = NULL;
	struct rv_error error = {0};

	(void)state;
	rig_case_read(RIG_TWO_PARTS, &rig);
	memcpy(rig.point[1].at_m, rig.point[2].at_m, sizeof rig.point[1].at_m);
	assert_int_equal(rv_plan_new(&rig, &request, &plan, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "leg_zero");
	assert_non_null(strstr(error.text, "bumper"));
}

static void a_load_that_runs_by_itself_is_refused(void **state)
{
	static struct rv_rig rig;
	struct rv_plan_request request = {.travel_m = nan_};
	struct rv_plan *plan = NULL;
	struct rv_error error = {0};

	(void)state;
	rig_case_read(RIG_TWO_PARTS, &rig);
	rig.load[0].resists_n = (struct rv_range){-900.0, -800.0, -700.0};
	assert_int_equal(rv_plan_new(&rig, &request, &plan, &error), RV_ERR_REFUSED);
	assert_string_equal(error.tag, "load_not_pulled");
	assert_non_null(strstr(error.text, "van"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(of_equals_the_first_is_the_weakest),
	    cmocka_unit_test(a_vehicle_s_range_is_shown_apart),
	    cmocka_unit_test(many_ranges_still_give_the_whole_range),
	    cmocka_unit_test(a_still_sheave_may_hold_either_way),
	    cmocka_unit_test(two_winches_share_a_load),
	    cmocka_unit_test(a_free_load_goes_where_its_lines_pull),
	    cmocka_unit_test(weights_and_drag_are_carried),
	    cmocka_unit_test(rigs_without_an_honest_answer_are_refused),
	    cmocka_unit_test(points_that_coincide_are_refused),
	    cmocka_unit_test(a_load_that_runs_by_itself_is_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
