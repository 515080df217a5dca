/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/truth/simrig.h"

#include <math.h>
#include <string.h>

#define DT_S 0.005
#define RAMP_S 2.0  /* the load is taken up and let down */
#define SLACK 0.002 /* what is left of it between cycles */
#define ACCELERATE_S 0.5
#define RELAX_S 40.0  /* friction lets go while the line stands */
#define INERTIA_S 0.3 /* the load does not jump */
#define DAMPED_S 0.02
#define DELAY_STEPS 256

double sim_uniform(uint64_t *seed)
{
	/* splitmix64, Steele, Lea and Flood 2014, from memory */
	uint64_t z = *seed += UINT64_C(0x9e3779b97f4a7c15);

	z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
	z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
	z ^= z >> 31;
	return ((double)(z >> 11) + 0.5) / 9007199254740992.0;
}

double sim_normal(uint64_t *seed)
{
	double radius = sqrt(-2.0 * log(sim_uniform(seed)));

	return radius * cos(2.0 * M_PI * sim_uniform(seed));
}

struct sim_setup sim_base(void)
{
	struct sim_setup setup = {
	    .sheaves = 4,
	    .pull_log = 0.002,
	    .sheave_log = 0.002,
	    .along_log = 0.004,
	    .along_m = 0.3,
	    .turn_log = 0.003,
	    .turn_m = 0.5,
	    .presliding_m = 0.003,
	    .stiffness_n = 2e6,
	    .leg_m = 15.0,
	    .leg_n = {10e3, 10e3},
	    .load_log = 0.1,
	    .red_ratio = 0.06,
	    .red_s = 1.5,
	    .surge_ratio = 0.02,
	    .surge_hz = 0.4,
	    .saw_ratio = 0.06,
	    .saw_s = 2.5,
	    .trend_ps = 0.004,
	    .speed_mps = 0.15,
	    .speed_ratio = 0.08,
	    .haul_s = 20.0,
	    .pay_s = 12.0,
	    .hold_s = 3.0,
	    .encoder_m = 0.001,
	    .cycles = 5,
	    .pays = 5,
	    .cells = 2,
	};

	for (int i = 0; i < SIM_SHEAVES; i++)
		setup.efficiency[i] = 0.96;
	for (int i = 0; i < SIM_CELLS; i++)
		setup.cell[i] = (struct sim_cell){.u_gain_ratio = 0.003,
						  .u_offset_n = 10.0,
						  .u_drift_n = 10.0,
						  .white_n = 20.0,
						  .red_n = 10.0,
						  .step_n = 10.0,
						  .delay_s = i ? 0.12 : 0.02,
						  .filter_s = i ? 0.08 : 0.03,
						  .every = 2};
	setup.cell[0].weight[0] = 1.0;
	setup.cell[1].weight[4] = 1.0;
	return setup;
}

struct sheave {
	double z, x; /* state of friction; ln efficiency in this pull */
	double wander, passed_m, phase;
};

struct sensor {
	double gain, offset_n, drift_n, red_n, filtered_n;
	double late_n[DELAY_STEPS];
};

struct play {
	const struct sim_setup *setup;
	const struct sim_ears *ears;
	uint64_t seed;
	int64_t step;
	double t_s, length_s, line_m; /* line in */
	double tension_n[SIM_SHEAVES + 1], stretch_m[SIM_SHEAVES + 1];
	struct sheave sheave[SIM_SHEAVES];
	struct sensor sensor[SIM_CELLS];
	double leg_n, gust, red, saw_end_s, saw_s, surge_phase, pulled_s;
	bool exchanged;
};

static double normal(struct play *play)
{
	return sim_normal(&play->seed);
}

/* Once for each cycle: what scatters from pull to pull. */
static void draw_cycle(struct play *play, int cycle)
{
	const struct sim_setup *setup = play->setup;
	double common = setup->pull_log * normal(play);

	for (int i = 0; i < setup->sheaves; i++)
		play->sheave[i].x =
		    log(setup->efficiency[i]) + common + setup->sheave_log * normal(play);
	play->leg_n = setup->leg_n[cycle % 2] *
		      (1.0 + setup->load_log * (2.0 * sim_uniform(&play->seed) - 1.0));
	play->surge_phase = 2.0 * M_PI * sim_uniform(&play->seed);
	play->exchanged = setup->swap && cycle >= setup->cycles / 2;
	play->pulled_s = 0.0;
}

