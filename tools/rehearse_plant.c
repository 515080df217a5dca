/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_plant.h"

#include <math.h>
#include <string.h>

enum { SWEEPS = 30, ROUNDS = 60 };

static const double PARTING_S = 0.002;	/* e-fold of the tension of a parted line */
static const double SLACK_RATIO = 1e-6; /* a slack leg keeps this share of its stiffness */
static const double LEAST_LOSS = 1e-5;	/* a sheave never gives energy */
static const double DAMPING = 0.35;	/* of the load on its line, of critical */
static const double FLOW_EXACT_M = 1e-10;
static const double FLOW_WIDTH_M = 1e-6; /* first step to either side of a guess */
static const double MISS_EXACT_N = 1e-7;

static double leg_length_m(const struct rv_rehearse_plant *plant, int leg)
{
	const struct rv_rehearse_line *line = &plant->scenario->line;
	return line->leg_m[leg] - (line->on_load[leg] ? plant->travel_m : 0);
}

static double stiffness_n(const struct rv_rehearse_plant *plant)
{
	double whole = plant->scenario->line.stiffness_n;
	return plant->parted_s < 0 ? whole : whole * exp(-plant->parted_s / PARTING_S);
}

/* Tension of a leg that holds that much unstretched line; a little below zero when slack, so that
 * the flow of slack line is determined too. */
static double strained_n(double stiff_n, double length_m, double unstretched_m)
{
	double strain = (length_m - unstretched_m) / unstretched_m;
	return stiff_n * strain * (strain > 0 ? 1 : SLACK_RATIO);
}

void rv_rehearse_plant_init(struct rv_rehearse_plant *plant,
			    const struct rv_rehearse_scenario *scenario)
{
	const struct rv_rehearse_line *line = &scenario->line;
	int pulling = 0;

	memset(plant, 0, sizeof *plant);
	plant->scenario = scenario;
	plant->dice.state = scenario->seed;
	plant->payout_m = scenario->winch.line_out_m;
	plant->parted_s = -1;
	for (int i = 0; i < line->legs; i++)
		pulling += line->on_load[i];
	for (int i = 0; i < line->legs; i++) {
		plant->tension_n[i] = scenario->load.pulls_back_n / pulling;
		plant->unstretched_m[i] =
		    line->leg_m[i] / (1 + plant->tension_n[i] / line->stiffness_n);
	}
	for (int i = 0; i + 1 < line->legs; i++) {
		plant->sheave[i].log_now = log(line->efficiency[i]);
		rv_rehearse_dice_bumps(&plant->dice, line->irregularity_m, &plant->sheave[i].rope);
	}
	rv_rehearse_dice_bumps(&plant->dice, scenario->load.noise_m, &plant->ground);
}

static double mobilise(double before, double flow_m, double turn_over_m)
{
	double goal = flow_m > 0 ? 1 : -1;
	return goal + (before - goal) * exp(-fabs(flow_m) / turn_over_m);
}

/* The two legs at a sheave and how much their tensions miss the friction law by, for a flow. */
struct crossing {
	double stiff_n, near_m, far_m, near_line_m, far_line_m, mobilised, log_efficiency,
	    turn_over_m;
};

static double miss_n(const struct crossing *at, double flow_m)
{
	double near_n = strained_n(at->stiff_n, at->near_m, at->near_line_m + flow_m);
	double far_n = strained_n(at->stiff_n, at->far_m, at->far_line_m - flow_m);
	double mobilised = mobilise(at->mobilised, flow_m, at->turn_over_m);

	return far_n - near_n * exp(at->log_efficiency * mobilised);
}

/* Two flows and their misses, one on either side of the one that fits. */
struct bracket {
	double low_m, low_n, high_m, high_n;
};

static struct bracket bracket_flow(const struct crossing *at, double guess_m)
{
	double width = FLOW_WIDTH_M;
	struct bracket b = {.low_m = guess_m - width, .high_m = guess_m + width};

