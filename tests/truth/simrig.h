/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A tackle that is pulled and paid out, played by its physics: what the estimator is tried against.
 * It shares no code with what it tests, and knows things that the estimator does not.
 *
 * A lead off the upper block; n sheaves, n + 1 legs T_0 (lead) .. T_n (dead end); the load hangs on
 * legs 1 .. n.  Over sheave k  T_k = T_(k-1) e^(x_k z_k), with x_k = ln(efficiency) and z_k in [-1, 1]
 * the state of its friction, which follows the rope that passes (Dahl): dz = dq (1 - z sgn dq) / xs.
 * The rope stretches, so rope passes also when tension changes: a surging load can run the slowest
 * sheaves back.  x_k scatters from pull to pull and from sheave to sheave, wanders along the rope and
 * swings once a turn.  The load has a trend, red noise, a surge and a stick-slip saw.  Cells have gain,
 * offset, drift, noise, steps, a delay and a first-order filter; the encoder has steps.
 *
 * Sources: Dahl, Aerospace Corporation TOR-0158 (1968), from memory; the rest is the author's idea of
 * a tackle, checked against no real one.
 */
#ifndef RV_TESTS_SIMRIG_H
#define RV_TESTS_SIMRIG_H

#include <stdbool.h>
#include <stdint.h>

enum { SIM_SHEAVES = 8, SIM_CELLS = 5 };

struct sim_cell {
	double weight[SIM_SHEAVES + 1]; /* of each leg's tension */
	double u_gain_ratio, u_offset_n, u_drift_n;
	double white_n, red_n, step_n;
	double delay_s, filter_s;
	int every; /* simulator steps between readings */
};

struct sim_setup {
	int sheaves;
	double efficiency[SIM_SHEAVES];
	double constant_n;	/* of each sheave, that no load changes */
	double excess_ratio;	/* of loss, paying out */
	double pull_log, sheave_log, along_log, along_m, turn_log, turn_m;
	double presliding_m;
	double stiffness_n, leg_m;
	double leg_n[2];   /* mean tension of a leg, of odd and of even cycles */
	double load_log;   /* scatter of the load, cycle to cycle, uniform, half-width */
	double red_ratio, red_s, surge_ratio, surge_hz, saw_ratio, saw_s, trend_ps;
	double load_friction; /* share of the load that turns with the motion */
	double speed_mps, speed_ratio; /* and its scatter from pull to pull */
	double haul_s, pay_s, hold_s;
	double encoder_m;
	int cycles, pays; /* cycles with paying out: the first so many */
	bool swap;	  /* from the middle on cells 0 and 1 stand exchanged */
	int cells;
	struct sim_cell cell[SIM_CELLS];
};

/* Four sheaves of 0.96, lead and dead end, two cells of 20 kN; five cycles. */
struct sim_setup sim_base(void);

/* What is told as it happens. */
struct sim_ears {
	void (*cell)(void *ear, int cell, double value_n, double t_s);
	void (*payout)(void *ear, double payout_m, double t_s);
	void *ear;
};

/* What the estimator is not told. */
struct sim_truth {
	double gain[SIM_CELLS], offset_n[SIM_CELLS];
	double length_s;
	double exchanged_s; /* when the cells changed places; infinite: never */
};

/* Plays a session; the same seed plays the same one. */
void sim_play(const struct sim_setup *setup, uint64_t seed, const struct sim_ears *ears,
	      struct sim_truth *truth);

/* From the seed, apart from the session's own: standard normal. */
double sim_normal(uint64_t *seed);
double sim_uniform(uint64_t *seed);

#endif