/* The load, over the mean: trend, red noise smoothed by inertia, surge and saw. */
static double swing(struct play *play)
{
	const struct sim_setup *setup = play->setup;
	double keep = exp(-DT_S / setup->red_s);

	play->gust = keep * play->gust + setup->red_ratio * sqrt(1.0 - keep * keep) * normal(play);
	play->red += (play->gust - play->red) * (1.0 - exp(-DT_S / INERTIA_S));
	if (play->t_s >= play->saw_end_s) {
		play->saw_s = setup->saw_s * (0.7 + 0.6 * sim_uniform(&play->seed));
		play->saw_end_s = play->t_s + play->saw_s;
	}
	/* rises over nine tenths of its time, falls in the last */
	double left = (play->saw_end_s - play->t_s) / play->saw_s;
	double saw = left > 0.1 ? (1.0 - left) / 0.9 : left / 0.1;
	return 1.0 + play->red + setup->saw_ratio * (saw - 0.5) +
	       setup->surge_ratio *
		   sin(2.0 * M_PI * setup->surge_hz * play->t_s + play->surge_phase) +
	       setup->trend_ps * (play->pulled_s - setup->haul_s / 2.0);
}

/* ln of the efficiency of a sheave now, and its state after so much rope has passed. */
static double friction(struct play *play, int i, double passed_m)
{
	const struct sim_setup *setup = play->setup;
	struct sheave *sheave = &play->sheave[i];
	double keep = exp(-fabs(passed_m) / setup->along_m);

	sheave->wander =
	    keep * sheave->wander + setup->along_log * sqrt(1.0 - keep * keep) * normal(play);
	sheave->passed_m += passed_m;
	double share = 1.0 - exp(-fabs(passed_m) / setup->presliding_m);
	sheave->z += share * ((passed_m > 0.0 ? 1.0 : -1.0) - sheave->z);
	if (fabs(passed_m) < 1e-9)
		sheave->z *= exp(-DT_S / RELAX_S);
	double x =
	    sheave->x + sheave->wander +
	    setup->turn_log * sin(2.0 * M_PI * sheave->passed_m / setup->turn_m + sheave->phase);
	return sheave->z < 0.0 ? x * (1.0 + setup->excess_ratio) : x;
}

/* Rope that each leg gives off by its stretch in this step.  The stretch follows the tension within
 * 20 ms (rope is damped), which also keeps the steps of time stable. */
static void stretch(struct play *play, double *given_m)
{
	const struct sim_setup *setup = play->setup;

	for (int k = 0; k <= setup->sheaves; k++) {
		double to_m = setup->leg_m / setup->stiffness_n * play->tension_n[k];

		given_m[k] = (to_m - play->stretch_m[k]) * (1.0 - exp(-DT_S / DAMPED_S));
		play->stretch_m[k] += given_m[k];
	}
}

/* Tensions of all legs under a load, from the states of the sheaves. */
static void settle(struct play *play, double load_n, double speed_mps)
{
	const struct sim_setup *setup = play->setup;
	double ratio[SIM_SHEAVES + 1] = {1.0}, lost_n[SIM_SHEAVES + 1] = {0.0};
	double given_m[SIM_SHEAVES + 1];
	double sum = 0.0, lost_sum_n = 0.0;

	stretch(play, given_m);
	for (int i = 0; i < setup->sheaves; i++) {
		double passed_m = speed_mps * DT_S * (setup->sheaves - i) / setup->sheaves;

		for (int k = i + 1; k <= setup->sheaves; k++)
			passed_m += given_m[k];
		double turned = exp(friction(play, i, passed_m) * play->sheave[i].z);
		ratio[i + 1] = ratio[i] * turned;
		lost_n[i + 1] = lost_n[i] * turned + setup->constant_n * play->sheave[i].z;
		sum += ratio[i + 1];
		lost_sum_n += lost_n[i + 1];
	}
	double lead_n = (load_n + lost_sum_n) / sum;
	for (int k = 0; k <= setup->sheaves; k++)
		play->tension_n[k] = fmax(lead_n * ratio[k] - lost_n[k], 0.0);
}

