/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Some hundred random rigs, the same at every run, against laws that hold for all of them.
 */
#include "tests/rvtest.h"

#include <stdlib.h>
#include <string.h>

#include "core/plan.h"
#include "tests/unit/rig_cases.h"

enum { RIGS = 300, DRAWS = 10 };

/* A small generator of our own, so that the rigs are the same everywhere (constants of Knuth's
 * MMIX; from memory, not re-read). */
static uint64_t seed;

static double draw(double low, double high)
{
	seed = seed * 6364136223846793005u + 1442695040888963407u;
	return low + (high - low) * (double)(seed >> 11) / 9007199254740992.0;
}

static int draw_int(int low, int high)
{
	return low + (int)draw(0.0, (double)(high - low + 1) - 1e-9);
}

static void add_block(struct rv_text *text, int i)
{
	rv_text_add(text, "  b%d: {at: p%d", i, i);
	if (draw(0, 1) < 0.1) {
		rv_text_add(text, ", bar_friction: %.6f", draw(0.05, 0.2));
	} else {
		double low = draw(0.88, 0.97);
		rv_text_add(text, ", efficiency: [%.6f, %.6f]", low, low + draw(0.0, 0.03));
		if (draw(0, 1) < 0.3)
			rv_text_add(text, ", bearing_share: %.6f", draw(0, 1));
		if (draw(0, 1) < 0.2)
			rv_text_add(text, ", pin_drag: %.6f", draw(0, 0.03));
		if (draw(0, 1) < 0.2)
			rv_text_add(text, ", drag: %.3f N", draw(0, 100));
	}
	rv_text_add(text, "}\n");
}

/* Blocks turn and turn about on the load and on the ground; the load goes towards the ground. */
static void write_rig(struct rv_text *text, int blocks)
{
	int first_moves = draw_int(0, 1);

	rv_text_add(text, "points:\n  a: {at: [%.4f, %.4f, %.4f]}\n", draw(-5, 0), draw(-5, 5),
		    draw(-2, 2));
	for (int i = 0; i <= blocks; i++) {
		bool moves = i % 2 != first_moves;

		rv_text_add(text, "  p%d: {at: [%.4f, %.4f, %.4f]%s}\n", i,
			    moves ? draw(30, 40) : draw(-2, 6), draw(-8, 8), draw(-2, 2),
			    moves ? ", moves_with: car" : "");
	}
	rv_text_add(text, "loads: {car: {travels: [-1, %.4f, %.4f], resists: %.4f kN}}\n",
		    draw(-0.1, 0.1), draw(-0.1, 0.1), draw(20, 90));
	rv_text_add(text, "winches: {drum: {at: a, rated: 50 kN}}\nblocks:\n");
	for (int i = 0; i < blocks; i++)
		add_block(text, i);
	rv_text_add(text, "lines: {wire: {path: [drum");
	for (int i = 0; i < blocks; i++)
		rv_text_add(text, ", b%d", i);
	rv_text_add(text, ", p%d], wll: 60 kN}}\ncells:\n", blocks);
	for (int i = 0; i <= blocks; i++)
		rv_text_add(text, "  c%d: {in: wire, leg: %d}\n", i, i + 1);
	for (int i = 0; i < blocks; i++)
		rv_text_add(text, "  h%d: {holds: b%d}\n", i, i);
}

static const struct rv_plan_request nothing = {.travel_m = (double)NAN};

/* Any of the seeded rigs; NULL where the rig is refused. */
static struct rv_plan *make(struct rv_rig *rig, uint64_t number)
{
	struct rv_text text = {0};
	struct rv_plan *plan = NULL;
	struct rv_error error;

	seed = 20240607u + number * 1000003u;
	write_rig(&text, draw_int(1, 6));
	rig_case_read(text.data, rig);
	rv_text_free(&text);
	return rv_plan_new(rig, &nothing, &plan, &error) == RV_OK ? plan : NULL;
}

static void check_all(void (*check)(const struct rv_rig *rig, const struct rv_plan *plan))
{
	static struct rv_rig rig;
	int solved = 0;

	for (uint64_t i = 0; i < RIGS; i++) {
		struct rv_plan *plan = make(&rig, i);

		if (!plan)
			continue;
		check(&rig, plan);
		rv_plan_free(plan);
		solved++;
	}
	assert_true(solved > RIGS * 9 / 10);
}

/* Virtual work: without friction force and speed go by the same ratio. */
static void check_work(const struct rv_rig *rig, const struct rv_plan *plan)
{
	(void)rig;
	assert_near("advantage is the velocity ratio", plan->advantage.theoretical_ratio,
		    plan->velocity_ratio, 1e-12 * plan->velocity_ratio);
}

