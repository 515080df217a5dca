/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A thousand and more seeded rigs whose points float, in the plane and in space, against laws that
 * hold for all of them.
 */
#include "tests/rvtest.h"

#include <string.h>

#include "core/solver.h"
#include "tests/unit/rig_cases.h"

enum { RIGS = 1200 };

/* A small generator of our own, so that the rigs are the same everywhere (constants of Knuth's
 * MMIX; from memory, not re-read). */
static uint64_t seed;

static double draw(double low, double high)
{
	seed = seed * 6364136223846793005u + 1442695040888963407u;
	return low + (high - low) * (double)(seed >> 11) / 9007199254740992.0;
}

static bool one_in(int n)
{
	return draw(0.0, 1.0) * n < 1.0;
}

struct draft {
	struct rv_text text;
	bool in_space, lossless;
};

static void add_point(struct draft *draft, const char *name, const double at[3], const char *more)
{
	rv_text_add(&draft->text, "  %s: {at: [%.4f, %.4f", name, at[0], at[1]);
	if (draft->in_space)
		rv_text_add(&draft->text, ", %.4f", at[2]);
	rv_text_add(&draft->text, "]%s}\n", more);
}

static void add_travel(struct draft *draft, const double way[3], double resists_kn)
{
	rv_text_add(&draft->text, "loads: {car: {travels: [%.4f, %.4f", way[0], way[1]);
	if (draft->in_space)
		rv_text_add(&draft->text, ", %.4f", way[2]);
	rv_text_add(&draft->text, "], resists: %.4f kN}}\n", resists_kn);
}

/* Every law of friction has its turn; none of them when the rig is to be without loss. */
static void add_block(struct draft *draft, const char *name, const char *at, const char *more)
{
	double eta = draw(0.88, 0.99), share = draw(0.0, 1.0), pin = draw(0.0, 0.04),
	       drag = draw(0.0, 60.0);
	bool has_share = one_in(3), has_pin = one_in(4), has_drag = one_in(4);

	rv_text_add(&draft->text, "  %s: {at: %s%s", name, at, more);
	if (draft->lossless) {
		rv_text_add(&draft->text, ", efficiency: 1}\n");
		return;
	}
	rv_text_add(&draft->text, ", efficiency: %.5f", eta);
	if (has_share)
		rv_text_add(&draft->text, ", bearing_share: %.4f", share);
	if (has_pin)
		rv_text_add(&draft->text, ", pin_drag: %.5f", pin);
	if (has_drag)
		rv_text_add(&draft->text, ", drag: %.3f N", drag);
	rv_text_add(&draft->text, "}\n");
}

static const double *spot(double x, double y, double spread)
{
	static double at[4][3];
	static int next;
	double *to = at[next++ % 4];

	to[0] = x + draw(-1.0, 1.0);
	to[1] = y + draw(-spread, spread);
	to[2] = draw(-0.5, 0.5) * spread;
	return to;
}

/* Whip on whip: each line ends on the block that rides in the bight of the one before. */
static void write_whips(struct draft *draft)
{
	int whips = 2 + (int)draw(0.0, 2.999);
	char name[32], more[64];

	rv_text_add(&draft->text, "points:\n");
	add_point(draft, "deck", spot(0, 0, 3), "");
	for (int i = 0; i < whips; i++) {
		snprintf(name, sizeof name, "a%d", i);
		add_point(draft, name, spot(0, 0, 3), "");
		snprintf(name, sizeof name, "g%d", i);
		bool has_weight = i + 1 < whips && !draft->lossless && one_in(4);
		snprintf(more, sizeof more,
			 has_weight ? ", floats: true, weight: %.1f N" : ", floats: true",
			 draw(20.0, 200.0));
		add_point(draft, name, spot(14.0 + 9.0 * i, 0, 2),
			  i + 1 < whips ? more : ", moves_with: car");
	}
	double way[3] = {-1.0, draw(-0.1, 0.1), draw(-0.1, 0.1)};
	add_travel(draft, way, draw(5, 80));
	rv_text_add(&draft->text, "winches: {drum: {at: deck}}\nblocks:\n");
	for (int i = 0; i < whips; i++) {
		char at[32];
		snprintf(name, sizeof name, "b%d", i);
		snprintf(at, sizeof at, "g%d", i);
		add_block(draft, name, at, "");
	}
	rv_text_add(&draft->text, "lines:\n");
	for (int i = 0; i < whips; i++) {
		snprintf(name, sizeof name, "g%d", i - 1);
		rv_text_add(&draft->text, "  l%d: {path: [%s, b%d, a%d]}\n", i,
			    i == 0 ? "drum" : name, i, i);
	}
}

