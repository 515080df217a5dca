/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The pull of these tests is played: a load with trend and surge, four sheaves of efficiency 0.96,
 * cells with noise, delay and spikes.  Nothing of the room's own arithmetic is used for it.
 */
#include "tests/rvtest.h"

#include <stdlib.h>

#include "core/pull.h"

#define HZ 100
#define NS(t) ((int64_t)((t)*1e9) + INT64_C(10000000000))
#define TRUE_LOG_RATIO (4.0 * -0.040821994520255166) /* ln 0.96 = -0.0408219945 */

/* Gaussian noise by the sum of twelve uniform numbers, from a fixed seed. */
static double noise(uint64_t *seed)
{
	double sum = -6.0;

	for (int i = 0; i < 12; i++) {
		*seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
		sum += (double)(*seed >> 11) / 9007199254740992.0;
	}
	return sum;
}

struct play {
	double move_s; /* of 0.15 m/s, from 5 s on; then 5 s of hold */
	double near_n; /* mean tension at the near cell */
	double noise_ratio;
	double delay_s[2], declared_s[2];
	double tare_n[2];
	double trend_ratio;		     /* of the mean, each second */
	double spike_ratio;		     /* far cell, 0.3 s in every 7 s */
	double missing_from_s, missing_to_s; /* far cell */
	bool silent;			     /* it says nothing at all meanwhile */
	double dead_ratio; /* log ratio in the first 0.8 s and after the line stopped */
	double far_every_s;
	bool by_switch;
	enum rv_motion way;
};

static const struct play plain = {
    .move_s = 20.0,
    .near_n = 10e3,
    .noise_ratio = 0.002,
    .dead_ratio = TRUE_LOG_RATIO,
    .far_every_s = 0.01,
    .way = RV_MOTION_IN,
};

static double near_at(const struct play *play, double t)
{
	return play->near_n *
	       (1.0 + 0.06 * sin(2.0 * M_PI * 0.4 * t) + play->trend_ratio * (t - 15.0));
}

static double far_at(const struct play *play, double t)
{
	bool turned = t > 5.8 && t < 5.0 + play->move_s;
	double ratio = turned ? 0.96 * 0.96 * 0.96 * 0.96 : exp(play->dead_ratio);

	return near_at(play, t) * ratio;
}

struct outcome {
	struct rv_pull_result ended, running;
	int pulls, runs;
	double naive; /* mean log ratio of raw pairs while moving, for comparison */
};

static void see_cells(struct rv_pull *pull, const struct play *play, double t, uint64_t *seed,
		      struct outcome *outcome, int *pairs)
{
	double near_n =
	    near_at(play, t - play->delay_s[0]) * (1.0 + play->noise_ratio * noise(seed));
	double far_n = far_at(play, t - play->delay_s[1]) * (1.0 + play->noise_ratio * noise(seed));

	if (fmod(t, 7.0) < 0.3)
		far_n *= 1.0 + play->spike_ratio;
	rv_pull_see(pull, RV_PULL_NEAR, near_n + play->tare_n[0], NS(t));
	bool missing = t >= play->missing_from_s && t < play->missing_to_s;
	if (fmod(t + 1e-9, play->far_every_s) < 1.0 / HZ && !(missing && play->silent))
		rv_pull_see(pull, RV_PULL_FAR, missing ? (double)NAN : far_n + play->tare_n[1],
			    NS(t));
	if (t > 6.5 && t < 4.0 + play->move_s) {
		outcome->naive += log(far_n / near_n);
		++*pairs;
	}
}

static struct outcome run(const struct play *play, uint64_t seed)
{
	static struct rv_pull pull;
	struct rv_motion_track track;
	struct rv_motion_now by_switch = {.motion = RV_MOTION_UNKNOWN};
	struct rv_motion_setup line = {
	    .step_m = 0.001, .metres_per_unit = 1.0, .knows_metres = true};
	struct rv_pull_setup setup = {.sheaves = 4.0};
	struct outcome outcome = {.pulls = 0};
	double payout_m = 20.0;
	int pairs = 0;

	for (int i = 0; i < 2; i++)
		setup.side[i] = (struct rv_pull_side){
		    .delay_s = play->declared_s[i], .tare_n = play->tare_n[i], .floor_n = 500.0};
	rv_pull_init(&pull, &setup);
	rv_motion_init(&track, &line);
	for (int k = 0; k < (10.0 + play->move_s) * HZ; k++) {
		double t = (double)k / HZ;
		bool moves = t >= 5.0 && t < 5.0 + play->move_s;

		see_cells(&pull, play, t, &seed, &outcome, &pairs);
		payout_m += moves ? (play->way == RV_MOTION_IN ? -0.15 : 0.15) / HZ : 0.0;
		rv_motion_see(&track, 0.001 * floor(payout_m / 0.001), NS(t));
		rv_motion_see_switch(&by_switch, moves ? play->way : RV_MOTION_HOLD, NS(t));
		if (k % 5 == 0)
			outcome.pulls +=
			    rv_pull_motion(&pull, play->by_switch ? &by_switch : &track.now, NS(t),
					   &outcome.ended);
		if (k % HZ == 50)
			outcome.runs += rv_pull_running(&pull, &outcome.running);
	}
	outcome.naive /= pairs;
	return outcome;
}

