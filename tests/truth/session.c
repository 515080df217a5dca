/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/truth/session.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define BEGIN_NS INT64_C(3600000000000)
#define NS(t) (BEGIN_NS + (int64_t)((t)*1e9))
#define LAG_MOST_S 0.06

double session_curve(const void *sim, double x, enum rv_motion motion)
{
	const struct sim_setup *setup = sim;
	double way = motion == RV_MOTION_OUT ? -1.0 : 1.0, sum[2] = {0.0, 0.0};

	for (int i = 0; i < 2; i++)
		for (int k = 0; k <= setup->sheaves; k++)
			sum[i] += setup->cell[i].weight[k] * exp(way * k * x);
	return log(sum[1] / sum[0]);
}

struct heard {
	double value, t_s;
	int cell; /* -1 = line out */
};

/* What the session told, kept so that a second pass need not play it again. */
struct tape {
	struct heard *heard;
	size_t count, room;
};

struct ear {
	struct session *session;
	struct rv_motion_track track;
	struct rv_pull pull;
};

static void keep(struct tape *tape, int cell, double value, double t_s)
{
	if (tape->count == tape->room) {
		tape->room = tape->room ? 2 * tape->room : 1 << 16;
		tape->heard = realloc(tape->heard, tape->room * sizeof *tape->heard);
		if (!tape->heard)
			abort();
	}
	tape->heard[tape->count++] = (struct heard){.value = value, .t_s = t_s, .cell = cell};
}

static void keep_cell(void *tape, int cell, double value_n, double t_s)
{
	if (cell < 2)
		keep(tape, cell, value_n, t_s);
}

static void keep_payout(void *tape, double payout_m, double t_s)
{
	keep(tape, -1, payout_m, t_s);
}

static void look(struct ear *ear, double t_s)
{
	struct rv_pull_result ended;

	(void)rv_motion_tick(&ear->track, NS(t_s));
	if (!rv_pull_motion(&ear->pull, &ear->track.now, NS(t_s), &ended))
		return;
	ended.start_ns -= BEGIN_NS;
	ended.end_ns -= BEGIN_NS;
	rv_facts_add(&ear->session->facts, &ended);
}

static void hear(struct ear *ear, const struct heard *heard)
{
	if (heard->cell >= 0) {
		rv_pull_see(&ear->pull, heard->cell == 0 ? RV_PULL_NEAR : RV_PULL_FAR, heard->value,
			    NS(heard->t_s));
	} else {
		(void)rv_motion_see(&ear->track, heard->value, NS(heard->t_s));
		rv_pull_payout(&ear->pull, ear->track.last_m, NS(heard->t_s));
	}
	look(ear, heard->t_s);
}

static double legs_seen(const struct sim_setup *sim, int cell)
{
	double sum = 0.0;

	for (int k = 0; k <= sim->sheaves; k++)
		sum += sim->cell[cell].weight[k];
	return sum;
}

static void pass(struct session *session, const struct rv_pull_setup *setup,
		 const struct tape *tape)
{
	static struct ear ear;
	const struct rv_motion_setup line = {
	    .step_m = session->sim->encoder_m, .metres_per_unit = 1.0, .knows_metres = true};

	ear.session = session;
	rv_facts_init(&session->facts, 0);
	rv_motion_init(&ear.track, &line);
	rv_pull_init(&ear.pull, setup);
	for (size_t i = 0; i < tape->count; i++)
		hear(&ear, &tape->heard[i]);
	rv_facts_end(&session->facts);
}

/* From the middle on each cell told of the other's place. */
static void turn_exchanged(struct session *session)
{
	double half_s = session->truth.exchanged_s;

	for (int i = 0; i < session->facts.count; i++) {
		struct rv_estimate_pull *pull = &session->facts.pull[i];
		double near_n = pull->near_n;

		if (!(pull->start_s >= half_s))
			continue;
		pull->exchanged = true;
		pull->near_n = pull->far_n;
		pull->far_n = near_n;
		pull->log_ratio = -pull->log_ratio;
		pull->surge_log = -pull->surge_log;
	}
}

void session_play(const struct sim_setup *sim, const struct session_told *told, uint64_t seed,
		  struct session *session)
{
	uint64_t own = seed ^ UINT64_C(0x5bd1e995a5a5a5a5);
	double off = told->stiffness_log * (2.0 * sim_uniform(&own) - 1.0);
	struct rv_pull_setup setup = {
	    .sheaves = sim->sheaves,
	    .rope = {.slowest_ratio = sim->sheaves,
		     .compliance_mpn = sim->leg_m / sim->stiffness_n * exp(off),
		     .legs_seen = {legs_seen(sim, 0), legs_seen(sim, 1)}}};

	memset(session, 0, sizeof *session);
	session->sim = sim;
	for (int i = 0; i < 2; i++) {
		const struct sim_cell *cell = &sim->cell[i];

		setup.side[i] = (struct rv_pull_side){
		    .delay_s = cell->delay_s + cell->filter_s + told->u_delay_s * sim_normal(&own),
		    .floor_n = 10.0 * (cell->u_offset_n + cell->step_n)};
		session->run.cell[i] = (struct rv_estimate_cell){
		    .name = i ? "far" : "near",
		    .u_gain_ratio = told->gain_unknown ? (double)NAN : told->u_gain_ratio,
		    .u_zero_n = cell->u_offset_n,
		    .u_drift_n = cell->u_drift_n,
		    .u_inverse_n = (double)NAN,
		    .capacity_n = 20e3,
		    .delay_s = setup.side[i].delay_s};
	}
	session->run.number = 1;
	rv_estimate_setup_init(&session->setup);
	session->setup.run = &session->run;
	session->setup.runs = 1;
	session->setup.curve =
	    (struct rv_estimate_curve){.log_ratio = session_curve, .rig = session->sim};
	session->setup.stiffness_known = true;
	session->setup.speed_known = true;
	struct tape tape = {.count = 0};
	const struct sim_ears ears = {.cell = keep_cell, .payout = keep_payout, .ear = &tape};
	sim_play(sim, seed, &ears, &session->truth);
	pass(session, &setup, &tape);
	session->lag_s = rv_facts_lag_s(&session->facts);
	if (fabs(session->lag_s) <= LAG_MOST_S) {
		setup.side[RV_PULL_FAR].delay_s += session->lag_s;
		pass(session, &setup, &tape);
	}
	free(tape.heard);
	turn_exchanged(session);
}