/* A turn held by a block on a sling, or by a strop. */
static void write_turn(struct draft *draft)
{
	bool on_sling = one_in(2);
	double turn[3] = {draw(-2, 2), draw(-2, 2), draw(-2, 2)};

	rv_text_add(&draft->text, "points:\n");
	add_point(draft, "deck", spot(35, -25, 6), "");
	add_point(draft, "north", spot(-5, 7, 1), "");
	if (on_sling) {
		add_point(draft, "south", spot(-5, -6, 1), "");
		add_point(draft, "ring", turn, ", floats: true");
	}
	add_point(draft, "lug", spot(40, 18, 5), ", moves_with: car");
	double way[3] = {-1.0, draw(-0.5, -0.1), draw(-0.1, 0.1)};
	add_travel(draft, way, draw(5, 80));
	rv_text_add(&draft->text, "winches: {drum: {at: deck}}\nblocks:\n");
	char hangs[32];
	snprintf(hangs, sizeof hangs, ", hangs: %.4f", draw(0.5, 4.0));
	add_block(draft, "turn", on_sling ? "ring" : "north", on_sling ? "" : hangs);
	if (on_sling)
		add_block(draft, "rider", "ring", "");
	rv_text_add(&draft->text, "lines:\n  wire: {path: [drum, turn, lug]}\n");
	if (on_sling)
		rv_text_add(&draft->text, "  sling: {path: [north, rider, south]}\n");
}

struct solved {
	struct rv_rig rig;
	struct rv_layout layout;
	struct rv_givens givens;
	struct rv_solver solver;
	struct rv_balance balance;
};

static bool solve(struct solved *solved, uint64_t number, bool lossless)
{
	struct draft draft = {.in_space = number % 2 == 1, .lossless = lossless};
	struct rv_givens none = {0};
	struct rv_error error = {0};

	seed = 77003u + number * 1000003u;
	if (number % 3 == 0)
		write_turn(&draft);
	else
		write_whips(&draft);
	rig_case_read(draft.text.data, &solved->rig);
	rv_text_free(&draft.text);
	assert_int_equal(rv_layout_make(&solved->rig, &solved->layout, &error), RV_OK);
	assert_int_equal(rv_given_choose(&solved->rig, &none, &solved->givens, &error), RV_OK);
	assert_int_equal(rv_solver_open(&solved->layout, &solved->givens, &solved->solver, &error),
			 RV_OK);
	if (rv_solver_settle(&solved->solver, 1, &solved->balance, &error) == RV_OK)
		return true;
	/* A refusal names what it is about. */
	assert_true(error.tag[0] != '\0' && error.text[0] != '\0');
	rv_solver_close(&solved->solver);
	return false;
}

static void check_all(bool lossless, void (*check)(struct solved *solved))
{
	static struct solved solved;
	int count = 0;

	for (uint64_t i = 0; i < RIGS; i++) {
		if (!solve(&solved, i, lossless))
			continue;
		check(&solved);
		rv_solver_close(&solved.solver);
		count++;
	}
	print_message("%d of %d rigs solved\n", count, RIGS);
	assert_true(count > RIGS * 9 / 10);
}

static double power_in(const struct solved *solved)
{
	return solved->balance.start_n[rv_reeve_winch_piece(&solved->layout.reeving, 0)] *
	       rv_pose_winch_ratio(&solved->layout.reeving, &solved->layout.pose, 0);
}

static double power_out(const struct solved *solved)
{
	const struct rv_layout *layout = &solved->layout;
	double out = solved->balance.resists_n[0];

	for (int p = 0; p < layout->rig.points; p++)
		out -= rv_pose_dot(layout->set.outside_n[p], layout->pose.point_speed[p]);
	return out;
}