static void a_pull_gives_back_the_ratio_it_was_played_with(void **state)
{
	struct play cases[] = {plain, plain, plain, plain, plain, plain, plain, plain};
	static const char *const labels[] = {
	    "plain", "spikes", "delays",	"dead start and end",
	    "tares", "a gap",  "slow far cell", "switch"};

	(void)state;
	cases[1].spike_ratio = 0.30;
	cases[2].delay_s[1] = cases[2].declared_s[1] = 0.25;
	cases[2].delay_s[0] = cases[2].declared_s[0] = 0.05;
	cases[2].trend_ratio = 0.02;
	cases[3].dead_ratio = 0.0;
	cases[4].tare_n[0] = 120.0;
	cases[4].tare_n[1] = -300.0;
	cases[5].missing_from_s = 10.0;
	cases[5].missing_to_s = 12.5;
	cases[6].far_every_s = 0.1;
	cases[7].by_switch = true;
	cases[7].dead_ratio = 0.0;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct outcome outcome = run(&cases[i], 2024 + i);

		print_message("%s: off by %.4f %%, scatter %.4f %%, %d blocks\n", labels[i],
			      100.0 * (outcome.ended.log_ratio - TRUE_LOG_RATIO),
			      100.0 * outcome.ended.scatter_ratio, outcome.ended.blocks);
		if (outcome.pulls != 1 || outcome.ended.why != RV_PULL_KEPT ||
		    outcome.ended.direction != RV_MOTION_IN)
			fail_msg("%s: %d pulls, %s", labels[i], outcome.pulls,
				 rv_pull_why_name(outcome.ended.why));
		/* 0.2 % on each of 2 x 50 points of some 15 blocks: 0.01 %; six of that. */
		assert_near(labels[i], outcome.ended.log_ratio, TRUE_LOG_RATIO, 0.0006);
		assert_in_range(outcome.ended.blocks, 13, 19);
		assert_near(labels[i], outcome.ended.mean_tension_n, 10e3, 500.0);
	}
}

static void plain_averages_would_have_been_fooled(void **state)
{
	struct play spikes = plain, late = plain;

	(void)state;
	spikes.spike_ratio = 0.30;
	assert_true(fabs(run(&spikes, 7).naive - TRUE_LOG_RATIO) > 0.01);
	late.delay_s[1] = 0.25; /* not declared */
	late.trend_ratio = 0.02;
	assert_true(fabs(run(&late, 7).ended.log_ratio - TRUE_LOG_RATIO) > 0.003);
}

static void the_pull_under_way_ends_as_what_it_was(void **state)
{
	struct outcome outcome = run(&plain, 99);

	(void)state;
	assert_in_range(outcome.runs, 18, 21);
	assert_int_equal(outcome.running.why, RV_PULL_KEPT);
	assert_near("running", outcome.running.log_ratio, outcome.ended.log_ratio, 0.0003);
	assert_in_range(outcome.ended.blocks - outcome.running.blocks, 0, 1);
	assert_near("starts", (double)(outcome.ended.start_ns - NS(5.0)) * 1e-9, 0.2, 0.2);
	assert_near("ends", (double)(outcome.ended.end_ns - NS(25.0)) * 1e-9, 0.2, 0.2);
	assert_near("travelled", outcome.ended.travelled_m, 3.0, 0.05);
	assert_true(outcome.ended.scatter_ratio > 0.0 && outcome.ended.scatter_ratio < 0.001);
}

static void paying_out_is_a_pull_of_its_own_direction(void **state)
{
	struct play out = plain;

	(void)state;
	out.way = RV_MOTION_OUT;
	struct outcome outcome = run(&out, 5);
	assert_int_equal(outcome.pulls, 1);
	assert_int_equal(outcome.ended.direction, RV_MOTION_OUT);
}

