/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/agreement.h"

#include <math.h>
#include <stdio.h>

#include "core/stats.h"
#include "core/value.h"

#define STEP 0.001
#define APART 3.3 /* standard uncertainties */
#define UNLIKELY 100.0
#define COMPATIBLE 20.0
#define BY_HAND_LOW 0.80
#define UNSAID_LOW 0.50
#define USUAL_HIGH 0.995

/* A simple tackle of so many parts, or one pulling on another. */
struct tackle {
	int parts, second; /* second 0: no other tackle */
	bool off_moving;
};

struct rv_agreement_range rv_agreement_range(double declared_low, double declared_high)
{
	if (isnan(declared_low) || isnan(declared_high))
		return (struct rv_agreement_range){UNSAID_LOW, USUAL_HIGH};
	return (struct rv_agreement_range){fmin(BY_HAND_LOW, declared_low),
					   fmax(USUAL_HIGH, declared_high)};
}

/* ---- what was measured ---- */

struct hauls {
	struct rv_stats_sample sample[2]; /* as they stood, exchanged */
	double value[2][RV_ESTIMATE_PULLS];
	int count[2];
};

static void sort_hauls(const struct rv_estimate_pull *pulls, int count, struct hauls *hauls)
{
	hauls->count[0] = hauls->count[1] = 0;
	for (int i = 0; i < count; i++) {
		const struct rv_estimate_pull *pull = &pulls[i];
		int side = pull->exchanged;
		if (pull->why != RV_PULL_KEPT || pull->struck || isnan(pull->log_ratio) ||
		    pull->direction != RV_MOTION_IN)
			continue;
		hauls->value[side][hauls->count[side]++] = pull->log_ratio;
	}
	for (int side = 0; side < 2; side++)
		hauls->sample[side] = rv_stats_sample(hauls->value[side], hauls->count[side]);
}

/* Variance of the mean; a single haul scatters as pulls are known to, 0.9 % (own choice). */
static double variance_of(const struct rv_stats_sample *sample)
{
	double sd = sample->count > 1 ? sample->sd : 0.009;

	return sd * sd / sample->count;
}

void rv_agreement_tensions(const struct rv_estimate_setup *setup,
			   const struct rv_estimate_pull *pulls, int count,
			   struct rv_agreement_measured *measured)
{
	struct hauls hauls;
	struct rv_value_effect effect = {0};
	double gain = rv_value_gain_u(setup, setup->run);

	measured->log_ratio = measured->u_log = (double)NAN;
	sort_hauls(pulls, count, &hauls);
	bool both = hauls.count[0] > 0 && hauls.count[1] > 0;
	int sides = (hauls.count[0] > 0) + (hauls.count[1] > 0);
	if (sides == 0 || (!both && isnan(gain)))
		return;
	double sum = 0.0, variance = 0.0;
	for (int side = 0; side < 2; side++) {
		if (hauls.count[side] == 0)
			continue;
		sum += hauls.sample[side].mean / sides;
		variance += variance_of(&hauls.sample[side]) / (sides * sides);
	}
	for (int i = 0; i < count; i++)
		if (pulls[i].why == RV_PULL_KEPT && !pulls[i].struck &&
		    pulls[i].direction == RV_MOTION_IN && !isnan(pulls[i].log_ratio))
			rv_value_add_pull(&effect, &pulls[i],
					  1.0 / (sides * hauls.count[pulls[i].exchanged]));
	struct rv_value_parts parts = rv_value_parts_of(&effect, setup, setup->run);
	if (both)
		parts.gain = 0.0;
	measured->log_ratio = sum;
	measured->u_log = hypot(sqrt(variance), rv_value_parts_u(&parts));
}

