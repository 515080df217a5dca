/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A thousand and more seeded rigs whose points float, in the plane and in space, against laws that
 * hold for all of them.
 */
#include "tests/rvtest.h"

#include <string.h>

#include "core/solver.h"
#include "tests/unit/rig_cases.h"
#include "tests/unit/rig_draft.h"

enum { RIGS = 1800 };

struct solved {
	struct rv_rig rig;
	struct rv_layout layout;
	struct rv_givens givens;
	struct rv_solver solver;
	struct rv_balance balance;
	int sense; /* -1: pays out */
};

static bool solve(struct solved *solved, uint64_t number, bool lossless)
{
	struct rig_draft draft = {.in_space = number % 2 == 1, .lossless = lossless};
	struct rv_givens none = {0};
	struct rv_error error = {0};

	rig_draft_seed = 77003u + number * 1000003u;
	rig_draft_write(&draft, (int)(number / 2 % RIG_DRAFT_FAMILIES));
	solved->sense = number % 5 == 0 ? -1 : 1;
	rig_case_read(draft.text.data, &solved->rig);
	rv_text_free(&draft.text);
	assert_int_equal(rv_layout_make(&solved->rig, &solved->layout, &error), RV_OK);
	assert_int_equal(rv_given_choose(&solved->rig, &none, &solved->givens, &error), RV_OK);
	assert_int_equal(rv_solver_open(&solved->layout, &solved->givens, &solved->solver, &error),
			 RV_OK);
	if (rv_solver_settle(&solved->solver, solved->sense, &solved->balance, &error) == RV_OK)
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
	const struct rv_layout *layout = &solved->layout;
	double in = 0.0;

	for (int w = 0; w < layout->rig.winches; w++)
		in += solved->balance.start_n[rv_reeve_winch_piece(&layout->reeving, w)] *
		      rv_pose_winch_ratio(&layout->reeving, &layout->pose, w);
	return in;
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
		assert_true(solved->sense * loss >= 0.0);
		out += loss;
	}
	assert_near("power", out, in, 1e-10 * in);
}

static void check_balance(struct solved *solved)
{
	const struct rv_layout *layout = &solved->layout;
	double most_n = 0.0;

	for (int i = 0; i < solved->givens.count; i++)
		most_n = fmax(most_n, solved->givens.given[i].force_n.middle);
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
		assert_near(layout->rig.point[p].name, rv_pose_size(sum), 0.0, 1e-10 * most_n);
	}
	for (int l = 0; l < layout->reeving.legs; l++)
		assert_true(isfinite(solved->balance.tension_n[l]) &&
			    solved->balance.tension_n[l] >= 0.0);
}

static double line_m(const struct rv_layout *layout, int winch)
{
	const struct rv_reeve_piece *piece =
	    &layout->reeving.piece[rv_reeve_winch_piece(&layout->reeving, winch)];
	double sum_m = 0.0;

	for (int k = 0; k < piece->legs; k++)
		sum_m += layout->pose.length_m[piece->first_leg + k];
	return sum_m;
}

/* Line out of each winch after a small travel, solved anew; the turns are held, for no direction of
 * friction is to change in between. */
static void line_after(struct solved *solved, const struct rv_pose *from, double step_m,
		       double out_m[RV_RIG_WINCHES])
{
	struct rv_balance balance;

	solved->layout.pose = *from;
	assert_int_equal(rv_solver_advance(&solved->solver, step_m, NULL), RV_OK);
	assert_int_equal(
	    rv_solver_balance(&solved->solver, &solved->solver.friction, &balance, NULL), RV_OK);
	for (int w = 0; w < solved->layout.rig.winches; w++)
		out_m[w] = line_m(&solved->layout, w);
}

/* Fourth order differences: halving the step changes them by rounding only. */
static void check_speed(struct solved *solved)
{
	static const double h = 2e-3;
	struct rv_pose from = solved->layout.pose;
	double at[4][RV_RIG_WINCHES];

	for (int i = 0; i < 4; i++)
		line_after(solved, &from, (i < 2 ? i - 2 : i - 1) * h, at[i]);
	for (int w = 0; w < solved->layout.rig.winches; w++) {
		double ratio = rv_pose_winch_ratio(&solved->layout.reeving, &from, w);
		double one = at[1][w] - at[2][w], two = at[0][w] - at[3][w];

		assert_near("velocity ratio", (8.0 * one - two) / (12.0 * h), ratio,
			    1e-7 * fmax(1.0, ratio));
	}
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