static void a_pull_is_dropped_with_a_word(void **state)
{
	struct play brief = plain, slack = plain, missing = plain, touch = plain;

	(void)state;
	brief.move_s = 4.0; /* guards of 2 s and 0.7 s leave less than three blocks */
	slack.near_n = 450.0;
	missing.missing_from_s = 8.0;
	missing.missing_to_s = 24.0;
	touch.move_s = 0.6;
	struct outcome outcome = run(&brief, 1);
	assert_int_equal(outcome.pulls, 1);
	assert_string_equal(rv_pull_why_name(outcome.ended.why), "too short");
	outcome = run(&slack, 2);
	assert_string_equal(rv_pull_why_name(outcome.ended.why), "slack");
	assert_near("no number", outcome.ended.log_ratio, NAN, 0.0);
	assert_near("no tension", outcome.ended.mean_tension_n, NAN, 0.0);
	outcome = run(&missing, 3);
	assert_string_equal(rv_pull_why_name(outcome.ended.why), "readings missing");
	missing.silent = true;
	missing.missing_to_s = 40.0;
	outcome = run(&missing, 3);
	assert_string_equal(rv_pull_why_name(outcome.ended.why), "readings missing");
	outcome = run(&touch, 4);
	assert_int_equal(outcome.pulls, 0);
	assert_string_equal(rv_pull_why_name(RV_PULL_KEPT), "");
}

static void a_long_pull_joins_its_blocks(void **state)
{
	struct play haul = plain;

	(void)state;
	haul.move_s = 2000.0;
	struct outcome outcome = run(&haul, 11);
	assert_int_equal(outcome.pulls, 1);
	assert_in_range(outcome.ended.blocks, 980, 1010);
	assert_near("seconds", outcome.ended.counted_s, 1997.0, 3.0);
	assert_near("ratio", outcome.ended.log_ratio, TRUE_LOG_RATIO, 0.00005);
}

static void the_location_ignores_what_lies_far_off(void **state)
{
	/* Values worked out apart, with another language's own loop, to the last digit. */
	static const struct {
		const char *label;
		double values[7];
		int count;
		double location;
	} cases[] = {
	    {"none", {0}, 0, NAN},
	    {"one", {3.5}, 1, 3.5},
	    {"an even number, even", {1, 2, 3, 4}, 4, 2.5},
	    {"one far off", {1, 2, 3, 4, 100}, 5, 2.5},
	    {"most alike: the median", {5, 5, 5, 5, 900}, 5, 5.0},
	    {"two off", {0.1, 0.2, 0.25, 0.3, 0.9, -0.4, 0.22}, 7, 0.21509872595739227},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		double work[14];

		assert_near(cases[i].label, rv_pull_location(cases[i].values, cases[i].count, work),
			    cases[i].location, 1e-9);
	}
}

static void the_floor_of_slack_is_ten_zeroes_and_steps(void **state)
{
	struct rv_channel channel = {
	    .tare_n = 40.0,
	    .calibration = {.zero = {.value = 15.0},
			    .delay_s = 0.15,
			    .conversion = {.a = {0.0, -2.5}, .degree = 1}}};

	(void)state;
	assert_near("count", rv_pull_floor_n(&channel), 175.0, 1e-9);
	struct rv_pull_setup setup = rv_pull_setup_of(&channel, &channel, 3.0);
	assert_near("delay", setup.side[RV_PULL_FAR].delay_s, 0.15, 0.0);
	assert_near("tare", setup.side[RV_PULL_NEAR].tare_n, 40.0, 0.0);
	channel.wire_unit[0] = 'N';
	channel.calibration.zero.value = NAN;
	assert_near("nothing known", rv_pull_floor_n(&channel), 0.0, 0.0);
}

static void nothing_runs_before_the_line_moves(void **state)
{
	struct rv_pull *pull = malloc(sizeof *pull);
	struct rv_pull_setup setup = {.sheaves = 1.0};
	struct rv_pull_result running = {.blocks = 77};

	(void)state;
	assert_non_null(pull);
	rv_pull_init(pull, &setup);
	rv_pull_see(pull, RV_PULL_NEAR, 10.0, NS(1.0));
	assert_false(rv_pull_running(pull, &running));
	assert_int_equal(running.blocks, 77);
	free(pull);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_pull_gives_back_the_ratio_it_was_played_with),
	    cmocka_unit_test(plain_averages_would_have_been_fooled),
	    cmocka_unit_test(the_pull_under_way_ends_as_what_it_was),
	    cmocka_unit_test(paying_out_is_a_pull_of_its_own_direction),
	    cmocka_unit_test(a_pull_is_dropped_with_a_word),
	    cmocka_unit_test(a_long_pull_joins_its_blocks),
	    cmocka_unit_test(the_location_ignores_what_lies_far_off),
	    cmocka_unit_test(the_floor_of_slack_is_ten_zeroes_and_steps),
	    cmocka_unit_test(nothing_runs_before_the_line_moves),
	};

	return cmocka_run_group_tests_name("pull", tests, NULL, NULL);
}
