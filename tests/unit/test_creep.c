/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Line played at 50 Hz through the room of motion; force played at 20 Hz.
 */
#include "tests/rvtest.h"

#include "core/creep.h"

#define NS(t) ((int64_t)((t)*1e9) + INT64_C(10000000000))

static uint64_t seed;

static double uniform(void)
{
	seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
	return (double)(seed >> 11) / 9007199254740992.0;
}

struct line_play {
	const char *label;
	double step_m;
	double haul_mps;	  /* from 3 s to 15 s */
	double after_mps;	  /* from 15 s on; towards the end 0 again */
	double until_s;		  /* of after_mps */
	double back_m;		  /* the brake's set-back at 15 s */
	enum rv_motion commanded; /* after 15 s */
	double latest_s;	  /* alarm by then; 0 = never */
	double ends_by_s;	  /* not creeping any more by then; 0 = not asked */
};

static void a_line_that_gives_way_while_holding_creeps(void **state)
{
	static const struct line_play cases[] = {
	    {"stands", 0.001, -0.15, 0, 15, 0, 0, 0, 0},
	    {"a brake creeps 2 mm/s", 0.001, -0.15, 0.002, 60, 0, 0, 25, 0},
	    {"and stops", 0.001, -0.15, 0.002, 30, 0, 0, 25, 39},
	    {"the same with 5 mm steps", 0.005, -0.15, 0.002, 60, 0, 0, 30, 0},
	    {"20 mm steps", 0.020, -0.15, 0.002, 90, 0, 0, 60, 0},
	    {"0.5 mm steps, 1 mm/s", 0.0005, -0.15, 0.001, 60, 0, 0, 31, 0},
	    {"20 mm/s", 0.001, -0.15, 0.020, 60, 0, 0, 20, 0},
	    {"40 mm/s", 0.001, -0.15, 0.040, 60, 0, 0, 20, 0},
	    {"the brake sets back 40 mm and holds", 0.001, -0.15, 0, 15, 0.04, 0, 0, 0},
	    {"paid out at once, properly", 0.001, -0.15, 0.15, 25, 0, 0, 0, 0},
	    {"inched in slowly", 0.001, -0.15, -0.005, 60, 0, 0, 0, 0},
	    {"paid out, then stands", 0.001, 0.15, 0, 15, 0, 0, 0, 0},
	    {"paid out slowly after paying out", 0.001, 0.15, 0.03, 25, 0, 0, 0, 0},
	    {"runs out fast, contactors open", 0.001, -0.15, 0.15, 60, 0, RV_MOTION_HOLD, 20, 0},
	    {"feathered out, contactor closed", 0.001, -0.15, 0.02, 60, 0, RV_MOTION_OUT, 0, 0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		const struct line_play *play = &cases[i];
		struct rv_motion_track track;
		struct rv_motion_setup setup = {
		    .step_m = play->step_m, .metres_per_unit = 1.0, .knows_metres = true};
		struct rv_creep_line creep;
		double payout_m = 10.0, first_s = 0.0, last_s = 0.0;

		rv_motion_init(&track, &setup);
		rv_creep_line_init(&creep);
		for (int k = 0; k < 90 * 50; k++) {
			double t = k / 50.0;
			double v = t < 3.0	       ? 0.0
				   : t < 15.0	       ? play->haul_mps
				   : t < play->until_s ? play->after_mps
						       : 0.0;
			enum rv_motion commanded = RV_MOTION_UNKNOWN;

			if (play->commanded != RV_MOTION_UNKNOWN)
				commanded = t < 3.0    ? RV_MOTION_HOLD
					    : t < 15.0 ? RV_MOTION_IN
						       : play->commanded;
			payout_m += v / 50.0 + (k == 15 * 50 + 5 ? play->back_m : 0.0);
			rv_motion_see(&track, play->step_m * floor(payout_m / play->step_m), NS(t));
			if (rv_creep_line_see(&creep, &track.now, commanded, NS(t))) {
				first_s = first_s > 0.0 ? first_s : t;
				last_s = t;
			}
		}
		if ((first_s > 0.0) != (play->latest_s > 0.0) || first_s > play->latest_s ||
		    (first_s > 0.0 && first_s < 15.0) ||
		    (play->ends_by_s > 0.0 && last_s > play->ends_by_s))
			fail_msg("%s: from %.2f to %.2f s", play->label, first_s, last_s);
	}
}

static void a_line_nobody_measures_ends_no_creep(void **state)
{
	struct rv_creep_line creep;
	struct rv_motion_now now = {.motion = RV_MOTION_HOLD, .payout_m = 5.0, .step_m = 0.001};
	double t = 0.0;

	(void)state;
	rv_creep_line_init(&creep);
	for (; t < 10.0; t += 0.1) {
		now.payout_m = 5.0 + 0.005 * t;
		rv_creep_line_see(&creep, &now, RV_MOTION_UNKNOWN, NS(t));
	}
	assert_true(creep.creeps);
	now.payout_m = NAN;
	now.motion = RV_MOTION_UNKNOWN;
	assert_true(rv_creep_line_see(&creep, &now, RV_MOTION_UNKNOWN, NS(t + 60.0)));
	now.payout_m = 4.0;
	now.motion = RV_MOTION_IN;
	assert_false(rv_creep_line_see(&creep, &now, RV_MOTION_UNKNOWN, NS(t + 61.0)));
	now.payout_m = NAN;
	now.motion = RV_MOTION_HOLD;
	assert_false(rv_creep_line_see(&creep, &now, RV_MOTION_UNKNOWN, NS(t + 62.0)));
	/* A contactor closed for paying out ends it as well. */
	for (; t < 20.0; t += 0.1) {
		now.payout_m = 5.0 + 0.005 * t;
		rv_creep_line_see(&creep, &now, RV_MOTION_HOLD, NS(t + 70.0));
	}
	assert_true(creep.creeps);
	assert_false(rv_creep_line_see(&creep, &now, RV_MOTION_OUT, NS(t + 70.0)));
}

/* Force t seconds after the stop. */
enum relax { LOG5, LOG9, SETTLE, LINEAR, LATE, RISE, SWING, DRIFT };

static double held_force(enum relax kind, double t)
{
	switch (kind) {
	case LOG5: /* 5 % in each decade of time: a soft synthetic line */
		return 10e3 * (1.0 - 0.05 * log10(1.0 + t / 0.1));
	case LOG9:
		return 10e3 * (1.0 - 0.09 * log10(1.0 + t / 0.5));
	case SETTLE: /* straps and ground: 20 % with a time constant of 1 s */
		return 10e3 * (0.8 + 0.2 * exp(-t / 1.0));
	case LINEAR: /* 2 mm/s on a rope of 33 kN/m */
		return 10e3 - 66.0 * t;
	case LATE: /* the same, after a minute of rest and on a soft rope */
		return 10e3 * (1.0 - 0.03 * log10(1.0 + t)) - (t > 60.0 ? 66.0 * (t - 60.0) : 0.0);
	case RISE:
		return 10e3 + 60.0 * t;
	case SWING:
		return 10e3 * (1.0 + 0.15 * sin(2.0 * M_PI * t / 7.0));
	case DRIFT: /* a cell that warms */
		break;
	}
	return 10e3 + 1.0 * t;
}

static void a_force_that_moves_while_holding_creeps(void **state)
{
	static const struct {
		const char *label;
		enum relax kind;
		double latest_s;
	} cases[] = {
	    {"rope relaxes, 5 % a decade", LOG5, 0},
	    {"rope relaxes, 9 % a decade", LOG9, 0},
	    {"straps settle", SETTLE, 0},
	    {"brake creeps", LINEAR, 30},
	    {"brake creeps after a minute", LATE, 85},
	    {"load pulls", RISE, 24},
	    {"load swings", SWING, 0},
	    {"cell warms", DRIFT, 0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_creep_force creep;
		double first_s = 0.0;

		seed = 77 + i;
		rv_creep_force_init(&creep, 400.0); /* a cell of 20 kN */
		for (int k = 0; k < 120 * 20; k++) {
			double t = k / 20.0;
			double noise_n = 30.0 * (uniform() + uniform() - 1.0);

			rv_creep_force_motion(&creep, true, NS(t));
			if (rv_creep_force_see(&creep, held_force(cases[i].kind, t) + noise_n,
					       NS(t)) &&
			    first_s <= 0.0)
				first_s = t;
		}
		print_message("%s: %.1f s\n", cases[i].label, first_s);
		if ((first_s > 0.0) != (cases[i].latest_s > 0.0) || first_s > cases[i].latest_s)
			fail_msg("%s: at %.2f s", cases[i].label, first_s);
	}
}

static void a_force_creeps_only_while_the_line_holds(void **state)
{
	struct rv_creep_force creep;
	double t = 0.0;

	(void)state;
	rv_creep_force_init(&creep, 400.0);
	assert_false(rv_creep_force_see(&creep, 1e3, NS(0.0)));
	for (; t < 40.0; t += 0.1) {
		rv_creep_force_motion(&creep, true, NS(t));
		rv_creep_force_see(&creep, 10e3 - 100.0 * t, NS(t));
	}
	assert_true(creep.creeps);
	assert_true(creep.moved_n < 0.0);
	rv_creep_force_motion(&creep, false, NS(t));
	assert_false(rv_creep_force_see(&creep, 5e3, NS(t)));
	/* Seconds without readings end it, and so does a long silence. */
	for (; t < 80.0; t += 0.1) {
		rv_creep_force_motion(&creep, true, NS(t));
		rv_creep_force_see(&creep, 10e3 - 100.0 * (t - 40.0), NS(t));
	}
	assert_true(creep.creeps);
	assert_false(rv_creep_force_see(&creep, 1e3, NS(t + 3.0)));
	assert_false(rv_creep_force_see(&creep, 9e3, NS(t + 300.0)));
	assert_int_equal(creep.count, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_line_that_gives_way_while_holding_creeps),
	    cmocka_unit_test(a_line_nobody_measures_ends_no_creep),
	    cmocka_unit_test(a_force_that_moves_while_holding_creeps),
	    cmocka_unit_test(a_force_creeps_only_while_the_line_holds),
	};

	return cmocka_run_group_tests_name("creep", tests, NULL, NULL);
}
