/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Does an interval that claims 95 % hold the efficiency that was played in 95 of 100 sessions?
 *
 * A few dozen sessions of each kind, seeded; RV_SESSIONS=1000 plays that many, and the bounds draw
 * in as the binomial error does.
 */
#include "tests/rvtest.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/estimate_make.h"
#include "tests/truth/session.h"

static int sessions(int usual)
{
	const char *asked = getenv("RV_SESSIONS");
	long count = asked ? strtol(asked, NULL, 10) : 0;

	return count > 0 ? (int)count : usual;
}

struct kind {
	const char *label;
	struct sim_setup sim;
	struct session_told told;
	double excess_high; /* admitted loss excess paying out */
	bool mean_counts;   /* the mean of both directions is held against the truth */
};

struct score {
	int all, refused, covered;
	double width, bias, square, naive_covered;
	char codes[200];
};

/* What someone would get who took each second of a pull for an answer of its own: all scatter
 * within pulls, none between them. */
static bool naive_covers(const struct session *session, double truth)
{
	double sum = 0.0, count = 0.0;
	double x = log(truth);

	for (int i = 0; i < session->facts.count; i++) {
		const struct rv_estimate_pull *pull = &session->facts.pull[i];
		double way = pull->direction == RV_MOTION_IN ? 1.0 : -1.0;

		if (isnan(pull->log_ratio))
			continue;
		sum += way * pull->log_ratio;
		count += 1.0;
	}
	double l = session_curve(session->sim, x, RV_MOTION_IN);
	/* 1 % of a second's ratio, over some 15 s in each pull */
	return fabs(sum / count - l) < 1.96 * 0.003 / sqrt(15.0 * count);
}

static void play(const struct kind *kind, uint64_t seed, struct score *score)
{
	static struct session session;
	static struct rv_estimate estimate;
	double truth = kind->sim.efficiency[0];

	session_play(&kind->sim, &kind->told, seed, &session);
	session.setup.excess_low_ratio = 0.0;
	session.setup.excess_high_ratio = kind->excess_high;
	assert_int_equal(
	    rv_estimate_make(&session.setup, session.facts.pull, session.facts.count, &estimate),
	    RV_OK);
	score->all++;
	if (estimate.refused) {
		score->refused++;
		if (!strstr(score->codes, estimate.refusal.code) &&
		    strlen(score->codes) + sizeof estimate.refusal.code < sizeof score->codes)
			strcat(strcat(score->codes, " "), estimate.refusal.code);
		return;
	}
	const struct rv_estimate_interval *of =
	    kind->mean_counts ? &estimate.mean : &estimate.efficiency;
	score->covered += of->low_ratio <= truth && truth <= of->high_ratio;
	score->width += of->high_ratio - of->low_ratio;
	score->bias += of->ratio - truth;
	score->square += (of->ratio - truth) * (of->ratio - truth);
	score->naive_covered += naive_covers(&session, truth);
}

static struct score play_all(const struct kind *kind, uint64_t seed, int count)
{
	struct score score = {.all = 0};

	for (int i = 0; i < count; i++)
		play(kind, seed + (uint64_t)i * 104729, &score);
	double given = score.all - score.refused;
	if (score.all == score.refused)
		return score;
	score.width /= given;
	score.bias /= given;
	score.square = sqrt(score.square / given);
	print_message("%-28s %4d sessions, %3d refused%s, covered %5.1f %%, width %.3f %%, "
		      "bias %+.3f %%, rms error %.3f %%\n",
		      kind->label, score.all, score.refused, score.codes,
		      100.0 * score.covered / given, 100.0 * score.width, 100.0 * score.bias,
		      100.0 * score.square);
	return score;
}

static struct kind base(const char *label, double u_gain)
{
	struct kind kind = {
	    .label = label,
	    .sim = sim_base(),
	    .told = {.u_gain_ratio = u_gain, .u_delay_s = 0.010, .stiffness_log = 0.5}};

	for (int i = 0; i < 2; i++)
		kind.sim.cell[i].u_gain_ratio = u_gain;
	return kind;
}

/* Coverage within three binomial standard errors of 95 %, or above; bias small against the width.
 */
static void must_cover(const struct kind *kind, uint64_t seed, int usual)
{
	struct score score = play_all(kind, seed, sessions(usual));
	double given = score.all - score.refused;
	double least = 0.95 - 3.0 * sqrt(0.95 * 0.05 / given) - 0.015;

	assert_true(score.refused <= 0.05 * score.all + 1.0);
	if (score.covered < least * given)
		fail_msg("%s: covered %d of %.0f", kind->label, score.covered, given);
	assert_near(kind->label, score.bias, 0.0, 0.0002 + 3.5 * score.square / sqrt(given));
}