void rv_agreement_travel(const struct rv_agreement_stretch *stretches, int count, double u_ratio,
			 double u_end_m, struct rv_agreement_measured *measured)
{
	double line_m = 0.0, load_m = 0.0;

	measured->travel_ratio = measured->u_travel_ratio = (double)NAN;
	for (int i = 0; i < count; i++) {
		line_m += stretches[i].line_in_m;
		load_m += stretches[i].load_m;
	}
	if (!(line_m > 0.0) || !(load_m > 0.0))
		return;
	measured->travel_ratio = line_m / load_m;
	measured->u_travel_ratio = hypot(u_ratio, u_end_m * sqrt(2.0 * count) / load_m);
}

/* ---- candidates ---- */

static double sum_of_legs(int parts, bool off_moving, double efficiency)
{
	double sum = 0.0, leg = off_moving ? 1.0 : efficiency;

	for (int k = 0; k < parts; k++) {
		sum += leg;
		leg *= efficiency;
	}
	return sum;
}

/* ln(far / near) of a tackle of parallel legs. */
static double tackle_log(const struct tackle *tackle, enum rv_agreement_far far, double efficiency)
{
	int sheaves = tackle->parts - tackle->off_moving;

	if (far == RV_AGREEMENT_DEAD_END)
		return sheaves * log(efficiency);
	double ratio = sum_of_legs(tackle->parts, tackle->off_moving, efficiency);
	if (tackle->second > 0)
		ratio *= sum_of_legs(tackle->second, tackle->off_moving, efficiency);
	return log(ratio);
}

static int parts_of(const struct tackle *tackle)
{
	return tackle->parts * (tackle->second > 0 ? tackle->second : 1);
}

struct court {
	const struct rv_agreement_declared *declared;
	const struct rv_agreement_measured *measured;
	int parts;     /* declared */
	double spread; /* of its geometry, against parallel legs */
};

/* tackle NULL: the declared rig. */
static double log_at(const struct court *court, const struct tackle *tackle, double efficiency)
{
	const struct rv_estimate_curve *curve = &court->declared->curve;
	double spread = court->declared->far == RV_AGREEMENT_LOAD ? log(court->spread) : 0.0;

	if (!tackle)
		return curve->log_ratio(curve->rig, log(efficiency), RV_MOTION_IN);
	return spread + tackle_log(tackle, court->declared->far, efficiency);
}

static double tension_likelihood(const struct court *court, const struct tackle *tackle)
{
	const struct rv_agreement_declared *declared = court->declared;
	int steps = (int)ceil((declared->high_ratio - declared->low_ratio) / STEP);
	double sum = 0.0;

	if (isnan(court->measured->log_ratio) || declared->far == RV_AGREEMENT_OTHER)
		return 0.0;
	for (int i = 0; i <= steps; i++) {
		double z = court->measured->log_ratio -
			   log_at(court, tackle,
				  fmin(declared->low_ratio + i * STEP, declared->high_ratio));
		z /= court->measured->u_log;
		sum += exp(-0.5 * z * z);
	}
	/* Keeps the order among those that are all hopeless. */
	return log(fmax(sum / (steps + 1), 1e-300));
}

static double travel_apart(const struct court *court, double travel_ratio)
{
	return isnan(court->measured->travel_ratio)
		   ? 0.0
		   : log(court->measured->travel_ratio / travel_ratio) /
			 court->measured->u_travel_ratio;
}

static double likelihood(const struct court *court, const struct tackle *tackle)
{
	double travel = tackle ? court->spread * parts_of(tackle) : court->declared->travel_ratio;
	double z = travel_apart(court, travel);

	return tension_likelihood(court, tackle) - 0.5 * z * z;
}

/* How many standard uncertainties what was measured lies outside all that is declared. */
static double outside(const struct court *court)
{
	const struct rv_agreement_declared *declared = court->declared;
	double travel = fabs(travel_apart(court, declared->travel_ratio)), tension = 0.0;

	if (!isnan(court->measured->log_ratio)) {
		double a = log_at(court, NULL, declared->low_ratio);
		double b = log_at(court, NULL, declared->high_ratio);
		double over = court->measured->log_ratio - fmax(a, b);
		double under = fmin(a, b) - court->measured->log_ratio;
		tension = fmax(fmax(over, under), 0.0) / court->measured->u_log;
	}
	return fmax(travel, tension);
}

