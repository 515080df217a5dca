/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Is the constant part of the loss found as often as it should be, in a played tackle?
 *
 * The figures to compare with are those of an independent prototype in another language on a
 * simulator of its own, 150 sessions each (from its report, not re-run): loads 1 to 4 and 9 cycles,
 * 60 N found in 100 %, 30 N in 92 %, none in 2 %; standard deviation 7 N; interval covers in 98 %.
 */
#include "tests/rvtest.h"

#include <stdlib.h>

#include "core/estimate_make.h"
#include "core/loss_fit.h"
#include "tests/truth/session.h"

static const struct session_told told = {
    .u_gain_ratio = 0.003, .u_delay_s = 0.010, .stiffness_log = 0.5};

struct tally {
	int sessions, fitted, found, covered;
	double mean_n, sd_n;
};

static struct tally play(const struct sim_setup *sim, uint64_t seed, int sessions)
{
	static struct session session;
	static struct rv_estimate estimate;
	struct tally tally = {.sessions = sessions};
	double sum = 0.0, squares = 0.0;

	for (int s = 0; s < sessions; s++) {
		session_play(sim, &told, seed + (uint64_t)s, &session);
		assert_int_equal(rv_estimate_make(&session.setup, session.facts.pull,
						  session.facts.count, &estimate),
				 RV_OK);
		struct rv_loss_fit_ask ask = {
		    &session.setup, session.facts.pull, session.facts.count, {1.0, 1.0}};
		assert_int_equal(rv_loss_fit(&ask, &estimate), RV_OK);
		const struct rv_estimate_loss *loss = &estimate.loss;
		if (!loss->known)
			continue;
		tally.fitted++;
		tally.found += loss->has_constant;
		tally.covered += loss->low_n <= sim->constant_n && sim->constant_n <= loss->high_n;
		sum += loss->constant_n;
		squares += loss->constant_n * loss->constant_n;
	}
	tally.mean_n = sum / tally.fitted;
	tally.sd_n = sqrt((squares - sum * sum / tally.fitted) / (tally.fitted - 1));
	return tally;
}

static int sessions_asked(int usual)
{
	const char *more = getenv("RV_TRUTH_SESSIONS");

	return more ? (int)strtol(more, NULL, 10) : usual;
}

static void a_constant_part_is_found_as_often_as_it_should(void **state)
{
	static const struct {
		const char *label;
		double constant_n;
		double found_low, found_high; /* % */
	} cases[] = {
	    {"60 N", 60.0, 95, 100},
	    {"30 N", 30.0, 60, 100},
	    {"none", 0.0, 0, 14},
	};
	int sessions = sessions_asked(16), bad = 0;

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct sim_setup sim = sim_base();

		sim.cycles = sim.pays = 9;
		sim.leg_n[0] = 4e3;
		sim.leg_n[1] = 16e3;
		sim.constant_n = cases[i].constant_n;
		struct tally tally = play(&sim, 70000 + 1000 * i, sessions);
		double found = 100.0 * tally.found / tally.fitted;
		double covered = 100.0 * tally.covered / tally.fitted;
		bool good = found >= cases[i].found_low && found <= cases[i].found_high &&
			    covered >= 80.0 && 10 * tally.fitted >= 9 * sessions &&
			    fabs(tally.mean_n - cases[i].constant_n) < 7.0 && tally.sd_n < 13.0;
		print_message(
		    "%-6s found %5.1f %%  covered %5.1f %%  %6.1f +- %.1f N  (%d of %d)%s\n",
		    cases[i].label, found, covered, tally.mean_n, tally.sd_n, tally.fitted,
		    sessions, good ? "" : "  <--");
		bad += !good;
	}
	assert_int_equal(bad, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_constant_part_is_found_as_often_as_it_should),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
