/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rigs that float, by hand.
 */
#include "tests/rvtest.h"

#include <string.h>

#include "core/solver.h"
#include "tests/unit/rig_cases.h"

struct solved {
	struct rv_rig rig;
	struct rv_layout layout;
	struct rv_givens givens;
	struct rv_solver solver;
	struct rv_balance balance;
};

static void solve_text(const char *text, struct solved *solved)
{
	struct rv_givens none = {0};
	struct rv_error error = {0};

	rig_case_read(text, &solved->rig);
	assert_int_equal(rv_layout_make(&solved->rig, &solved->layout, &error), RV_OK);
	assert_int_equal(rv_given_choose(&solved->rig, &none, &solved->givens, &error), RV_OK);
	assert_int_equal(rv_solver_open(&solved->layout, &solved->givens, &solved->solver, &error),
			 RV_OK);
	if (rv_solver_settle(&solved->solver, 1, &solved->balance, &error) == RV_OK)
		return;
	print_error("%s: %s\n", error.tag, error.text);
	fail();
}

/* Two loads on one line through a floating block, each with a winch of its own: by hand, parallel
 * legs, no friction.  The line shares out between both loads; which goes how fast the drive says.
 */
static void two_loads_go_as_their_winches_are_driven(void **state)
{
	static struct solved s;

	(void)state;
	solve_text(
	    "points:\n"
	    "  a: {at: [0, 0]}\n  b: {at: [0, 4]}\n"
	    "  one: {at: [30, 0], moves_with: cart}\n  two: {at: [30, 4], moves_with: sledge}\n"
	    "  back: {at: [60, 2]}\n"
	    "loads: {cart: {travels: [-1, 0], resists: 6 kN}, sledge: {travels: [-1, 0], "
	    "resists: 9 kN}}\n"
	    "winches: {left: {at: a}, right: {at: b}}\n"
	    "lines: {l: {path: [left, one]}, r: {path: [right, two]}}\n"
	    "drive: {left: 1, right: 0.5}\n",
	    &s);
	assert_near("left", s.balance.start_n[0], 6000.0, 1e-6);
	assert_near("right", s.balance.start_n[1], 9000.0, 1e-6);
	rv_solver_close(&s.solver);

	/* The line of one winch runs over a block on the other load: its tension pulls that twice.
	 */
	solve_text(
	    "points:\n"
	    "  a: {at: [0, 0]}\n  b: {at: [0, 4]}\n"
	    "  one: {at: [30, 0], moves_with: cart}\n  two: {at: [90, 0], moves_with: sledge}\n"
	    "  tail end: {at: [0, 0.001]}\n"
	    "loads: {cart: {travels: [-1, 0], resists: 6 kN}, sledge: {travels: [-1, 0], "
	    "resists: 9 kN}}\n"
	    "winches: {left: {at: a}, right: {at: a}}\n"
	    "blocks: {runner: {at: two, efficiency: 1}}\n"
	    "lines: {l: {path: [left, one]}, r: {path: [right, runner, one]}}\n"
	    "drive: {left: 1, right: 3}\n",
	    &s);
	/* right: 9 kN over two legs; left: 6 kN and what the far leg pulls the cart back. */
	assert_near("right", s.balance.start_n[1], 4500.0, 1e-6);
	assert_near("left", s.balance.start_n[0], 6000.0 + 4500.0, 1e-6);
	/* Line in on the right: 2 v(sledge) - v(cart); the cart at 1, so the sledge at 2. */
	assert_near("the cart", s.layout.pose.point_speed[2][0], -1.0, 1e-9);
	assert_near("the sledge", s.layout.pose.point_speed[3][0], -2.0, 1e-9);
	rv_solver_close(&s.solver);
}

/* A free load held by a line that goes through a floating ring: it goes along its line. */
static void a_free_load_goes_the_way_its_lines_pull(void **state)
{
	static struct solved s;

	(void)state;
	solve_text("points: {a: {at: [0, 0]}, k: {at: [11, 4], floats: true}, e: {at: [20, 10], "
		   "moves_with: raft}}\n"
		   "loads: {raft: {free: true, resists: 5 kN}}\n"
		   "winches: {drum: {at: a}}\n"
		   "lines: {one: {path: [drum, k]}, two: {path: [k, e]}}\n",
		   &s);
	assert_near("line pull", s.balance.start_n[0], 5000.0, 1e-6);
	assert_near("no side force", s.balance.side_n[0], 0.0, 1e-9);
	assert_near("along the line, x", s.layout.pose.travels[0][0], -2.0 / sqrt(5.0), 1e-9);
	assert_near("along the line, y", s.layout.pose.travels[0][1], -1.0 / sqrt(5.0), 1e-9);
	assert_near("as fast as the line",
		    rv_pose_winch_ratio(&s.layout.reeving, &s.layout.pose, 0), 1.0, 1e-9);
	rv_solver_close(&s.solver);
}