/* The likelihood of each number of parts, that of its best tackle. */
static void by_parts(const struct court *court, double best[RV_ESTIMATE_PARTS + 1])
{
	static const struct tackle twice[] = {{2, 2, false}, {2, 2, true},  {2, 3, false},
					      {2, 3, true},  {3, 3, false}, {3, 3, true}};
	/* The dead end of a tackle on a tackle is not on the line at the winch. */
	bool with_twice = court->declared->far != RV_AGREEMENT_DEAD_END;

	for (int n = 1; n <= RV_ESTIMATE_PARTS; n++) {
		struct tackle fixed = {n, 0, false}, moving = {n, 0, true};
		best[n] = fmax(likelihood(court, &fixed), likelihood(court, &moving));
	}
	for (size_t i = 0; with_twice && i < sizeof twice / sizeof twice[0]; i++) {
		double *at = &best[parts_of(&twice[i])];
		*at = fmax(*at, likelihood(court, &twice[i]));
	}
}

static void say(const struct court *court, struct rv_estimate *estimate)
{
	const struct rv_estimate_agreement *agreement = &estimate->agreement;
	char list[80] = "";
	size_t at = 0;

	for (int i = 0; i < agreement->parts; i++)
		at += (size_t)snprintf(list + at, sizeof list - at, "%s%d", i ? ", " : "",
				       agreement->parts_of_line[i]);
	if (agreement->verdict == RV_ESTIMATE_CONTRADICTED)
		rv_estimate_warn(estimate, "rig_contradicted",
				 "What was measured does not fit the declared %d parts of line. It "
				 "fits: %s. Look how the line is reeved, and at the scaling of "
				 "the cells and of line out.",
				 court->parts, list);
	if (agreement->verdict == RV_ESTIMATE_NOT_RESOLVED)
		rv_estimate_warn(
		    estimate, "rig_not_resolved",
		    "What was measured fits the declared %d parts of line, and others "
		    "too: %s.%s",
		    court->parts, list,
		    isnan(court->measured->travel_ratio)
			? " How far the load went would tell: a travel channel, or marks "
			  "with the distance."
			: "");
}

void rv_agreement_judge(const struct rv_agreement_declared *declared,
			const struct rv_agreement_measured *measured, struct rv_estimate *estimate)
{
	struct court court = {declared, measured, (int)lround(declared->travel_ratio), 1.0};
	struct rv_estimate_agreement *agreement = &estimate->agreement;
	double best[RV_ESTIMATE_PARTS + 1], most;

	if ((isnan(measured->log_ratio) && isnan(measured->travel_ratio)) ||
	    !(declared->travel_ratio > 0.0))
		return;
	court.parts = court.parts < 1 ? 1 : court.parts;
	court.spread = declared->travel_ratio / court.parts;
	by_parts(&court, best);
	double own = likelihood(&court, NULL);
	if (court.parts <= RV_ESTIMATE_PARTS)
		best[court.parts] = fmax(best[court.parts], own);
	most = own;
	for (int n = 1; n <= RV_ESTIMATE_PARTS; n++)
		most = fmax(most, best[n]);
	agreement->parts = 0;
	for (int n = 1; n <= RV_ESTIMATE_PARTS; n++)
		if (best[n] > most - log(COMPATIBLE))
			agreement->parts_of_line[agreement->parts++] = n;
	if (outside(&court) > APART || own < most - log(UNLIKELY))
		agreement->verdict = RV_ESTIMATE_CONTRADICTED;
	else if (agreement->parts == 1 && agreement->parts_of_line[0] == court.parts)
		agreement->verdict = RV_ESTIMATE_CONFIRMED;
	else
		agreement->verdict = RV_ESTIMATE_NOT_RESOLVED;
	say(&court, estimate);
}
