/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/agreement.h"

struct tackle {
	int parts;
	bool off_moving;
};

static double at_load(const void *rig, double x, enum rv_motion motion)
{
	const struct tackle *tackle = rig;
	double sum = 0.0;

	(void)motion;
	for (int k = 0; k < tackle->parts; k++)
		sum += exp(x * (k + !tackle->off_moving));
	return log(sum);
}

static double at_dead_end(const void *rig, double x, enum rv_motion motion)
{
	const struct tackle *tackle = rig;

	(void)motion;
	return x * (tackle->parts - tackle->off_moving);
}

static struct rv_agreement_declared declare(const struct tackle *tackle, enum rv_agreement_far far)
{
	struct rv_agreement_range range = rv_agreement_range(0.90, 0.97);

	return (struct rv_agreement_declared){
	    .curve = {far == RV_AGREEMENT_LOAD ? at_load : at_dead_end, tackle},
	    .far = far,
	    .travel_ratio = tackle->parts,
	    .low_ratio = range.low_ratio,
	    .high_ratio = range.high_ratio};
}

static void says(const struct rv_estimate *estimate, const char *label, const char *verdict,
		 const char *want)
{
	static const char *const names[] = {"", "confirmed", "not resolved", "contradicted"};
	char list[80] = "";

	for (int i = 0; i < estimate->agreement.parts; i++)
		snprintf(list + strlen(list), sizeof list - strlen(list), "%s%d", i ? " " : "",
			 estimate->agreement.parts_of_line[i]);
	if (strcmp(names[estimate->agreement.verdict], verdict) != 0 || strcmp(list, want) != 0)
		fail_msg("%s: %s, fits %s", label, names[estimate->agreement.verdict], list);
}

static void tension_and_travel_tell_the_parts(void **state)
{
	static const struct {
		const char *label;
		struct tackle real, declared;
		double efficiency, u_travel;
		enum rv_agreement_far far;
		bool with_tension;
		const char *verdict, *fits, *warning;
	} cases[] = {
	    {"4 as 4, travel",
	     {4, false},
	     {4, false},
	     0.95,
	     0.03,
	     RV_AGREEMENT_LOAD,
	     true,
	     "confirmed",
	     "4",
	     NULL},
	    {"4 as 5, travel",
	     {4, false},
	     {5, false},
	     0.95,
	     0.03,
	     RV_AGREEMENT_LOAD,
	     true,
	     "contradicted",
	     "4",
	     "rig_contradicted"},
	    {"4 as 5, tension alone",
	     {4, false},
	     {5, false},
	     0.95,
	     NAN,
	     RV_AGREEMENT_LOAD,
	     true,
	     "not resolved",
	     "4 5 6 7 8 9",
	     "rig_not_resolved"},
	    {"4 as 5, travel alone",
	     {4, false},
	     {5, false},
	     0.95,
	     0.03,
	     RV_AGREEMENT_LOAD,
	     false,
	     "contradicted",
	     "4",
	     "rig_contradicted"},
	    {"2 as 2, tension alone",
	     {2, true},
	     {2, true},
	     0.95,
	     NAN,
	     RV_AGREEMENT_LOAD,
	     true,
	     "not resolved",
	     "2 3",
	     "rig_not_resolved"},
	    {"4 as 4, dead end, travel",
	     {4, false},
	     {4, false},
	     0.95,
	     0.03,
	     RV_AGREEMENT_DEAD_END,
	     true,
	     "confirmed",
	     "4",
	     NULL},
	    {"1 as 4, travel",
	     {1, false},
	     {4, false},
	     0.95,
	     0.03,
	     RV_AGREEMENT_LOAD,
	     true,
	     "contradicted",
	     "1",
	     "rig_contradicted"},
	};
	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct rv_agreement_declared declared = declare(&cases[i].declared, cases[i].far);
		struct rv_agreement_declared real = declare(&cases[i].real, cases[i].far);
		struct rv_agreement_measured measured = {
		    .log_ratio = cases[i].with_tension
				     ? real.curve.log_ratio(real.curve.rig,
							    log(cases[i].efficiency), RV_MOTION_IN)
				     : (double)NAN,
		    .u_log = 0.01,
		    .travel_ratio = isnan(cases[i].u_travel) ? (double)NAN : cases[i].real.parts,
		    .u_travel_ratio = cases[i].u_travel};
		struct rv_estimate estimate;

		rv_estimate_init(&estimate);
		rv_agreement_judge(&declared, &measured, &estimate);
		says(&estimate, cases[i].label, cases[i].verdict, cases[i].fits);
		assert_int_equal(estimate.warnings, cases[i].warning != NULL);
		if (cases[i].warning)
			assert_true(rv_estimate_has_warning(&estimate, cases[i].warning));
	}
}

