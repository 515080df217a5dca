/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The line of these tests is played by a speed profile and an encoder that rounds down to its step;
 * readings come at 100 Hz.
 */
#include "tests/rvtest.h"

#include "core/motion.h"

#define HZ 100
#define T(k) ((int64_t)((k) + HZ) * (1000000000 / HZ))

struct stretch {
	double seconds, mps; /* reached within 0.5 s, evenly */
};

/* Speed at time t of a profile. */
static double speed_at(const struct stretch *profile, int count, double t)
{
	double was = 0.0;

	for (int i = 0; i < count; i++) {
		if (t < profile[i].seconds) {
			double share = t / 0.5;

			return share >= 1.0 ? profile[i].mps : was + share * (profile[i].mps - was);
		}
		t -= profile[i].seconds;
		was = profile[i].mps;
	}
	return 0.0;
}

static struct rv_motion_track track_of(double step_m)
{
	struct rv_motion_track track;
	struct rv_motion_setup setup = {
	    .step_m = step_m, .metres_per_unit = 1.0, .knows_metres = true};

	rv_motion_init(&track, &setup);
	return track;
}

/* What a listener keeps of a motion: from the start guard to W + 0.3 s before its end. */
struct kept {
	double from_s, to_s;
	enum rv_motion motion;
};

/* Plays ten moves of a profile and counts what was kept of moving time, outside of it, and moves
 * that were missed. */
struct tally {
	double moving_s, kept_s;
	int violations, moves, missed;
	bool too_coarse;
};

static bool is_moving(double speed, enum rv_motion way)
{
	return way == RV_MOTION_IN ? speed < 0.0 : speed > 0.0;
}

static void count_kept(struct tally *tally, const struct kept *kept, const struct stretch *profile,
		       int count)
{
	if (kept->to_s - kept->from_s < 2.0)
		return;
	tally->kept_s += kept->to_s - kept->from_s;
	tally->moves++;
	for (double t = kept->from_s; t < kept->to_s; t += 0.01)
		if (!is_moving(speed_at(profile, count, t), kept->motion)) {
			tally->violations++;
			return;
		}
}

static struct tally play(double step_m, double mps)
{
	struct stretch profile[40];
	struct rv_motion_track track = track_of(step_m);
	struct tally tally = {.moving_s = 0.0};
	struct kept kept = {.motion = RV_MOTION_UNKNOWN};
	double payout_m = 20.0 + step_m * 0.37;
	bool open = false, guarded = false;

	for (int i = 0; i < 10; i++) {
		profile[4 * i] = (struct stretch){7.0, 0.0};
		profile[4 * i + 1] = (struct stretch){20.0, -mps};
		profile[4 * i + 2] = (struct stretch){5.0, 0.0};
		profile[4 * i + 3] = (struct stretch){15.0, mps};
	}
	for (int k = 0; k < (10 * 47 + 5) * HZ; k++) {
		double t = (double)k / HZ;
		double v = speed_at(profile, 40, t);

		payout_m += v / HZ;
		tally.moving_s += fabs(v) > 0.0 ? 1.0 / HZ : 0.0;
		bool changed = rv_motion_see(&track, step_m * floor(payout_m / step_m), T(k));
		const struct rv_motion_now *now = &track.now;
		tally.too_coarse |= t > 60.0 && now->too_coarse; /* its speed is known by then */
		if (changed && open) {
			kept.to_s = t - now->window_s - 0.3;
			if (guarded)
				count_kept(&tally, &kept, profile, 40);
			open = false;
		}
		if (now->motion != RV_MOTION_IN && now->motion != RV_MOTION_OUT)
			continue;
		if (!open) {
			open = true;
			guarded = false;
			kept.motion = now->motion;
		}
		if (!guarded && (double)(T(k) - now->since_ns) >= 1e9 && now->travelled_m >= 0.32) {
			guarded = true;
			kept.from_s = t;
		}
	}
	return tally;
}

/* Nothing may be kept that is not moving; how much of the moving time is kept is common sense:
 * guards of 1 s or 0.3 m and W + 0.3 s off a stretch of 15 or 20 s.  A step of 20 mm at 0.03 m/s
 * and 50 mm at up to 0.1 m/s are too coarse. */
