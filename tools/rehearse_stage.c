/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_stage.h"

#include <math.h>
#include <string.h>

#include "tools/rehearse_winch.h"

static const double OVERLOAD_RAMP_S = 1.5; /* an overload comes on and goes off over this */
static const double RUN_OUT_S = 0.3;	   /* a parted line runs off the drum over this */

static void begin_round(struct rv_rehearse_stage *stage)
{
	const struct rv_rehearse_scenario *scenario = stage->scenario;

	/* A line that parted is rigged anew; otherwise the truth goes on where it is. */
	if (stage->rounds == 0 || stage->plant.parted_s >= 0) {
		rv_rehearse_plant_init(&stage->plant, scenario);
		stage->plant.dice.state += (uint64_t)stage->rounds;
	}
	stage->round_start_s = stage->now_s;
	stage->rounds++;
}

static int lowest_port(const struct rv_rehearse_scenario *scenario)
{
	int lowest = 65536;

	for (int i = 0; i < scenario->instruments; i++)
		if (scenario->instrument[i].link == RV_REHEARSE_TCP &&
		    scenario->instrument[i].port < lowest)
			lowest = scenario->instrument[i].port;
	return lowest;
}

enum rv_err rv_rehearse_stage_open(struct rv_rehearse_stage *stage,
				   const struct rv_rehearse_scenario *scenario,
				   struct rv_rehearse_setup setup, struct rv_error *error)
{
	enum rv_err err = RV_OK;

	memset(stage, 0, sizeof *stage);
	stage->scenario = scenario;
	stage->dice.state = scenario->seed ^ 0x5eedU;
	for (int i = 0; i < scenario->cells; i++)
		rv_rehearse_sensor_init(&stage->sensor[i], &scenario->cell[i]);
	for (int i = 0; i < scenario->instruments; i++) {
		struct rv_rehearse_talker *talker = &stage->talker[i];
		int port = scenario->instrument[i].port;
		talker->scenario = scenario;
		talker->instrument = i;
		talker->dice = &stage->dice;
		if (setup.base_port > 0)
			port += setup.base_port - lowest_port(scenario);
		rv_rehearse_wire_init(&talker->wire, &scenario->instrument[i], port, setup.wires);
	}
	for (int i = 0; i < scenario->instruments && err == RV_OK; i++)
		err = rv_rehearse_wire_plug(&stage->talker[i].wire, error);
	if (err != RV_OK)
		rv_rehearse_stage_close(stage);
	begin_round(stage);
	return err;
}

static void begin_fault(struct rv_rehearse_stage *stage, int index)
{
	const struct rv_rehearse_fault *fault = &stage->scenario->fault[index];

	if (fault->kind == RV_REHEARSE_PARTS)
		rv_rehearse_plant_part(&stage->plant);
	else if (fault->kind == RV_REHEARSE_DEAD_CELL)
		stage->sensor[fault->cell].dead = true;
	else if (fault->kind == RV_REHEARSE_ZEROED)
		rv_rehearse_sensor_zero(&stage->sensor[fault->cell], true);
	else if (fault->kind == RV_REHEARSE_UNPLUGGED)
		rv_rehearse_wire_unplug(&stage->talker[fault->instrument].wire);
}

/* False = it could not be ended yet. */
static bool end_fault(struct rv_rehearse_stage *stage, int index)
{
	const struct rv_rehearse_fault *fault = &stage->scenario->fault[index];

	if (fault->kind == RV_REHEARSE_DEAD_CELL)
		stage->sensor[fault->cell].dead = false;
	else if (fault->kind == RV_REHEARSE_ZEROED)
		rv_rehearse_sensor_zero(&stage->sensor[fault->cell], false);
	else if (fault->kind == RV_REHEARSE_UNPLUGGED)
		return rv_rehearse_wire_plug(&stage->talker[fault->instrument].wire, NULL) == RV_OK;
	return true;
}