	b.low_n = miss_n(at, b.low_m);
	b.high_n = miss_n(at, b.high_m);
	for (int i = 0; i < ROUNDS && (b.low_n > 0) == (b.high_n > 0); i++) {
		width *= 4;
		if (b.low_n > 0) {
			b.high_m = b.low_m;
			b.high_n = b.low_n;
			b.low_m -= width;
			b.low_n = miss_n(at, b.low_m);
		} else {
			b.low_m = b.high_m;
			b.low_n = b.high_n;
			b.high_m += width;
			b.high_n = miss_n(at, b.high_m);
		}
	}
	return b;
}

/* The miss grows with the flow all the way, so there is one flow that fits: the rule of false
 * position, with the weight of a side that stays halved (known as the Illinois way; from memory).
 */
static double fitting_flow_m(const struct crossing *at, double guess_m)
{
	struct bracket b = bracket_flow(at, guess_m);
	int stayed = 0;

	for (int i = 0; i < ROUNDS && b.high_m - b.low_m > FLOW_EXACT_M / 4; i++) {
		double span_n = b.high_n - b.low_n;
		double middle_m = (b.low_m + b.high_m) / 2;
		if (span_n > 0)
			middle_m = b.low_m - b.low_n * (b.high_m - b.low_m) / span_n;
		double miss = miss_n(at, middle_m);
		if (fabs(miss) < MISS_EXACT_N)
			return middle_m;
		if (miss > 0) {
			b.high_m = middle_m;
			b.high_n = miss;
			b.low_n /= stayed < 0 ? 2 : 1;
			stayed = -1;
		} else {
			b.low_m = middle_m;
			b.low_n = miss;
			b.high_n /= stayed > 0 ? 2 : 1;
			stayed = 1;
		}
	}
	return (b.low_m + b.high_m) / 2;
}

/* Lets line flow over the sheaves until all legs agree, sheave after sheave, again and again. */
static void settle_flows(struct rv_rehearse_plant *plant)
{
	const struct rv_rehearse_line *line = &plant->scenario->line;
	double stiff_n = stiffness_n(plant);
	double flow_m[RV_REHEARSE_LEGS] = {0};

	for (int sweep = 0; sweep < SWEEPS; sweep++) {
		double moved_m = 0;
		for (int k = 0; k + 1 < line->legs; k++) {
			struct crossing at = {
			    .stiff_n = stiff_n,
			    .near_m = leg_length_m(plant, k),
			    .far_m = leg_length_m(plant, k + 1),
			    .near_line_m = plant->unstretched_m[k] - flow_m[k],
			    .far_line_m = plant->unstretched_m[k + 1] + flow_m[k],
			    .mobilised = plant->sheave[k].mobilised,
			    .log_efficiency = plant->sheave[k].log_now,
			    .turn_over_m = line->turn_over_m,
			};
			double fits =
			    fitting_flow_m(&at, sweep ? flow_m[k] : plant->sheave[k].flow_m);
			moved_m = fmax(moved_m, fabs(fits - flow_m[k]));
			plant->unstretched_m[k] += fits - flow_m[k];
			plant->unstretched_m[k + 1] -= fits - flow_m[k];
			flow_m[k] = fits;
		}
		if (moved_m < FLOW_EXACT_M)
			break;
	}
	for (int k = 0; k + 1 < line->legs; k++) {
		struct rv_rehearse_sheave *sheave = &plant->sheave[k];
		sheave->mobilised = mobilise(sheave->mobilised, flow_m[k], line->turn_over_m);
		sheave->flow_m = flow_m[k];
		sheave->travel_m += flow_m[k];
	}
}

static void vary_sheaves(struct rv_rehearse_plant *plant)
{
	const struct rv_rehearse_line *line = &plant->scenario->line;

	for (int k = 0; k + 1 < line->legs; k++) {
		struct rv_rehearse_sheave *sheave = &plant->sheave[k];
		double passed_m = fabs(sheave->flow_m);
		/* A new pull's scatter comes in while friction turns over, so nothing jumps. */
		double keep = exp(-passed_m / line->turn_over_m);
		sheave->scatter =
		    sheave->scatter_goal + (sheave->scatter - sheave->scatter_goal) * keep;
		double rope = line->irregularity_ratio *
			      rv_rehearse_dice_bump_at(&sheave->rope, sheave->travel_m);
		double turn = line->each_turn_ratio *
			      sin(2 * M_PI * sheave->travel_m / line->circumference_m);
		sheave->log_now =
		    fmin(log(line->efficiency[k]) + sheave->scatter + rope + turn, -LEAST_LOSS);
	}
}