static void what_is_called_moving_was_moving(void **state)
{
	static const struct {
		const char *label;
		double step_m, mps, least_share;
		bool too_coarse;
	} cases[] = {
	    {"1 mm, 0.03 m/s", 0.001, 0.03, 0.30, false},
	    {"1 mm, 0.10 m/s", 0.001, 0.10, 0.70, false},
	    {"1 mm, 0.30 m/s", 0.001, 0.30, 0.80, false},
	    {"5 mm, 0.03 m/s", 0.005, 0.03, 0.25, false},
	    {"5 mm, 0.10 m/s", 0.005, 0.10, 0.70, false},
	    {"5 mm, 0.30 m/s", 0.005, 0.30, 0.80, false},
	    {"20 mm, 0.03 m/s", 0.020, 0.03, 0.0, true},
	    {"20 mm, 0.10 m/s", 0.020, 0.10, 0.55, false},
	    {"20 mm, 0.30 m/s", 0.020, 0.30, 0.80, false},
	    {"50 mm, 0.03 m/s", 0.050, 0.03, 0.0, true},
	    {"50 mm, 0.10 m/s", 0.050, 0.10, 0.0, true},
	    {"50 mm, 0.30 m/s", 0.050, 0.30, 0.75, false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct tally tally = play(cases[i].step_m, cases[i].mps);
		double share = tally.kept_s / tally.moving_s;

		print_message("%s: kept %.0f %% of moving time, %d stretches, %d violations\n",
			      cases[i].label, 100.0 * share, tally.moves, tally.violations);
		if (tally.violations != 0 || share < cases[i].least_share ||
		    tally.too_coarse != cases[i].too_coarse)
			fail_msg("%s: too coarse %d", cases[i].label, tally.too_coarse);
		if (!cases[i].too_coarse)
			assert_in_range(tally.moves, cases[i].mps < 0.05 ? 15 : 20, 20);
	}
}

/* Runs a profile and says what the motion is at its end. */
static struct rv_motion_now end_of(struct rv_motion_track *track, const struct stretch *profile,
				   int count, double step_m)
{
	double payout_m = 5.0 + 0.3 * step_m, total_s = 0.0;

	for (int i = 0; i < count; i++)
		total_s += profile[i].seconds;
	for (int k = 0; k < total_s * HZ; k++) {
		payout_m += speed_at(profile, count, (double)k / HZ) / HZ;
		rv_motion_see(track, step_m * floor(payout_m / step_m), T(k));
	}
	return track->now;
}

static void motions_have_their_names(void **state)
{
	static const struct {
		const char *label;
		double step_m;
		struct stretch profile[4];
		int count;
		enum rv_motion motion;
		double speed_mps;
	} cases[] = {
	    {"standing", 0.001, {{3, 0}}, 1, RV_MOTION_HOLD, 0.0},
	    {"hauling in", 0.001, {{3, 0}, {5, -0.15}}, 2, RV_MOTION_IN, -0.15},
	    {"paying out", 0.001, {{3, 0}, {5, 0.15}}, 2, RV_MOTION_OUT, 0.15},
	    {"hold again 0.7 s after", 0.001, {{3, 0}, {9, -0.15}, {1.2, 0}}, 3, RV_MOTION_HOLD, 0},
	    {"a brake that creeps 2 mm/s",
	     0.001,
	     {{3, 0}, {9, -0.15}, {9, 0.002}},
	     3,
	     RV_MOTION_HOLD,
	     0.002},
	    {"slow against its usual speed",
	     0.001,
	     {{3, 0}, {15, -0.3}, {3, -0.05}},
	     3,
	     RV_MOTION_UNSTEADY,
	     -0.05},
	    {"the slow speed becomes usual",
	     0.001,
	     {{3, 0}, {15, -0.3}, {12, -0.05}},
	     3,
	     RV_MOTION_IN,
	     -0.05},
	    {"slow, coarse: no hold between steps",
	     0.020,
	     {{3, 0}, {15, -0.3}, {9, 0.03}},
	     3,
	     RV_MOTION_UNSTEADY,
	     NAN},
	    {"coarse, standing", 0.050, {{3, 0}, {20, -0.05}, {4, 0}}, 3, RV_MOTION_HOLD, 0.0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_motion_track track = track_of(cases[i].step_m);
		struct rv_motion_now now =
		    end_of(&track, cases[i].profile, cases[i].count, cases[i].step_m);

		if (now.motion != cases[i].motion)
			fail_msg("%s: motion %d", cases[i].label, now.motion);
		if (!isnan(cases[i].speed_mps))
			assert_near(cases[i].label, now.speed_mps, cases[i].speed_mps,
				    1.01 * cases[i].step_m / now.window_s);
	}
}

static void an_encoder_step_not_told_is_learned(void **state)
{
	static const struct stretch profile[] = {{3, 0}, {9, -0.15}};
	struct rv_motion_track track = track_of(NAN);
	struct rv_motion_now now = end_of(&track, profile, 2, 0.01);

	(void)state;
	assert_near("step", now.step_m, 0.01, 1e-9);
	assert_int_equal(now.motion, RV_MOTION_IN);
	assert_near("payout", now.payout_m, 5.0 - 0.15 * 8.75, 0.02);
	assert_near("travelled", now.travelled_m, 0.15 * 8.75, 0.1);
}

static void turns_tell_of_motion_but_not_of_line_out(void **state)
{
	/* 0.25 m drum: 0.785 m for a turn (circumference of a circle); 0.2 turns a second. */
	struct rv_winch winch = {.drum_diameter_m = 0.25};
	struct rv_motion_setup setup = {.knows_metres = true, .is_turns = true};
	struct rv_motion_track track;

	(void)state;
	assert_true(rv_motion_metres_per_turn(&winch, &setup.metres_per_unit));
	assert_near("turn", setup.metres_per_unit, 0.785398, 1e-6);
	setup.step_m = setup.metres_per_unit / 200.0;
	rv_motion_init(&track, &setup);
	for (int k = 0; k < 5 * HZ; k++)
		rv_motion_see(&track, floor(200 * 0.2 * k / HZ) / 200, T(k));
	assert_int_equal(track.now.motion, RV_MOTION_OUT);
	assert_near("speed", track.now.speed_mps, 0.157, 0.012);
	assert_near("payout", track.now.payout_m, NAN, 0.0);

	winch.drum_diameter_m = NAN;
	assert_false(rv_motion_metres_per_turn(&winch, &setup.metres_per_unit));
	setup.knows_metres = false; /* thresholds only */
	rv_motion_init(&track, &setup);
	for (int k = 0; k < 5 * HZ; k++)
		rv_motion_see(&track, -floor(200 * 0.2 * k / HZ) / 200, T(k));
	assert_int_equal(track.now.motion, RV_MOTION_IN);
	assert_near("speed", track.now.speed_mps, NAN, 0.0);
	assert_near("travelled", track.now.travelled_m, NAN, 0.0);
}

static void without_readings_the_motion_is_unknown(void **state)
{
	static const struct stretch profile[] = {{3, 0}};
	struct rv_motion_track track = track_of(0.001);

	(void)state;
	end_of(&track, profile, 1, 0.001);
	int64_t last_ns = track.now.mono_ns;
	assert_false(rv_motion_tick(&track, last_ns + INT64_C(1000000000)));
	assert_true(rv_motion_tick(&track, last_ns + INT64_C(1000000001)));
	assert_int_equal(track.now.motion, RV_MOTION_UNKNOWN);
	assert_near("payout", track.now.payout_m, NAN, 0.0);
	/* Back after a gap, somewhere else: no speed is made of that. */
	rv_motion_see(&track, 9.0, last_ns + INT64_C(5000000000));
	assert_int_equal(track.now.motion, RV_MOTION_UNKNOWN);
	assert_near("speed", track.now.speed_mps, NAN, 0.0);
	/* Backward in time: dropped. */
	assert_false(rv_motion_see(&track, 1.0, last_ns));
	assert_near("payout", track.now.payout_m, 9.0, 0.0);
	rv_motion_restart(&track);
	assert_near("restarted", track.now.payout_m, NAN, 0.0);
}

static void contactors_tell_of_motion(void **state)
{
	static const struct {
		const char *label;
		struct rv_motion_switch contacts;
		enum rv_motion motion;
	} cases[] = {
	    {"both open", {true, true, false, false, true, true}, RV_MOTION_HOLD},
	    {"in", {true, true, true, false, true, true}, RV_MOTION_IN},
	    {"out", {true, true, false, true, true, true}, RV_MOTION_OUT},
	    {"both closed", {true, true, true, true, true, true}, RV_MOTION_UNSTEADY},
	    {"only one wired, open", {true, false, false, false, true, false}, RV_MOTION_UNKNOWN},
	    {"only one wired, closed", {true, false, true, false, true, false}, RV_MOTION_IN},
	    {"one not answering", {true, true, false, false, true, false}, RV_MOTION_UNKNOWN},
	    {"stale closed contact", {true, true, true, false, false, true}, RV_MOTION_UNKNOWN},
	};
	struct rv_motion_now now = {.window_s = 5.0};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
		if (rv_motion_by_switch(&cases[i].contacts) != cases[i].motion)
			fail_msg("%s", cases[i].label);
	assert_true(rv_motion_see_switch(&now, RV_MOTION_IN, 7));
	assert_false(rv_motion_see_switch(&now, RV_MOTION_IN, 9));
	assert_int_equal(now.since_ns, 7);
	assert_int_equal(now.mono_ns, 9);
	assert_near("window", now.window_s, 0.0, 0.0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(what_is_called_moving_was_moving),
	    cmocka_unit_test(motions_have_their_names),
	    cmocka_unit_test(an_encoder_step_not_told_is_learned),
	    cmocka_unit_test(turns_tell_of_motion_but_not_of_line_out),
	    cmocka_unit_test(without_readings_the_motion_is_unknown),
	    cmocka_unit_test(contactors_tell_of_motion),
	};

	return cmocka_run_group_tests_name("motion", tests, NULL, NULL);
}