/* Power: what the winch puts in comes out at the load, less what each sheave keeps. */
static void check_power(const struct rv_rig *rig, const struct rv_plan *plan)
{
	double in = plan->winch[0].line_pull.nominal_n * plan->velocity_ratio;
	double out = plan->load[0].resists_n;

	(void)rig;
	for (int p = 0; p < plan->sheaves; p++) {
		double loss = (plan->tension[p].nominal_n - plan->tension[p + 1].nominal_n) *
			      plan->sheave[p].rope_speed_ratio;
		assert_true(loss >= 0.0);
		out += loss;
	}
	assert_near("power", out, in, 1e-12 * in);
	assert_true(plan->advantage.expected_ratio <= plan->advantage.theoretical_ratio);
}

/* Whatever the efficiencies are within their ranges, the loads are within theirs. */
static void check_draws(const struct rv_rig *rig, const struct rv_plan *plan)
{
	static struct rv_rig drawn;
	struct rv_error error;

	for (int k = 0; k < DRAWS; k++) {
		struct rv_plan *other = NULL;

		drawn = *rig;
		for (int b = 0; b < drawn.blocks; b++) {
			struct rv_range *eta = &drawn.block[b].efficiency;
			double value = isnan(eta->low) ? eta->low : draw(eta->low, eta->high);
			*eta = (struct rv_range){value, value, value};
		}
		assert_int_equal(rv_plan_new(&drawn, &nothing, &other, &error), RV_OK);
		for (int l = 0; l < plan->legs; l++) {
			double slack = 1e-9 * plan->tension[l].nominal_n;
			assert_true(other->tension[l].nominal_n >= plan->tension[l].low_n - slack);
			assert_true(other->tension[l].nominal_n <= plan->tension[l].high_n + slack);
		}
		double pull_n = other->winch[0].line_pull.nominal_n;
		assert_true(pull_n >= plan->winch[0].line_pull.low_n * (1 - 1e-9));
		assert_true(pull_n <= plan->winch[0].line_pull.high_n * (1 + 1e-9));
		rv_plan_free(other);
	}
}

/* Any one cell says all the rest. */
static void check_cells(const struct rv_rig *rig, const struct rv_plan *plan)
{
	static struct rv_loads loads;
	struct rv_predictor *predictor = NULL;
	struct rv_error error;

	assert_int_equal(rv_predictor_new(rig, &predictor, &error), RV_OK);
	for (int c = 0; c < rig->cells; c++) {
		assert_int_equal(
		    rv_predictor_loads(predictor, c, plan->cell[c].nominal_n, RV_MOTION_IN, &loads),
		    RV_OK);
		for (int i = 0; i < plan->components; i++) {
			double want = plan->carried[i].nominal_n;
			assert_near(plan->component[i].name, loads.component[i].nominal_n, want,
				    1e-7 * want + 1e-4);
			assert_true(loads.component[i].low_n <= loads.component[i].nominal_n);
			assert_true(loads.component[i].high_n >= loads.component[i].nominal_n);
		}
		for (int l = 0; l < plan->legs; l++)
			assert_near("leg", loads.leg[l].nominal_n, plan->tension[l].nominal_n,
				    1e-3);
	}
	rv_predictor_free(predictor);
}

/* The line taken in, which is a difference of lengths, is the sum of the velocity ratio. */
static void check_intake(const struct rv_rig *rig, const struct rv_plan *plan)
{
	struct rv_plan_request request = {.travel_m = 0.1};
	struct rv_plan *other = NULL;
	struct rv_error error;
	double sum_m = 0.0;

	(void)plan;
	assert_int_equal(rv_plan_new(rig, &request, &other, &error), RV_OK);
	const struct rv_travel *travel = &other->travel;
	assert_true(travel->rows >= 9);
	for (int i = 1; i < travel->rows; i++)
		sum_m += 0.5 * (travel->row[i].travel_m - travel->row[i - 1].travel_m) *
			 (travel->row[i].velocity_ratio + travel->row[i - 1].velocity_ratio);
	assert_near("line in", travel->row[travel->rows - 1].line_in_m, sum_m, 1e-7);
	rv_plan_free(other);
}

#define LAW(name, check)                                                                           \
	static void name(void **state)                                                             \
	{                                                                                          \
		(void)state;                                                                       \
		check_all(check);                                                                  \
	}

LAW(without_friction_the_advantage_is_the_velocity_ratio, check_work)
LAW(power_in_is_power_out_and_losses, check_power)
LAW(loads_stay_within_their_ranges, check_draws)
LAW(any_cell_tells_what_the_plan_says, check_cells)
LAW(line_in_is_the_sum_of_the_velocity_ratio, check_intake)

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(without_friction_the_advantage_is_the_velocity_ratio),
	    cmocka_unit_test(power_in_is_power_out_and_losses),
	    cmocka_unit_test(loads_stay_within_their_ranges),
	    cmocka_unit_test(any_cell_tells_what_the_plan_says),
	    cmocka_unit_test(line_in_is_the_sum_of_the_velocity_ratio),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