static void begin_pull(struct rv_rehearse_plant *plant)
{
	double size = plant->scenario->line.pull_scatter_ratio;
	double common = size * rv_rehearse_dice_normal(&plant->dice);

	for (int k = 0; k + 1 < plant->scenario->line.legs; k++)
		plant->sheave[k].scatter_goal =
		    common + size * rv_rehearse_dice_normal(&plant->dice);
}

/* Damping of the load: a share of critical for its mass on the spring of its line. */
static double damping_nspm(const struct rv_rehearse_plant *plant)
{
	const struct rv_rehearse_line *line = &plant->scenario->line;
	double total_m = 0, pulling = 0;

	for (int i = 0; i < line->legs; i++) {
		total_m += line->leg_m[i];
		pulling += line->on_load[i];
	}
	double spring_npm = pulling * pulling * line->stiffness_n / total_m;
	return 2 * DAMPING * sqrt(spring_npm * plant->scenario->load.mass_kg);
}

static void move_load(struct rv_rehearse_plant *plant, double factor, double step_s)
{
	const struct rv_rehearse_load *load = &plant->scenario->load;
	double pull_n = 0;

	for (int i = 0; i < plant->scenario->line.legs; i++)
		if (plant->scenario->line.on_load[i])
			pull_n += plant->tension_n[i];
	double noise =
	    load->noise_ratio * rv_rehearse_dice_bump_at(&plant->ground, plant->travel_m);
	double resists_n =
	    factor * fmax(0, load->resists_n * (1 + noise) + load->grows_npm * plant->travel_m);
	double net_n = pull_n - factor * load->pulls_back_n - damping_nspm(plant) * plant->load_mps;
	bool still = !(plant->load_mps > 0) && !(plant->load_mps < 0);
	double before = plant->load_mps;

	if (still && fabs(net_n) <= resists_n * (1 + load->sticks_ratio))
		return;
	double against_n = (still ? net_n > 0 : before > 0) ? resists_n : -resists_n;
	double after = before + (net_n - against_n) / load->mass_kg * step_s;
	/* Friction stops a load, it never turns it round. */
	plant->load_mps = before * after < 0 ? 0 : after;
	plant->travel_m += plant->load_mps * step_s;
	if (plant->travel_m < -load->stop_behind_m) {
		plant->travel_m = -load->stop_behind_m;
		plant->load_mps = 0;
	}
}

void rv_rehearse_plant_step(struct rv_rehearse_plant *plant, struct rv_rehearse_drive drive,
			    double step_s)
{
	int direction = (drive.speed_mps > 0) - (drive.speed_mps < 0);

	if (drive.winch_turns && direction && direction != plant->last_direction) {
		plant->last_direction = direction;
		begin_pull(plant);
	}
	plant->speed_mps = drive.speed_mps;
	plant->payout_m += drive.speed_mps * step_s;
	if (plant->parted_s < 0)
		plant->unstretched_m[0] += drive.speed_mps * step_s;
	else
		plant->parted_s += step_s;
	if (plant->parted_s < 10 * PARTING_S)
		settle_flows(plant);
	vary_sheaves(plant);
	for (int i = 0; i < plant->scenario->line.legs; i++) {
		double now_n =
		    strained_n(stiffness_n(plant), leg_length_m(plant, i), plant->unstretched_m[i]);
		plant->tension_n[i] = fmax(0, now_n);
	}
	move_load(plant, drive.load_factor, step_s);
}

void rv_rehearse_plant_part(struct rv_rehearse_plant *plant)
{
	if (plant->parted_s < 0)
		plant->parted_s = 0;
}
