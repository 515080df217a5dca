/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <math.h>
#include <stdlib.h>

#include "core/flow.h"
#include "tests/unit/rig_cases.h"

struct made {
	struct rv_rig rig;
	struct rv_layout layout;
	struct rv_solver solver;
	struct rv_flow flow;
};

static struct made *make(const char *text, int sense)
{
	static const struct rv_givens none;
	static struct made made;
	struct rv_error error = {0};

	memset(&made, 0, sizeof made);
	rig_case_read(text, &made.rig);
	assert_int_equal(rv_layout_make(&made.rig, &made.layout, &error), RV_OK);
	assert_int_equal(rv_solver_open(&made.layout, &none, &made.solver, &error), RV_OK);
	assert_int_equal(rv_flow_make(&made.solver, sense, &made.flow, &error), RV_OK);
	return &made;
}

static void unmake(struct made *made)
{
	rv_flow_free(&made->flow);
	rv_solver_close(&made->solver);
}

/* At the last leg, one newton at the cell: the most over all corners. */
static double most_n(const struct made *made)
{
	double tension_n[RV_RIG_LEGS], most = 0.0;

	for (int i = 0; i < made->flow.corners; i++) {
		rv_flow_spread(&made->layout, &made->flow.corner[i], 0, 1.0, tension_n);
		most = fmax(most, tension_n[made->layout.reeving.legs - 1]);
	}
	return most;
}

/* An efficiency beyond RV_SOLVER_MOST_RATIO: its middle can be solved and its low end cannot. */
static void an_end_that_cannot_be_solved_is_refused_and_never_the_middle(void **state)
{
	(void)state;
	for (int sense = -1; sense <= 1; sense += 2) {
		struct made *made = make(RIG_TWO_PARTS, sense);
		struct rv_error error = {0};
		double before = most_n(made), low = made->rig.block[0].efficiency.low;

		made->layout.rig.block[0].efficiency.low = 1e-14;
		assert_int_equal(rv_flow_renew(&made->solver, &made->flow, &error), RV_ERR_REFUSED);
		assert_string_equal(error.tag, "no_equilibrium");
		assert_non_null(strstr(error.text, "at an end of a declared efficiency"));
		assert_true(fabs(most_n(made) - before) <= 0.0);
		made->layout.rig.block[0].efficiency.low = low;
		assert_int_equal(rv_flow_renew(&made->solver, &made->flow, &error), RV_OK);
		assert_true(fabs(most_n(made) - before) <= 0.0);
		unmake(made);
	}
}

static void renewing_where_it_is_changes_nothing(void **state)
{
	struct made *made = make(RIG_FIVE_PARTS, 1);
	struct rv_error error = {0};
	double before = most_n(made);

	(void)state;
	for (int i = 0; i < 3; i++)
		assert_int_equal(rv_flow_renew(&made->solver, &made->flow, &error), RV_OK);
	assert_true(fabs(most_n(made) - before) <= 0.0);
	unmake(made);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(an_end_that_cannot_be_solved_is_refused_and_never_the_middle),
	    cmocka_unit_test(renewing_where_it_is_changes_nothing),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