static void work_faults(struct rv_rehearse_stage *stage, double round_s)
{
	for (int i = 0; i < stage->scenario->faults; i++) {
		bool active = rv_rehearse_talk_is_active(&stage->scenario->fault[i], round_s);
		if (active && !stage->active[i]) {
			begin_fault(stage, i);
			stage->begun[i]++;
			stage->active[i] = true;
		} else if (!active && stage->active[i]) {
			stage->active[i] = !end_fault(stage, i);
		}
	}
}

/* Rises from 0 to 1 and falls again at the end of the fault. */
static double swell(const struct rv_rehearse_fault *fault, double round_s)
{
	double since = (round_s - fault->at_s) / OVERLOAD_RAMP_S;
	double left = (fault->at_s + fault->for_s - round_s) / OVERLOAD_RAMP_S;
	return fmin(1, fmax(0, fmin(since, left)));
}

/* What the faults do to line and load now. */
static struct rv_rehearse_drive disturb(const struct rv_rehearse_stage *stage, double round_s,
					struct rv_rehearse_drive drive)
{
	for (int i = 0; i < stage->scenario->faults; i++) {
		const struct rv_rehearse_fault *fault = &stage->scenario->fault[i];
		double since_s = round_s - fault->at_s;
		if (!rv_rehearse_talk_is_active(fault, round_s))
			continue;
		if (fault->kind == RV_REHEARSE_CREEPS)
			drive.speed_mps += fault->speed_mps;
		else if (fault->kind == RV_REHEARSE_OVERLOAD)
			drive.load_factor *= 1 + fault->by * swell(fault, round_s);
		else if (fault->kind == RV_REHEARSE_SURGES)
			drive.load_factor *= 1 + fault->by * fmod(since_s / fault->every_s, 1);
		else if (fault->kind == RV_REHEARSE_PARTS && since_s < RUN_OUT_S)
			drive.speed_mps += fault->by / RUN_OUT_S;
	}
	return drive;
}

static double truth(const struct rv_rehearse_stage *stage, int instrument,
		    const struct rv_rehearse_field *field, double written)
{
	const struct rv_rehearse_plant *plant = &stage->plant;
	int alive = field->cell < 0 ? RV_REHEARSE_CELLS : field->cell;

	switch (field->shows) {
	case RV_REHEARSE_SHOWS_CELL:
		return stage->sensor[field->cell].shown_n;
	case RV_REHEARSE_SHOWS_PAYOUT:
		return plant->payout_m;
	case RV_REHEARSE_SHOWS_TRAVEL:
		return plant->travel_m;
	case RV_REHEARSE_SHOWS_HAULING:
		return plant->speed_mps < 0;
	case RV_REHEARSE_SHOWS_PAYING:
		return plant->speed_mps > 0;
	case RV_REHEARSE_SHOWS_ALIVE:
		return (double)(stage->alive[instrument][alive] % 65536);
	case RV_REHEARSE_SHOWS_NUMBER:
		return field->number;
	case RV_REHEARSE_SHOWS_WRITTEN:
		return written;
	}
	return 0;
}

static bool is_whole(const struct rv_rehearse_instrument *instrument,
		     const struct rv_rehearse_field *field)
{
	if (instrument->link == RV_REHEARSE_TEXT)
		return !field->unit[0]; /* a count */
	return field->type != RV_REHEARSE_FLOAT32 && field->type != RV_REHEARSE_FLOAT64;
}

