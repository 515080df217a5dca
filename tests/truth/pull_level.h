/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pulls drawn from a plain model: the log ratios that a rig of n like sheaves would give for true
 * efficiencies, gains, zeros and scatter.  It knows of rope and time no more than the estimator
 * does: it shows whether intervals cover what they are made of, not whether the model is that of a rig.
 */
#ifndef RV_TESTS_TRUTH_PULL_LEVEL_H
#define RV_TESTS_TRUTH_PULL_LEVEL_H

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "core/estimate_make.h"

struct level_dice {
	uint64_t state;
};

static inline double level_uniform(struct level_dice *dice)
{
	/* splitmix64 (Steele, Lea, Flood, 2014; from memory). */
	uint64_t z = dice->state += 0x9E3779B97F4A7C15U;
	z = (z ^ z >> 30) * 0xBF58476D1CE4E5B9U;
	z = (z ^ z >> 27) * 0x94D049BB133111EBU;
	return ((double)((z ^ z >> 31) >> 11) + 0.5) / 9007199254740992.0;
}

static inline double level_normal(struct level_dice *dice)
{
	double r = sqrt(-2.0 * log(level_uniform(dice)));
	return r * cos(2.0 * M_PI * level_uniform(dice));
}

/* n sheaves between lead and dead end, each of one leg: in(x) = n x, out(x) = -n x. */
static inline double level_legs(const void *rig, double x, enum rv_motion motion)
{
	return *(const double *)rig * (motion == RV_MOTION_OUT ? -x : x);
}

/* Lead against a shackle that carries n legs beyond it: ln(e^x + ... + e^nx). */
static inline double level_shackle(const void *rig, double x, enum rv_motion motion)
{
	double n = *(const double *)rig, sum = 0.0;
	for (int k = 1; k <= (int)n; k++)
		sum += exp((motion == RV_MOTION_OUT ? -x : x) * k);
	return log(sum);
}

/* A test: a rig, true losses, instruments and what is pulled. */
struct level {
	double sheaves;
	bool shackle;
	double efficiency, excess;
	double u_gain, u_zero_n, u_drift_n, load_n;
	double scatter; /* of ln(efficiency) from pull to pull, per sheave */
	int cycles;
	bool haul_only;
	bool exchange;	      /* the second half of it */
	double load_scatter;  /* one cell moved: of ln(load) */
	double load_drift;    /* one cell moved: from first to last */
	double load_friction; /* share of the load that changes sign */
	bool on_shackle;      /* the load hangs on the legs beyond each sheave */
	enum rv_estimate_design design;
};

struct level_test {
	struct rv_estimate_setup setup;
	struct rv_estimate_run run;
	struct rv_estimate_pull pull[RV_ESTIMATE_PULLS];
	int pulls;
	double sheaves;
	double x_in; /* the truth */
	double gain, zero_n[2], drift_n[2];
};

static inline void level_start(const struct level *level, struct level_dice *dice,
			       struct level_test *test)
{
	memset(test, 0, sizeof *test);
	test->sheaves = level->sheaves;
	test->x_in = log(level->efficiency);
	rv_estimate_setup_init(&test->setup);
	test->setup.design = level->design;
	test->setup.run = &test->run;
	test->setup.runs = 1;
	test->setup.curve = (struct rv_estimate_curve){
	    level->shackle ? level_shackle : level_legs, &test->sheaves};
	if (level->on_shackle)
		test->setup.load = (struct rv_estimate_curve){level_shackle, &test->sheaves};
	test->setup.stiffness_known = true;
	test->setup.character = RV_LOAD_HUNG;
	test->run.number = 1;
	for (int c = 0; c < 2; c++) {
		test->run.cell[c] = (struct rv_estimate_cell){
		    .name = c ? "far" : "near",
		    .u_gain_ratio = level->u_gain > 0.0 ? level->u_gain / sqrt(2.0) : (double)NAN,
		    .u_zero_n = level->u_zero_n,
		    .u_drift_n = level->u_drift_n,
		    .u_inverse_n = NAN,
		    .capacity_n = 20e3,
		    .delay_s = NAN,
		};
		test->zero_n[c] = level->u_zero_n * level_normal(dice);
		test->drift_n[c] = level->u_drift_n * level_normal(dice);
	}
	test->gain = level->u_gain * level_normal(dice);
}

/* One pull at a place of time from 0 to 1. */
static inline void level_pull(const struct level *level, struct level_dice *dice,
			      struct level_test *test, bool out, double place)
{
	struct rv_estimate_pull *pull = &test->pull[test->pulls++];
	enum rv_motion motion = out ? RV_MOTION_OUT : RV_MOTION_IN;
	double x = test->x_in * (out ? 1.0 + level->excess : 1.0) +
		   level->scatter * level_normal(dice);
	double load = level->load_n * exp(level->load_scatter * level_normal(dice) +
					  level->load_drift * place);
	double rub = out ? 1.0 - level->load_friction : 1.0 + level->load_friction;
	const struct rv_estimate_curve *curve = &test->setup.curve;
	double far = load * rub;
	double near = far / exp(curve->log_ratio(curve->rig, x, motion));

	if (level->on_shackle) {
		near = far / exp(level_shackle(curve->rig, x, motion));
		far = near * exp(curve->log_ratio(curve->rig, x, motion));
	}

	*pull = (struct rv_estimate_pull){
	    .index = test->pulls,
	    .direction = motion,
	    .start_s = 100.0 * test->pulls,
	    .end_s = 100.0 * test->pulls + 20.0,
	    .since_zero_ratio = place,
	    .slope_ps = NAN,
	    .mobilised_ratio = NAN,
	    .surge_log = NAN,
	    .lag_s = NAN,
	    .travel_m = 3.0,
	    .stint = level->haul_only ? test->pulls : (test->pulls - 1) / 2,
	    .unloaded_before = true,
	};
	bool moved = level->design == RV_ESTIMATE_ONE_MOVED;
	int cycle = (test->pulls - 1) / (level->haul_only ? 1 : 2);
	pull->exchanged = moved ? cycle % 2 == 1 : level->exchange && place > 0.5;
	/* Cell 1 reads too much by the gain; a cell that is moved is cell 0. */
	int at_near = pull->exchanged && !moved ? 1 : 0;
	int at_far = moved ? 0 : 1 - at_near;
	double gain[2] = {moved ? exp(test->gain) : 1.0, exp(test->gain)};
	pull->near_n =
	    near * gain[at_near] + test->zero_n[at_near] + place * test->drift_n[at_near];
	pull->far_n = far * gain[at_far] + test->zero_n[at_far] + place * test->drift_n[at_far];
	if (level->design == RV_ESTIMATE_WEIGHT)
		pull->far_n = level->load_n;
	if (level->design == RV_ESTIMATE_ONE_HUNG ||
	    (moved && !pull->exchanged))
		pull->far_n = (double)NAN;
	if (moved && pull->exchanged)
		pull->near_n = (double)NAN;
	pull->log_ratio = (isnan(pull->far_n) ? 0.0 : log(pull->far_n)) -
			  (isnan(pull->near_n) ? 0.0 : log(pull->near_n));
}

static inline void level_make(const struct level *level, uint64_t seed, struct level_test *test)
{
	struct level_dice dice = {seed * 0x2545F4914F6CDD1DU + 17};

	level_start(level, &dice, test);
	for (int c = 0; c < level->cycles; c++) {
		double place = level->cycles > 1 ? (double)c / (level->cycles - 1) : 0.0;
		level_pull(level, &dice, test, false, place);
		if (!level->haul_only)
			level_pull(level, &dice, test, true, place);
	}
}

#endif
