/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include "core/loss.h"

#define NS(t) ((int64_t)((t)*1e9) + INT64_C(10000000000))

/* A course of force and payout: 10 kN until 2 s, then what the shape says. */
enum shape { RAMP, DECAY };

struct course {
	enum shape shape;
	double from_n, to_n, over_s; /* length of the ramp, or time constant of the decay */
	double pays_mps;	     /* from 2 s on */
	double stiffness_npm;
	bool switch_says_out;
	double every_s;
};

static double force_at(const struct course *course, double t)
{
	double since = t - 2.0;
	double fall_n = course->from_n - course->to_n;

	if (since < 0.0)
		return course->from_n;
	if (course->shape == DECAY)
		return course->to_n + fall_n * exp(-since / course->over_s);
	return since < course->over_s ? course->from_n - fall_n * since / course->over_s
				      : course->to_n;
}

static struct rv_channel cell_of(double capacity)
{
	return (struct rv_channel){.capacity = capacity, .calibration = {.zero = {.value = NAN}}};
}

/* First time something was seen, and what; 0 = never. */
static double first_seen(const struct course *course, double capacity, enum rv_loss_seen *what)
{
	struct rv_channel cell = cell_of(capacity);
	struct rv_loss loss;

	rv_loss_init(&loss, &cell);
	*what = RV_LOSS_NOTHING;
	for (int k = 0; k * course->every_s < 10.0; k++) {
		double t = k * course->every_s;
		double paid_m = t > 2.0 ? course->pays_mps * (t - 2.0) : 0.0;
		struct rv_loss_line line = {
		    .payout_m = isnan(course->pays_mps) ? (double)NAN : 12.0 + paid_m,
		    .stiffness_npm = course->stiffness_npm,
		    .step_m = 0.001,
		    .paying_out = course->switch_says_out && t > 2.0,
		};

		*what = rv_loss_see(&loss, force_at(course, t), NS(t), &line);
		if (*what != RV_LOSS_NOTHING)
			return t;
	}
	return 0.0;
}

/* Polled each 0.4 s; the answer that would have told of it did not come. */
static void a_line_that_parts_while_a_reading_is_missing_is_lost(void **state)
{
	struct rv_channel cell = cell_of(50e3);
	struct rv_loss_line line = {.payout_m = NAN, .stiffness_npm = NAN, .step_m = NAN};
	struct rv_loss loss;

	(void)state;
	rv_loss_init(&loss, &cell);
	for (int k = 0; k < 5; k++)
		assert_int_equal(rv_loss_see(&loss, 10e3, NS(0.4 * k), &line), RV_LOSS_NOTHING);
	assert_int_not_equal(rv_loss_see(&loss, 0.0, NS(0.4 * 6), &line), RV_LOSS_NOTHING);
	assert_near("from where it fell", loss.before_n, 10e3, 1e-9);
}