/* The instrument takes new readings. */
static void refresh(struct rv_rehearse_stage *stage, int index)
{
	const struct rv_rehearse_instrument *instrument = &stage->scenario->instrument[index];
	struct rv_rehearse_talker *talker = &stage->talker[index];
	bool read[RV_REHEARSE_CELLS] = {false};

	for (int i = 0; i < instrument->fields; i++) {
		const struct rv_rehearse_field *field = &instrument->field[i];
		if (field->shows == RV_REHEARSE_SHOWS_CELL && !read[field->cell]) {
			read[field->cell] = true;
			(void)rv_rehearse_sensor_read(&stage->sensor[field->cell], &stage->dice);
		}
	}
	for (int i = 0; i < stage->scenario->cells; i++)
		stage->alive[index][i] += !stage->sensor[i].dead;
	stage->alive[index][RV_REHEARSE_CELLS]++;
	for (int i = 0; i < instrument->fields; i++) {
		const struct rv_rehearse_field *field = &instrument->field[i];
		double shown =
		    field->zero + truth(stage, index, field, talker->shown[i]) / field->per_count;
		if (is_whole(instrument, field))
			shown = round(shown);
		if (field->wraps_at > 0)
			shown -= field->wraps_at * floor(shown / field->wraps_at);
		talker->shown[i] = shown;
	}
}

static void refresh_due(struct rv_rehearse_stage *stage, struct rv_rehearse_moment at)
{
	for (int i = 0; i < stage->scenario->instruments; i++) {
		const struct rv_rehearse_instrument *instrument = &stage->scenario->instrument[i];
		if (at.now_s < stage->next_refresh_s[i])
			continue;
		stage->next_refresh_s[i] += instrument->refresh_s;
		refresh(stage, i);
		if (instrument->link == RV_REHEARSE_TEXT && instrument->ask_len == 0)
			rv_rehearse_talk_line(&stage->talker[i], at);
	}
}

static void step(struct rv_rehearse_stage *stage)
{
	const struct rv_rehearse_scenario *scenario = stage->scenario;
	double step_s = scenario->step_s;
	double before_s = stage->now_s - stage->round_start_s;
	double after_s = before_s + step_s;

	work_faults(stage, after_s);
	double moved_m = rv_rehearse_winch_out_m(&scenario->winch, after_s) -
			 rv_rehearse_winch_out_m(&scenario->winch, before_s);
	bool turns = fabs(moved_m) > 0;
	struct rv_rehearse_drive drive = {
	    .speed_mps = moved_m / step_s, .winch_turns = turns, .load_factor = 1};
	rv_rehearse_plant_step(&stage->plant, disturb(stage, after_s, drive), step_s);
	for (int i = 0; i < scenario->cells; i++)
		rv_rehearse_sensor_step(&stage->sensor[i], &stage->plant, step_s);
	stage->now_s += step_s;
	refresh_due(stage, (struct rv_rehearse_moment){stage->now_s, after_s});
	if (after_s < scenario->lasts_s)
		return;
	stage->over = stage->rounds == scenario->rounds;
	if (!stage->over) {
		work_faults(stage, -1);
		begin_round(stage);
	}
}

bool rv_rehearse_stage_play(struct rv_rehearse_stage *stage, double until_s)
{
	const struct rv_rehearse_scenario *scenario = stage->scenario;

	while (stage->now_s < until_s && !stage->over)
		step(stage);
	if (stage->over)
		return false;
	struct rv_rehearse_moment at = {stage->now_s, stage->now_s - stage->round_start_s};
	for (int i = 0; i < scenario->instruments; i++) {
		rv_rehearse_wire_serve(&stage->talker[i].wire, stage->now_s);
		rv_rehearse_talk_answer(&stage->talker[i], at);
	}
	return true;
}

int rv_rehearse_stage_polls(const struct rv_rehearse_stage *stage, struct pollfd *polls)
{
	int count = 0;

	for (int i = 0; i < stage->scenario->instruments; i++)
		count += rv_rehearse_wire_polls(&stage->talker[i].wire, polls + count);
	return count;
}

void rv_rehearse_stage_close(struct rv_rehearse_stage *stage)
{
	for (int i = 0; i < stage->scenario->instruments; i++)
		rv_rehearse_wire_unplug(&stage->talker[i].wire);
}