/* Virtual work: without friction what goes in comes out. */
static void check_work(struct solved *solved)
{
	double in = power_in(solved);

	assert_near("work", power_out(solved), in, 1e-10 * in);
}

static void check_power(struct solved *solved)
{
	const struct rv_reeving *reeving = &solved->layout.reeving;
	double in = power_in(solved), out = power_out(solved);

	for (int p = 0; p < reeving->passes; p++) {
		int before = reeving->pass[p].before;
		double loss =
		    (solved->balance.tension_n[before] - solved->balance.tension_n[before + 1]) *
		    solved->layout.pose.rope_speed_ratio[p];
		assert_true(loss >= 0.0);
		out += loss;
	}
	assert_near("power", out, in, 1e-10 * in);
}

static void check_balance(struct solved *solved)
{
	const struct rv_layout *layout = &solved->layout;

	for (int p = 0; p < layout->rig.points; p++) {
		double sum[RV_DIM];

		if (layout->rig.point[p].kind != RV_POINT_FLOATS)
			continue;
		memcpy(sum, layout->set.outside_n[p], sizeof sum);
		for (int l = 0; l < layout->reeving.legs; l++)
			for (int i = 0; i < RV_DIM; i++) {
				double n =
				    solved->balance.tension_n[l] * layout->pose.direction[l][i];
				sum[i] += layout->reeving.leg[l].a == p ? n : 0.0;
				sum[i] -= layout->reeving.leg[l].b == p ? n : 0.0;
			}
		assert_near(layout->rig.point[p].name, rv_pose_size(sum), 0.0,
			    1e-10 * solved->givens.given[0].force_n.middle);
	}
	for (int l = 0; l < layout->reeving.legs; l++)
		assert_true(isfinite(solved->balance.tension_n[l]) &&
			    solved->balance.tension_n[l] >= 0.0);
}

static double line_m(const struct rv_layout *layout)
{
	const struct rv_reeve_piece *piece =
	    &layout->reeving.piece[rv_reeve_winch_piece(&layout->reeving, 0)];
	double sum_m = 0.0;

	for (int k = 0; k < piece->legs; k++)
		sum_m += layout->pose.length_m[piece->first_leg + k];
	return sum_m;
}

/* Line out after a small travel, solved anew; the turns are held, for no direction of friction is
 * to change in between. */
static double line_after(struct solved *solved, const struct rv_pose *from, double step_m)
{
	struct rv_balance balance;

	solved->layout.pose = *from;
	assert_int_equal(rv_solver_advance(&solved->solver, step_m, NULL), RV_OK);
	assert_int_equal(
	    rv_solver_balance(&solved->solver, &solved->solver.friction, &balance, NULL), RV_OK);
	return line_m(&solved->layout);
}

/* Fourth order differences: halving the step changes them by rounding only. */
static void check_speed(struct solved *solved)
{
	static const double h = 2e-3;
	struct rv_pose from = solved->layout.pose;
	double ratio = rv_pose_winch_ratio(&solved->layout.reeving, &from, 0);
	double one = line_after(solved, &from, -h) - line_after(solved, &from, h);
	double two = line_after(solved, &from, -2.0 * h) - line_after(solved, &from, 2.0 * h);

	assert_near("velocity ratio", (8.0 * one - two) / (12.0 * h), ratio, 1e-7 * ratio);
}

#define LAW(name, lossless, check)                                                                 \
	static void name(void **state)                                                             \
	{                                                                                          \
		(void)state;                                                                       \
		check_all(lossless, check);                                                        \
	}

LAW(without_friction_what_goes_in_comes_out, true, check_work)
LAW(power_in_is_power_out_and_losses, false, check_power)
LAW(forces_cancel_wherever_a_point_floats, false, check_balance)
LAW(the_velocity_ratio_is_that_of_the_line_taken_in, false, check_speed)

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(without_friction_what_goes_in_comes_out),
	    cmocka_unit_test(power_in_is_power_out_and_losses),
	    cmocka_unit_test(forces_cancel_wherever_a_point_floats),
	    cmocka_unit_test(the_velocity_ratio_is_that_of_the_line_taken_in),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