static void only_a_force_that_vanishes_is_lost(void **state)
{
	static const struct {
		const char *label;
		double capacity;
		struct course course;
		double latest_s; /* 0 = must not be seen */
	} cases[] = {
	    {"a line parts", 50e3, {RAMP, 10e3, 50, 0.03, 0, NAN, false, 0.01}, 2.05},
	    {"a line parts, 16 kHz",
	     50e3,
	     {RAMP, 10e3, 50, 0.03, 0, NAN, false, 1.0 / 16000},
	     2.05},
	    {"a line parts, 3 Hz", 50e3, {RAMP, 10e3, 50, 0.03, 0, NAN, false, 1.0 / 3}, 2.4},
	    {"a line parts, slow filter", 50e3, {DECAY, 10e3, 50, 0.3, 0, NAN, false, 0.02}, 2.3},
	    {"a line parts, no encoder", 50e3, {RAMP, 10e3, 50, 0.03, NAN, NAN, false, 0.01}, 2.05},
	    {"it parts while paid out", 50e3, {RAMP, 10e3, 50, 0.03, 0.15, NAN, false, 0.01}, 2.05},
	    {"the same, stiffness known",
	     50e3,
	     {RAMP, 10e3, 50, 0.03, 0.15, 40e3, false, 0.01},
	     2.05},
	    {"half is not more than half", 50e3, {RAMP, 10e3, 5e3, 0.03, 0, NAN, false, 0.01}, 0},
	    {"a little more than half",
	     50e3,
	     {RAMP, 10e3, 4.99e3, 0.03, 0, NAN, false, 0.01},
	     2.05},
	    {"half within 0.4 s", 50e3, {RAMP, 10e3, 4e3, 0.4, 0, NAN, false, 0.01}, 2.5},
	    {"slow unload", 50e3, {RAMP, 10e3, 0, 5.0, 0, NAN, false, 0.01}, 0},
	    {"slow unload, 10 Hz", 50e3, {RAMP, 10e3, 0, 5.0, NAN, NAN, false, 0.1}, 0},
	    {"unload in 2 s", 50e3, {RAMP, 10e3, 0, 2.0, 0, NAN, false, 0.01}, 0},
	    {"slack-off, rope", 50e3, {RAMP, 10e3, 0, 2.0, 0.15, 33e3, false, 0.01}, 0},
	    {"slack-off, wire, stiffness known",
	     50e3,
	     {RAMP, 10e3, 0, 0.667, 0.15, 100e3, false, 0.01},
	     0},
	    {"slack-off, wire, stiffness not known",
	     50e3,
	     {RAMP, 10e3, 0, 0.667, 0.15, NAN, false, 0.01},
	     0},
	    {"slack-off, contactor says so", 50e3, {RAMP, 10e3, 0, 0.667, NAN, NAN, true, 0.01}, 0},
	    {"small forces", 50e3, {RAMP, 990, 0, 0.03, 0, NAN, false, 0.01}, 0},
	    {"small, but above the floor", 50e3, {RAMP, 1010, 0, 0.03, 0, NAN, false, 0.01}, 2.05},
	    {"nothing known of the cell", NAN, {RAMP, 199, 0, 0.03, 0, NAN, false, 0.01}, 0},
	    {"rising", 50e3, {RAMP, 5e3, 40e3, 0.03, 0, NAN, false, 0.01}, 0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		enum rv_loss_seen what;
		double seen_s = first_seen(&cases[i].course, cases[i].capacity, &what);
		bool want = cases[i].latest_s > 0.0;

		if ((seen_s > 0.0) != want ||
		    (want && (seen_s < 2.0 || seen_s > cases[i].latest_s)))
			fail_msg("%s: seen at %.3f s", cases[i].label, seen_s);
	}
}

static void a_step_to_about_zero_is_told_from_a_fall(void **state)
{
	static const struct {
		const char *label;
		double to_n;
		enum rv_loss_seen what;
	} cases[] = {
	    {"to zero", 0.0, RV_LOSS_STEPPED},
	    {"to a little below", -300.0, RV_LOSS_STEPPED},
	    {"to half a floor", 500.0, RV_LOSS_FALLEN},
	    {"to a fifth", 2000.0, RV_LOSS_FALLEN},
	};
	struct rv_channel cell = cell_of(50e3);
	struct rv_loss_line line = {.payout_m = NAN, .stiffness_npm = NAN, .step_m = NAN};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_loss loss;

		rv_loss_init(&loss, &cell);
		rv_loss_see(&loss, 10e3, NS(0.0), &line);
		if (rv_loss_see(&loss, cases[i].to_n, NS(0.1), &line) != cases[i].what)
			fail_msg("%s", cases[i].label);
		assert_near(cases[i].label, loss.before_n, 10e3, 0.0);
		/* Told once. */
		assert_int_equal(rv_loss_see(&loss, cases[i].to_n, NS(0.2), &line),
				 RV_LOSS_NOTHING);
	}
}

static void nothing_is_compared_across_bad_readings(void **state)
{
	struct rv_channel cell = cell_of(50e3);
	struct rv_loss_line line = {.payout_m = NAN, .stiffness_npm = NAN, .step_m = NAN};
	struct rv_loss loss;

	(void)state;
	rv_loss_init(&loss, &cell);
	rv_loss_see(&loss, 10e3, NS(0.0), &line);
	assert_near("most", rv_loss_most_n(&loss, NS(0.1)), 10e3, 0.0);
	rv_loss_break(&loss);
	assert_near("most", rv_loss_most_n(&loss, NS(0.1)), NAN, 0.0);
	assert_int_equal(rv_loss_see(&loss, 0.0, NS(0.1), &line), RV_LOSS_NOTHING);
}

static void the_floor_follows_what_is_known(void **state)
{
	static const struct {
		const char *label;
		double capacity, zero, floor_n;
	} cases[] = {
	    {"capacity", 50e3, NAN, 1000.0},
	    {"zero", NAN, 30.0, 300.0},
	    {"the larger", 50e3, 150.0, 1500.0},
	    {"nothing", NAN, NAN, 200.0},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_channel cell = cell_of(cases[i].capacity);

		cell.calibration.zero.value = cases[i].zero;
		assert_near(cases[i].label, rv_loss_floor_n(&cell), cases[i].floor_n, 1e-9);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(a_line_that_parts_while_a_reading_is_missing_is_lost),
	    cmocka_unit_test(only_a_force_that_vanishes_is_lost),
	    cmocka_unit_test(a_step_to_about_zero_is_told_from_a_fall),
	    cmocka_unit_test(nothing_is_compared_across_bad_readings),
	    cmocka_unit_test(the_floor_follows_what_is_known),
	};

	return cmocka_run_group_tests_name("loss", tests, NULL, NULL);
}