static void tell_cell(struct play *play, int cell)
{
	const struct sim_setup *setup = play->setup;
	/* exchanged: the other cell, with its own errors, stands in this place */
	int body = play->exchanged && cell < 2 ? 1 - cell : cell;
	const struct sim_cell *made = &setup->cell[body];
	struct sensor *sensor = &play->sensor[body];
	double force_n = 0.0;

	for (int k = 0; k <= setup->sheaves; k++)
		force_n += setup->cell[cell].weight[k] * play->tension_n[k];
	sensor->filtered_n += (force_n - sensor->filtered_n) * (1.0 - exp(-DT_S / made->filter_s));
	int late = (int)lround(made->delay_s / DT_S);
	sensor->late_n[play->step % DELAY_STEPS] = sensor->filtered_n;
	if (play->step % made->every != 0 || play->step < late)
		return;
	double keep = exp(-made->every * DT_S / 1.0);
	sensor->red_n = keep * sensor->red_n + made->red_n * sqrt(1.0 - keep * keep) * normal(play);
	double value_n = sensor->gain * sensor->late_n[(play->step - late) % DELAY_STEPS] +
			 sensor->offset_n + sensor->drift_n * play->t_s / play->length_s +
			 made->white_n * normal(play) + sensor->red_n;
	if (made->step_n > 0.0)
		value_n = made->step_n * round(value_n / made->step_n);
	play->ears->cell(play->ears->ear, body, value_n, play->t_s);
}

static void tell(struct play *play)
{
	double step_m = play->setup->encoder_m;

	for (int i = 0; i < play->setup->cells; i++)
		tell_cell(play, i);
	if (play->step % 4 == 0)
		play->ears->payout(play->ears->ear, 50.0 - step_m * floor(play->line_m / step_m),
				   play->t_s);
}

/* Time goes on: the load as a share of full, the line at a speed, growing while hauling. */
static void go_on(struct play *play, double share, double speed_mps)
{
	const struct sim_setup *setup = play->setup;
	double rub = setup->load_friction * (speed_mps > 0.0 ? 1.0 : speed_mps < 0.0 ? -1.0 : 0.0);

	settle(play, setup->sheaves * play->leg_n * share * swing(play) * (1.0 + rub), speed_mps);
	play->line_m += speed_mps * DT_S;
	tell(play);
	play->step++;
	play->t_s += DT_S;
	if (speed_mps > 0.0)
		play->pulled_s += DT_S;
}

static void stand(struct play *play, double for_s, double from, double to)
{
	for (double t_s = 0.0; t_s < for_s; t_s += DT_S)
		go_on(play, from + (to - from) * t_s / for_s, 0.0);
}

static void move(struct play *play, double for_s, double speed_mps)
{
	for (double t_s = 0.0; t_s < for_s; t_s += DT_S) {
		double edge = fmin(fmin(t_s, for_s - t_s) / ACCELERATE_S, 1.0);

		go_on(play, 1.0, speed_mps * edge);
	}
}

static void begin(struct play *play, struct sim_truth *truth)
{
	const struct sim_setup *setup = play->setup;

	for (int i = 0; i < setup->sheaves; i++)
		play->sheave[i].phase = 2.0 * M_PI * sim_uniform(&play->seed);
	for (int i = 0; i < setup->cells; i++) {
		struct sensor *sensor = &play->sensor[i];

		sensor->gain = exp(setup->cell[i].u_gain_ratio * normal(play));
		sensor->offset_n = setup->cell[i].u_offset_n * normal(play);
		sensor->drift_n = setup->cell[i].u_drift_n * normal(play);
		truth->gain[i] = sensor->gain;
		truth->offset_n[i] = sensor->offset_n;
	}
	play->length_s = setup->cycles * (setup->haul_s + 3.0 * RAMP_S + setup->hold_s) +
			 setup->pays * (setup->pay_s + setup->hold_s);
	truth->length_s = play->length_s;
	truth->exchanged_s = INFINITY;
}

void sim_play(const struct sim_setup *setup, uint64_t seed, const struct sim_ears *ears,
	      struct sim_truth *truth)
{
	struct play play = {.setup = setup, .ears = ears, .seed = seed, .leg_n = setup->leg_n[0]};

	begin(&play, truth);
	for (int cycle = 0; cycle < setup->cycles; cycle++) {
		draw_cycle(&play, cycle);
		if (play.exchanged)
			truth->exchanged_s = fmin(truth->exchanged_s, play.t_s);
		stand(&play, RAMP_S, SLACK, SLACK);
		stand(&play, RAMP_S, SLACK, 1.0);
		move(&play, setup->haul_s,
		     setup->speed_mps * (1.0 + setup->speed_ratio * normal(&play)));
		stand(&play, setup->hold_s, 1.0, 1.0);
		if (cycle < setup->pays) {
			move(&play, setup->pay_s,
			     -setup->speed_mps * (1.0 + setup->speed_ratio * normal(&play)));
			stand(&play, setup->hold_s, 1.0, 1.0);
		}
		stand(&play, RAMP_S, 1.0, SLACK);
	}
	stand(&play, RAMP_S, SLACK, SLACK);
}