static void cycles_cover_the_mean_of_both_directions(void **state)
{
	struct kind kind = base("5 cycles, gain 1 %", 0.01);

	(void)state;
	kind.mean_counts = true;
	must_cover(&kind, 11, 60);
	kind.label = "3 cycles, gain 1 %";
	kind.sim.cycles = kind.sim.pays = 3;
	must_cover(&kind, 12, 60);
	kind = base("one sheave, gain 0.5 %", 0.005);
	kind.mean_counts = true;
	kind.sim.sheaves = 1;
	kind.sim.cycles = kind.sim.pays = 4;
	kind.sim.cell[1].weight[4] = 0.0;
	kind.sim.cell[1].weight[1] = 1.0;
	must_cover(&kind, 13, 60);
	kind = base("shackle of three parts", 0.01);
	kind.mean_counts = true;
	kind.sim.sheaves = 3;
	kind.sim.cycles = kind.sim.pays = 4;
	kind.sim.cell[1].weight[4] = 0.0;
	for (int k = 1; k <= 3; k++)
		kind.sim.cell[1].weight[k] = 1.0;
	must_cover(&kind, 14, 60);
}

static void cycles_cover_hauling_whatever_excess_within_the_bound(void **state)
{
	static const double excess[] = {0.0, 0.1, 0.2};
	static const char *const labels[] = {"no excess", "excess 10 %", "excess 20 %"};

	(void)state;
	for (size_t i = 0; i < sizeof excess / sizeof excess[0]; i++) {
		struct kind kind = base(labels[i], 0.003);

		kind.excess_high = 0.2;
		kind.sim.excess_ratio = excess[i];
		struct score score = play_all(&kind, 20 + i, sessions(60));
		double given = score.all - score.refused;
		/* at an end of the bound 93 % is what the method gives */
		double least = 0.93 - 3.0 * sqrt(0.93 * 0.07 / given);
		if (score.covered < least * given)
			fail_msg("%s: covered %d of %.0f", labels[i], score.covered, given);
	}
}

static void hauls_cover_with_the_gain_in_the_budget(void **state)
{
	struct kind kind = base("5 hauls, gain 0.3 %", 0.003);

	(void)state;
	kind.sim.pays = 0;
	must_cover(&kind, 31, 60);
}

static void exchanged_cells_cover_with_any_excess(void **state)
{
	struct kind kind = base("6 cycles, exchanged", 0.01);

	(void)state;
	kind.sim.cycles = kind.sim.pays = 6;
	kind.sim.swap = true;
	kind.sim.excess_ratio = 0.3;
	kind.told.gain_unknown = true;
	must_cover(&kind, 41, 60);
}

static void surging_loads_are_refused(void **state)
{
	struct kind kind = base("strong surge", 0.003);

	(void)state;
	kind.sim.surge_ratio = 0.12;
	kind.sim.surge_hz = 1.0;
	kind.sim.stiffness_n = 6e5;
	kind.sim.speed_mps = 0.06;
	struct score score = play_all(&kind, 51, sessions(20));
	assert_int_equal(score.refused, score.all);
	kind.label = "surge 8 %";
	kind.sim.surge_ratio = 0.08;
	kind.sim.surge_hz = 0.8;
	kind.sim.stiffness_n = 8e5;
	kind.sim.speed_mps = 0.08;
	score = play_all(&kind, 52, sessions(20));
	assert_int_equal(score.refused, score.all);
}

/* Guards the test itself: pulls scatter, and who does not see that covers next to never. */
static void seconds_taken_for_answers_cover_next_to_never(void **state)
{
	struct kind kind = base("seconds as answers", 0.003);

	(void)state;
	struct score score = play_all(&kind, 61, sessions(40));
	assert_true(score.naive_covered < 0.25 * score.all);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(cycles_cover_the_mean_of_both_directions),
	    cmocka_unit_test(cycles_cover_hauling_whatever_excess_within_the_bound),
	    cmocka_unit_test(hauls_cover_with_the_gain_in_the_budget),
	    cmocka_unit_test(exchanged_cells_cover_with_any_excess),
	    cmocka_unit_test(surging_loads_are_refused),
	    cmocka_unit_test(seconds_taken_for_answers_cover_next_to_never),
	};

	return cmocka_run_group_tests_name("estimate", tests, NULL, NULL);
}