/* A cell on the far piece of a piggyback is as good a given as the load.  Source of the figures:
 * the prototype of rig_cases.h. */
static void a_cell_is_a_given(void **state)
{
	static struct solved s;
	struct rv_givens cell = {1, {{RV_GIVEN_CELL, 1, {18499.715, 18499.715, 18499.715}}}};
	struct rv_error error = {0};

	(void)state;
	solve_text(RIG_PIGGYBACK, &s);
	rv_solver_give(&s.solver, &cell);
	assert_int_equal(rv_solver_settle(&s.solver, 1, &s.balance, &error), RV_OK);
	assert_near("load", s.balance.resists_n[0], 60000.0, 0.01);
	assert_near("line pull", s.balance.start_n[rv_reeve_winch_piece(&s.layout.reeving, 0)],
		    10970.205, 0.002);
	rv_solver_close(&s.solver);

	solve_text(RIG_BURTON_3, &s);
	cell = (struct rv_givens){1, {{RV_GIVEN_CELL, 1, {32872.458, 32872.458, 32872.458}}}};
	rv_solver_give(&s.solver, &cell);
	assert_int_equal(rv_solver_settle(&s.solver, 1, &s.balance, &error), RV_OK);
	assert_near("a cell between two legs", s.balance.resists_n[0], 24000.0, 0.01);
	rv_solver_close(&s.solver);
}

/* A first guess on the wrong side of everything ends in the same shape as a good one. */
static void a_rough_guess_ends_where_a_good_one_does(void **state)
{
	static struct solved good, rough;
	static const char *const at[] = {"[4, 0]", "[-9, 3]", "[20, 25]", "[0, -20]", "[39, -29]"};

	(void)state;
	solve_text(RIG_SLING, &good);
	for (size_t i = 1; i < sizeof at / sizeof at[0]; i++) {
		char text[2048] = RIG_SLING;
		char *found = strstr(text, "ring: {at: [4, 0]");
		char tail[2048];

		assert_non_null(found);
		snprintf(tail, sizeof tail, "%s", found + strlen("ring: {at: [4, 0]"));
		snprintf(found, sizeof text - (size_t)(found - text), "ring: {at: %s%s", at[i],
			 tail);
		solve_text(text, &rough);
		for (int k = 0; k < 2; k++)
			assert_near(at[i], rough.layout.pose.at_m[3][k],
				    good.layout.pose.at_m[3][k], 1e-8);
		rv_solver_close(&rough.solver);
	}
	rv_solver_close(&good.solver);
}

/* By hand: the strop lies along the bisector when nothing is lost, and carries what the block does.
 */
static void a_block_on_a_strop_hangs_along_the_bisector(void **state)
{
	static struct solved s;

	(void)state;
	solve_text(
	    "points: {a: {at: [-20, 0]}, tree: {at: [0, 0]}, e: {at: [0, 30], moves_with: car}}\n"
	    "loads: {car: {travels: [0, -1], resists: 10 kN}}\n"
	    "winches: {drum: {at: a}}\n"
	    "blocks: {turn: {at: tree, efficiency: 1, hangs: 2}}\n"
	    "lines: {wire: {path: [drum, turn, e]}}\n",
	    &s);
	const double *pin = s.layout.pose.at_m[3];
	assert_near("the strop's length", hypot(pin[0], pin[1]), 2.0, 1e-9);
	double to_a[2] = {-20.0 - pin[0], -pin[1]}, to_e[2] = {-pin[0], 30.0 - pin[1]};
	double la = hypot(to_a[0], to_a[1]), le = hypot(to_e[0], to_e[1]);
	double x = to_a[0] / la + to_e[0] / le, y = to_a[1] / la + to_e[1] / le;
	assert_near("along the bisector", (x * pin[1] - y * pin[0]) / hypot(x, y), 0.0, 1e-9);
	assert_near("the strop's load", s.balance.tension_n[2], s.balance.start_n[0] * hypot(x, y),
		    1e-6);
	rv_solver_close(&s.solver);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(two_loads_go_as_their_winches_are_driven),
	    cmocka_unit_test(a_free_load_goes_the_way_its_lines_pull),
	    cmocka_unit_test(a_cell_is_a_given),
	    cmocka_unit_test(a_rough_guess_ends_where_a_good_one_does),
	    cmocka_unit_test(a_block_on_a_strop_hangs_along_the_bisector),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
