/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "core/plan.h"
#include "tests/unit/plan_cases.h"

static const double nan_ = (double)NAN;

/* Source of all figures of this table and the next two: the independent prototype of
 * rig_cases.h; tolerance is its last printed place. */
static void whole_rigs_come_out_as_the_prototype_has_them(void **state)
{
	static const struct {
		const char *label, *rig;
		double pull_n, low_n, high_n, velocity_ratio, frictionless_n, needs_m;
		const char *weakest;
		double factor;
		const char *weakest_worst;
		double factor_worst, limit_pull_n;
	} cases[] = {
	    {"redirect", RIG_REDIRECT, 18750.0, 18367.3, 19148.9, 1.0, 18000.0, 55.0, "pin",
	     1.250405, "pin", 1.236643, 23445.1},
	    {"two parts", RIG_TWO_PARTS, 23591.200, 23351.7, 23835.7, 1.999877, 23001.420, 72.285,
	     "eye pin", 1.010870, "eye pin", 1.010869, 23847.6},
	    {"three parts", RIG_THREE_PARTS, 26201.789, 26201.789, 26201.789, 3.0, 25000.0, 120.0,
	     "runner", 1.333333, "runner", 1.333333, 34935.7},
	    {"four parts", RIG_FOUR_PARTS, 26103.474, 25332.8, 26899.7, 3.921870, 24223.136,
	     143.307, "strop", 1.554602, "strop", 1.552939, 40580.5},
	    {"five parts", RIG_FIVE_PARTS, 39784.446, 39784.446, 39784.446, 5.0, 36000.0, 110.0,
	     "drum", 1.256773, "drum", 1.256773, 50000.0},
	    {"lowering", RIG_LOWER, 2135.475, 2135.475, 2135.475, 1.999559, 6001.323, 42.146,
	     "rope", 1.599633, "rope", 1.599633, 3416.0},
	    {"self recovery", RIG_SELF, 17441.345, 17441.345, 17441.345, 1.999375, 17005.312,
	     48.015, "wire", 1.720051, "wire", 1.720051, 30000.0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_plan *plan = plan_case_make(cases[i].rig, NULL);
		const struct rv_span *pull = &plan->winch[0].line_pull;

		assert_near(cases[i].label, pull->nominal_n, cases[i].pull_n, 0.00051);
		assert_near(cases[i].label, pull->low_n, cases[i].low_n, 0.051);
		assert_near(cases[i].label, pull->high_n, cases[i].high_n, 0.051);
		assert_near(cases[i].label, plan->velocity_ratio, cases[i].velocity_ratio, 5.1e-7);
		assert_near(cases[i].label,
			    plan->load[0].resists_n / plan->advantage.theoretical_ratio,
			    cases[i].frictionless_n, 0.00051);
		assert_near(cases[i].label, plan->line_needed_m[0], cases[i].needs_m, 0.01);
		assert_string_equal(plan->component[plan->weakest].name, cases[i].weakest);
		assert_near(cases[i].label, 1.0 / plan->use_ratio[plan->weakest], cases[i].factor,
			    5.1e-7);
		assert_string_equal(plan->component[plan->weakest_worst].name,
				    cases[i].weakest_worst);
		assert_near(cases[i].label, 1.0 / plan->use_worst_ratio[plan->weakest_worst],
			    cases[i].factor_worst, 5.1e-7);
		assert_near(cases[i].label, plan->line_pull_limit_n, cases[i].limit_pull_n, 0.051);
		rv_plan_free(plan);
	}
}

static void components_come_out_as_the_prototype_has_them(void **state)
{
	static const struct {
		const char *rig, *name, *kind;
		double load_n, low_n, high_n, use_ratio;
	} cases[] = {
	    {RIG_REDIRECT, "corner", "block", 25991.585, 25716.9, 26280.8, 0.5198},
	    {RIG_REDIRECT, "wire", "line", 18750.0, 18367.3, 19148.9, 0.6250},
	    {RIG_REDIRECT, "lug", "point", 18000.0, 18000.0, 18000.0, nan_},
	    {RIG_REDIRECT, "strop", "strop", 14339.271, 14187.7, 14498.8, 0.7170},
	    {RIG_TWO_PARTS, "bumper", "point", 22411.640, 22167.2, 22651.1, 0.2490},
	    {RIG_TWO_PARTS, "dead pin", "shackle", 22411.640, 22167.2, 22651.1, 0.6896},
	    {RIG_THREE_PARTS, "runner", "block", 75000.0, 75000.0, 75000.0, 0.7500},
	    {RIG_THREE_PARTS, "runner becket", "becket", 23644.494, 23644.494, 23644.494, nan_},
	    {RIG_THREE_PARTS, "post", "point", 48798.211, 48798.211, 48798.211, nan_},
	    {RIG_FOUR_PARTS, "twin", "block", 95160.043, 95153.1, 95166.9, 0.5948},
	    {RIG_FOUR_PARTS, "tail block", "block", 48356.685, 48282.2, 48408.5, 0.6045},
	    {RIG_FOUR_PARTS, "stake", "point", 22380.466, 21636.9, 23120.6, 0.4476},
	    {RIG_FOUR_PARTS, "strop", "strop", 25730.055, 25690.4, 25757.6, 0.6433},
	    {RIG_FIVE_PARTS, "far twin", "block", 140215.554, 140215.554, 140215.554, 0.7011},
	    {RIG_FIVE_PARTS, "near twin becket", "becket", 32404.680, 32404.680, 32404.680, 0.5401},
	    {RIG_LOWER, "bar", "block", 3786.141, 3786.141, 3786.141, 0.1262},
	    {RIG_LOWER, "rope", "line", 6251.435, 6251.435, 6251.435, 0.6251},
	    {RIG_SELF, "tree", "point", 34000.007, 34000.007, 34000.007, 0.3778},
	    {RIG_SELF, "rail", "point", 16569.278, 16569.278, 16569.278, 0.3314},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_plan *plan = plan_case_make(cases[i].rig, NULL);
		int c = plan_case_component(plan, cases[i].name);

		assert_string_equal(plan->component[c].kind, cases[i].kind);
		assert_near(cases[i].name, plan->carried[c].nominal_n, cases[i].load_n, 0.00051);
		assert_near(cases[i].name, plan->carried[c].low_n, cases[i].low_n, 0.051);
		assert_near(cases[i].name, plan->carried[c].high_n, cases[i].high_n, 0.051);
		assert_near(cases[i].name, plan->use_ratio[c], cases[i].use_ratio, 5.1e-5);
		rv_plan_free(plan);
	}
}

static void sheaves_come_out_as_the_prototype_has_them(void **state)
{
	static const struct {
		const char *label, *rig;
		int at;
		double rope_speed, pin_n;
		double wrap_deg, loss_ratio; /* by hand */
	} cases[] = {
	    {"redirect", RIG_REDIRECT, 0, 1.0, 25991.585, 90.0, 0.04},
	    {"two parts", RIG_TWO_PARTS, 0, 0.999938, 46000.002,
	     180.0 - 2.0 * atan(0.4 / 36.0) * 180.0 / M_PI, 0.05},
	    {"three parts, first", RIG_THREE_PARTS, 0, 2.0, 51355.506, 180.0, 0.04},
	    {"three parts, second", RIG_THREE_PARTS, 1, 1.0, 48798.211, 180.0, 0.06},
	    {"four parts, third", RIG_FOUR_PARTS, 2, 0.971884, 44753.273, nan_, 0.05},
	    {"five parts, fourth", RIG_FIVE_PARTS, 3, 1.0, 66514.869, 180.0, 0.05},
	    {"lowering, the runner", RIG_LOWER, 1, -0.999559, 12001.435, nan_, 0.08},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_plan *plan = plan_case_make(cases[i].rig, NULL);
		const struct rv_plan_sheave *sheave = &plan->sheave[cases[i].at];

		assert_near(cases[i].label, sheave->rope_speed_ratio, cases[i].rope_speed, 5.1e-7);
		assert_near(cases[i].label, sheave->pin_n, cases[i].pin_n, 0.00051);
		assert_near(cases[i].label, sheave->loss_ratio, cases[i].loss_ratio, 1e-12);
		if (!isnan(cases[i].wrap_deg))
			assert_near(cases[i].label, sheave->wrap_deg, cases[i].wrap_deg, 1e-9);
		rv_plan_free(plan);
	}
}

/* The other way round: source as above, "hauling the other way". */
static void the_same_rigs_paying_out(void **state)
{
	static const struct {
		const char *label, *rig;
		double pull_n;
	} cases[] = {
	    {"redirect", "haul: out\n" RIG_REDIRECT, 17280.0},
	    {"two parts", "haul: out\n" RIG_TWO_PARTS, 22411.640},
	    {"three parts", "haul: out\n" RIG_THREE_PARTS, 23810.864},
	    {"four parts", "haul: out\n" RIG_FOUR_PARTS, 22404.180},
	    {"five parts", "haul: out\n" RIG_FIVE_PARTS, 32404.680},
	    {"self recovery", "haul: out\n" RIG_SELF, 16569.278},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_plan *plan = plan_case_make(cases[i].rig, NULL);

		assert_near(cases[i].label, plan->winch[0].line_pull.nominal_n, cases[i].pull_n,
			    0.00051);
		rv_plan_free(plan);
	}
}

static void the_travel_comes_out_as_the_prototype_has_it(void **state)
{
	static const double rows[][4] = {
	    {8.25, 32.1669, 3.86962, 26445.47},
	    {16.5, 63.6570, 3.74389, 27305.08},
	    {24.75, 93.2226, 3.33419, 30533.59},
	    {33.0, 114.8899, 1.31147, 75603.14},
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct rv_plan_request request = {.travel_m = rows[i][0]};
		struct rv_plan *plan = plan_case_make(RIG_FOUR_PARTS, &request);
		const struct rv_travel_row *last = &plan->travel.row[plan->travel.rows - 1];

		assert_near("travel", last->travel_m, rows[i][0], 1e-9);
		assert_near("line in", last->line_in_m, rows[i][1], 5.1e-5);
		assert_near("velocity ratio", last->velocity_ratio, rows[i][2], 5.1e-6);
		assert_near("line pull", last->line_pull_n, rows[i][3], 0.0051);
		rv_plan_free(plan);
	}
}

/* Source: the prototype's table goes by quarters; a row stands at each of them, and the more of
 * them the more the ratio changes: read off the line between two rows it is never far out. */
static void rows_of_the_travel_stand_where_the_ratio_changes(void **state)
{
	static const double quarters[][2] = {
	    {8.25, 3.86962}, {16.5, 3.74389}, {24.75, 3.33419}, {33.0, 1.31147}};
	struct rv_plan_request request = {.travel_m = 33.0};
	struct rv_plan *plan = plan_case_make(RIG_FOUR_PARTS, &request);
	const struct rv_travel *travel = &plan->travel;
	size_t found = 0;

	(void)state;
	for (int i = 0; i < travel->rows && found < 4; i++)
		if (fabs(travel->row[i].travel_m - quarters[found][0]) < 1e-9)
			assert_near("quarter", travel->row[i].velocity_ratio, quarters[found++][1],
				    5.1e-6);
	assert_int_equal(found, 4);
	int late = 0;
	for (int i = 0; i < travel->rows; i++)
		late += travel->row[i].travel_m > 24.75;
	assert_true(2 * late > travel->rows);
	rv_plan_free(plan);
	plan = plan_case_make(RIG_FIVE_PARTS, &(struct rv_plan_request){.travel_m = 20.0});
	assert_int_equal(plan->travel.rows, 9); /* the ratio never changes */
	rv_plan_free(plan);
}

static void the_travel_ends_where_blocks_meet(void **state)
{
	struct rv_plan_request request = {.travel_m = 200.0};
	struct rv_plan *plan = plan_case_make(RIG_FIVE_PARTS, &request);
	const struct rv_travel_row *last = &plan->travel.row[plan->travel.rows - 1];

	(void)state;
	assert_int_equal(plan->travel.end, RV_TRAVEL_TWO_BLOCKED);
	assert_near("all but the closest approach", last->travel_m, 22.0 - RV_TRAVEL_CLOSEST_M,
		    1e-6);
	assert_near("five times that of line", last->line_in_m, 5.0 * last->travel_m, 1e-9);
	assert_non_null(plan_case_note(plan, "two_blocked"));
	rv_plan_free(plan);

	plan = plan_case_make("haul: out\n" RIG_FIVE_PARTS, &request);
	last = &plan->travel.row[plan->travel.rows - 1];
	assert_int_equal(plan->travel.end, RV_TRAVEL_WHOLE);
	assert_near("paid out", last->line_in_m, -1000.0, 1e-9);
	rv_plan_free(plan);
}

static void forces_asked_for_replace_those_of_the_file(void **state)
{
	static const struct {
		const char *label;
		enum rv_given_kind kind;
		int index;
		double force_n;
	} cases[] = {
	    {"line pull", RV_GIVEN_LINE_PULL, 0, 39784.446},
	    {"resists", RV_GIVEN_RESISTS, 0, 180000.0},
	    {"dead end cell", RV_GIVEN_CELL, 1, 32404.680},
	    {"middle cell", RV_GIVEN_CELL, 2, 35905.462},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		double n = cases[i].force_n;
		struct rv_plan_request request = {
		    .givens = {1, {{cases[i].kind, cases[i].index, {n, n, n}}}}, .travel_m = nan_};
		struct rv_plan *plan = plan_case_make(RIG_FIVE_PARTS, &request);

		assert_near(cases[i].label, plan->load[0].resists_n, 180000.0, 0.01);
		assert_near(cases[i].label, plan->winch[0].line_pull.nominal_n, 39784.446, 0.002);
		rv_plan_free(plan);
	}
}

static void an_anchor_cell_can_be_the_given(void **state)
{
	struct rv_plan_request request = {
	    .givens = {1, {{RV_GIVEN_CELL, 1, {34000.007, 34000.007, 34000.007}}}},
	    .travel_m = nan_};
	struct rv_plan *plan = plan_case_make(RIG_SELF, &request);

	(void)state;
	assert_near("line pull", plan->winch[0].line_pull.nominal_n, 17441.345, 0.001);
	rv_plan_free(plan);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(whole_rigs_come_out_as_the_prototype_has_them),
	    cmocka_unit_test(components_come_out_as_the_prototype_has_them),
	    cmocka_unit_test(sheaves_come_out_as_the_prototype_has_them),
	    cmocka_unit_test(the_same_rigs_paying_out),
	    cmocka_unit_test(the_travel_comes_out_as_the_prototype_has_it),
	    cmocka_unit_test(rows_of_the_travel_stand_where_the_ratio_changes),
	    cmocka_unit_test(the_travel_ends_where_blocks_meet),
	    cmocka_unit_test(forces_asked_for_replace_those_of_the_file),
	    cmocka_unit_test(an_anchor_cell_can_be_the_given),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