static void a_line_over_a_ring_is_not_contradicted(void **state)
{
	static const struct tackle two = {2, true};
	struct rv_agreement_declared declared = declare(&two, RV_AGREEMENT_LOAD);
	struct rv_agreement_measured measured = {
	    .log_ratio = log(1.70), .u_log = 0.01, .travel_ratio = 2.0, .u_travel_ratio = 0.03};
	static const double said[][2] = {{0.7, 0.7}, {NAN, NAN}, {0.65, 0.8}};
	(void)state;
	for (size_t i = 0; i < 3; i++) {
		struct rv_agreement_range range = rv_agreement_range(said[i][0], said[i][1]);
		struct rv_estimate estimate;

		declared.low_ratio = range.low_ratio;
		declared.high_ratio = range.high_ratio;
		rv_estimate_init(&estimate);
		rv_agreement_judge(&declared, &measured, &estimate);
		says(&estimate, "ring", "confirmed", "2");
	}
}

/* Legs that fan out: 3.6 m of line to a metre is four parts here. */
static void the_geometry_of_the_declared_rig_is_taken_in(void **state)
{
	static const struct tackle four = {4, false};
	struct rv_agreement_declared declared = declare(&four, RV_AGREEMENT_OTHER);
	struct rv_agreement_measured measured = {
	    .log_ratio = NAN, .u_log = NAN, .travel_ratio = 3.62, .u_travel_ratio = 0.02};
	struct rv_estimate estimate;
	(void)state;

	declared.travel_ratio = 3.6;
	rv_estimate_init(&estimate);
	rv_agreement_judge(&declared, &measured, &estimate);
	says(&estimate, "fan", "confirmed", "4");
}

static void nothing_measured_is_not_asked(void **state)
{
	static const struct tackle four = {4, false};
	struct rv_agreement_declared declared = declare(&four, RV_AGREEMENT_LOAD);
	struct rv_agreement_measured measured = {NAN, NAN, NAN, NAN};
	struct rv_estimate estimate;
	(void)state;

	rv_estimate_init(&estimate);
	rv_agreement_judge(&declared, &measured, &estimate);
	assert_int_equal(estimate.agreement.verdict, RV_ESTIMATE_NOT_ASKED);
}

static void tensions_need_a_gain_or_an_exchange(void **state)
{
	static const double log_ratio[4] = {-0.16, -0.18, -0.12, -0.14};
	struct rv_estimate_pull pull[5];
	struct rv_estimate_run run = {.number = 1};
	struct rv_estimate_setup setup;
	struct rv_agreement_measured measured;
	(void)state;

	memset(pull, 0, sizeof pull);
	rv_estimate_setup_init(&setup);
	setup.run = &run;
	setup.runs = 1;
	for (int c = 0; c < 2; c++)
		run.cell[c] = (struct rv_estimate_cell){
		    .u_gain_ratio = NAN, .u_zero_n = NAN, .u_drift_n = NAN, .u_inverse_n = NAN};
	for (int i = 0; i < 5; i++)
		pull[i] =
		    (struct rv_estimate_pull){.index = i + 1,
					      .direction = i == 4 ? RV_MOTION_OUT : RV_MOTION_IN,
					      .near_n = 1e4,
					      .far_n = 9e3,
					      .log_ratio = i == 4 ? 0.2 : log_ratio[i]};
	rv_agreement_tensions(&setup, pull, 5, &measured);
	assert_true(isnan(measured.log_ratio));
	pull[2].exchanged = pull[3].exchanged = true;
	rv_agreement_tensions(&setup, pull, 5, &measured);
	assert_near("mean", measured.log_ratio, -0.15, 1e-12);
	/* each arrangement: sd 0.01 sqrt 2 of two; half of it twice */
	assert_near("u", measured.u_log, 0.01 / sqrt(2.0), 1e-12);
	pull[2].exchanged = pull[3].exchanged = false;
	run.cell[0].u_gain_ratio = run.cell[1].u_gain_ratio = 0.01;
	rv_agreement_tensions(&setup, pull, 5, &measured);
	double sd = sqrt((0.01 * 0.01 + 0.03 * 0.03 + 0.03 * 0.03 + 0.01 * 0.01) / 3.0);
	assert_near("mean", measured.log_ratio, -0.15, 1e-12);
	assert_near("u", measured.u_log, hypot(sd / 2.0, 0.01 * sqrt(2.0)), 1e-9);
}

static void travel_is_line_over_way(void **state)
{
	static const struct rv_agreement_stretch two[] = {{4.0, 1.0}, {8.2, 2.0}};
	struct rv_agreement_measured measured;
	(void)state;

	rv_agreement_travel(two, 2, 0.03, 0.0, &measured);
	assert_near("ratio", measured.travel_ratio, 12.2 / 3.0, 1e-12);
	assert_near("u", measured.u_travel_ratio, 0.03, 1e-12);
	rv_agreement_travel(two, 2, 0.03, 0.1, &measured);
	assert_near("u of marks", measured.u_travel_ratio, hypot(0.03, 0.2 / 3.0), 1e-12);
	rv_agreement_travel(two, 0, 0.03, 0.1, &measured);
	assert_true(isnan(measured.travel_ratio));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(tension_and_travel_tell_the_parts),
	    cmocka_unit_test(a_line_over_a_ring_is_not_contradicted),
	    cmocka_unit_test(the_geometry_of_the_declared_rig_is_taken_in),
	    cmocka_unit_test(nothing_measured_is_not_asked),
	    cmocka_unit_test(tensions_need_a_gain_or_an_exchange),
	    cmocka_unit_test(travel_is_line_over_way),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
