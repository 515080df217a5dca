/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pulls of a played tackle against what was played.
 */
#include "tests/rvtest.h"

#include "tests/truth/session.h"

static const struct session_told told = {
    .u_gain_ratio = 0.003, .u_delay_s = 0.010, .stiffness_log = 0.5};

struct seen {
	int kept, all;
	double bias;	/* mean of (L_in - L_out) / 2 less the truth */
	double u_bias;	/* its standard error */
	double turning; /* mean share */
};

static struct seen look(const struct sim_setup *sim, uint64_t seed, int sessions)
{
	static struct session session;
	struct seen seen = {.all = 0};
	double x = log(sim->efficiency[0]), sum = 0.0, squares = 0.0, cycles = 0.0;
	double truth = (session_curve(sim, x, RV_MOTION_IN) -
			session_curve(sim, x * (1.0 + sim->excess_ratio), RV_MOTION_OUT)) /
		       2.0;

	for (int s = 0; s < sessions; s++) {
		session_play(sim, &told, seed + (uint64_t)s, &session);
		const struct rv_facts *facts = &session.facts;
		for (int i = 0; i < facts->count; i++) {
			const struct rv_estimate_pull *pull = &facts->pull[i];
			seen.all++;
			seen.kept += pull->why == RV_PULL_KEPT;
			seen.turning += isnan(pull->mobilised_ratio) ? 1.0 : pull->mobilised_ratio;
			if (i == 0 || pull->direction != RV_MOTION_OUT)
				continue;
			double half = (pull[-1].log_ratio - pull->log_ratio) / 2.0;
			if (isnan(half))
				continue;
			sum += half - truth;
			squares += (half - truth) * (half - truth);
			cycles += 1.0;
		}
	}
	seen.bias = sum / cycles;
	seen.u_bias = sqrt(squares) / cycles;
	seen.turning /= seen.all;
	return seen;
}

/* A bias of 0.0008 in the log ratio of four sheaves is 0.02 % of efficiency. */
static void pulls_tell_the_ratio_that_was_played(void **state)
{
	struct sim_setup cases[7];
	static const char *const labels[] = {
	    "four sheaves",   "one sheave",	     "paying out costs more", "10 Hz and 200 Hz",
	    "coarse encoder", "a little stick-slip", "efficiency 0.90"};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		cases[i] = sim_base();
	cases[1].sheaves = 1;
	cases[1].cell[1].weight[4] = 0.0;
	cases[1].cell[1].weight[1] = 1.0;
	cases[2].excess_ratio = 0.2;
	cases[3].cell[0].every = 1;
	cases[3].cell[1].every = 20;
	cases[4].encoder_m = 0.02;
	cases[5].saw_ratio = 0.1;
	for (int i = 0; i < SIM_SHEAVES; i++)
		cases[6].efficiency[i] = 0.90;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct seen seen = look(&cases[i], 1000 * (i + 1), 12);

		assert_near(labels[i], seen.bias, 0.0, 0.0008 + 3.0 * seen.u_bias);
		assert_true(seen.u_bias < 0.0025);
		assert_true(seen.turning > 0.9);
	}
}

static void sheaves_that_run_back_are_seen(void **state)
{
	static const struct {
		const char *label;
		double surge_ratio, surge_hz, stiffness_n, speed_mps;
	} cases[] = {
	    {"strong surge", 0.12, 1.0, 6e5, 0.06},
	    {"surge 6 %", 0.06, 0.6, 1e6, 0.10},
	    {"surge 8 %", 0.08, 0.8, 8e5, 0.08},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct sim_setup sim = sim_base();

		sim.surge_ratio = cases[i].surge_ratio;
		sim.surge_hz = cases[i].surge_hz;
		sim.stiffness_n = cases[i].stiffness_n;
		sim.speed_mps = cases[i].speed_mps;
		struct seen seen = look(&sim, 9000 + 100 * i, 6);
		if (!(seen.turning < 0.75))
			fail_msg("%s: %.3f certainly turning", cases[i].label, seen.turning);
	}
}

/* The cells are told to be later than they are by some 10 ms, and a filter delays what is quick by
 * less than its time constant. */
static void the_lag_of_the_far_cell_is_found(void **state)
{
	static struct session session;
	struct sim_setup sim = sim_base();
	double sum_s = 0.0;

	(void)state;
	for (uint64_t seed = 1; seed <= 12; seed++) {
		session_play(&sim, &told, seed, &session);
		assert_near("lag", session.lag_s, 0.0, 0.05);
		sum_s += session.lag_s;
	}
	assert_near("mean lag", sum_s / 12.0, -0.010, 0.015);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(pulls_tell_the_ratio_that_was_played),
	    cmocka_unit_test(sheaves_that_run_back_are_seen),
	    cmocka_unit_test(the_lag_of_the_far_cell_is_found),
	};

	return cmocka_run_group_tests_name("pulls", tests, NULL, NULL);
}
