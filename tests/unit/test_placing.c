/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/plan.h"
#include "tests/unit/plan_cases.h"

enum { DRAWS = 400 };

static const struct rv_plan_request nothing = {.travel_m = (double)NAN};

/* Constants of Knuth's MMIX; from memory, not re-read. */
static uint64_t seed = 4711;

static double draw(double low, double high)
{
	seed = seed * 6364136223846793005u + 1442695040888963407u;
	return low + (high - low) * (double)(seed >> 11) / 9007199254740992.0;
}

static struct rv_plan *plan_of(const struct rv_rig *rig)
{
	struct rv_plan *plan = NULL;
	struct rv_error error = {0};

	if (rv_plan_new(rig, &nothing, &plan, &error) != RV_OK) {
		print_error("%s: %s\n", error.tag, error.text);
		fail();
	}
	return plan;
}

static void drawn(const struct rv_rig *rig, struct rv_rig *moved)
{
	*moved = *rig;
	for (int p = 0; p < rig->points; p++)
		for (int i = 0; i < rig->dimensions; i++)
			if (rig->point[p].within_m > 0.0)
				moved->point[p].at_m[i] +=
				    draw(-rig->point[p].within_m, rig->point[p].within_m);
}

struct spread {
	double sum[RV_COMPONENTS], squares[RV_COMPONENTS];
};

static void add_draw(const struct rv_plan *plan, const struct rv_rig *moved, struct spread *spread)
{
	struct rv_plan *other = plan_of(moved);

	for (int i = 0; i < plan->components; i++) {
		double off_n = other->carried[i].nominal_n - plan->carried[i].nominal_n;

		spread->sum[i] += off_n;
		spread->squares[i] += off_n * off_n;
		/* Beyond the slopes, what bends: a little of the load. */
		assert_true(fabs(off_n) <=
			    plan->placing.component[i].worst_n + 0.01 * plan->carried[i].nominal_n);
	}
	rv_plan_free(other);
}

static void compare(const char *label, const struct rv_plan *plan, const struct spread *spread)
{
	for (int i = 0; i < plan->components; i++) {
		double mean_n = spread->sum[i] / DRAWS;
		double sd_n = sqrt(spread->squares[i] / DRAWS - mean_n * mean_n);
		double said_n = plan->placing.component[i].sd_n;

		if (said_n > 2e-3 * plan->carried[i].nominal_n)
			assert_near(label, sd_n / said_n, 1.0, 0.12);
	}
}

/* Re-planned with every point somewhere within its tolerance: the spread is what the slopes say,
 * and no draw is beyond the worst.  n draws tell a standard deviation to 1 in sqrt(2 n), 3.5 %
 * here. */
static void draws_spread_as_the_slopes_say(void **state)
{
	static const struct {
		const char *label, *text;
		double within_m;
	} cases[] = {
	    {"four parts in space", RIG_FOUR_PARTS, 0.5},
	    {"sling", RIG_SLING, 0.1},
	    {"piggyback", RIG_PIGGYBACK, 0.1},
	};
	static struct rv_rig rig, moved;

	(void)state;
	for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
		struct spread spread = {0};

		rig_case_read(cases[k].text, &rig);
		for (int p = 0; p < rig.points; p++)
			if (rig.point[p].kind != RV_POINT_FLOATS)
				rig.point[p].within_m = cases[k].within_m;
		struct rv_plan *plan = plan_of(&rig);
		assert_true(plan->placing.is_known);
		assert_int_equal(plan->placing.left_out, 0);
		for (int n = 0; n < DRAWS; n++) {
			drawn(&rig, &moved);
			add_draw(plan, &moved, &spread);
		}
		compare(cases[k].label, plan, &spread);
		rv_plan_free(plan);
	}
}

/* By hand: a straight pull knows no sideways slope; the load on a block, 2 T cos(beta / 2), changes
 * by T sin(beta / 2) for each radian of beta. */
static void one_redirect_by_hand(void **state)
{
	struct rv_rig rig;

	(void)state;
	rig_case_read(
	    "points: {a: {at: [0, 0], within: 0.3}, oak: {at: [25, 0]}, lug: {at: [25, 30], "
	    "moves_with: cart}}\n"
	    "loads: {cart: {travels: [0, -1], resists: 18 kN}}\n"
	    "winches: {drum: {at: a}}\n"
	    "blocks: {corner: {at: oak, efficiency: 1}}\n"
	    "lines: {wire: {path: [drum, corner, lug]}}\n",
	    &rig);
	struct rv_plan *plan = plan_of(&rig);
	int oak = plan_case_component(plan, "oak"), lug = plan_case_component(plan, "lug");
	/* 2 T cos(beta / 2) at 90 degrees; moving the drum along its leg turns nothing. */
	double slope = 18000.0 * sin(M_PI / 4.0) / 25.0;

	assert_near("oak", plan->placing.component[oak].worst_n, 0.3 * slope, 1e-3);
	assert_near("oak, sd", plan->placing.component[oak].sd_n, 0.3 * slope / sqrt(3.0), 1e-3);
	assert_near("lug", plan->placing.component[lug].worst_n, 0.0, 1e-3);
	bool noted = false;
	for (int i = 0; i < plan->notes; i++)
		noted |= strcmp(plan->note[i].code, "placing") == 0 &&
			 strstr(plan->note[i].text, "oak") != NULL;
	assert_true(noted);
	rv_plan_free(plan);
}

static void without_tolerances_nothing_is_said(void **state)
{
	struct rv_plan *plan = plan_case_make(RIG_FOUR_PARTS, NULL);

	(void)state;
	assert_false(plan->placing.is_known);
	for (int i = 0; i < plan->notes; i++)
		assert_string_not_equal(plan->note[i].code, "placing");
	rv_plan_free(plan);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(draws_spread_as_the_slopes_say),
	    cmocka_unit_test(one_redirect_by_hand),
	    cmocka_unit_test(without_tolerances_nothing_is_said),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
