/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/pulls.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/convert.h"
#include "core/predict.h"
#include "core/pull_rope.h"
#include "core/rig_read.h"

/* Times handed to the streaming code begin here, as 0 means "never" there and delays go back. */
#define BEGIN_NS INT64_C(3600000000000)
#define LEAST_SHEAVES 1e-6

static int rig_cell_of(const struct rv_rig *rig, const struct rv_store_channels *channels, int i)
{
	const struct rv_channel *channel = &channels->channel[i].declared;

	if (channel->quantity != RV_TENSION || channel->cell[0] == '\0')
		return -1;
	return rv_rig_find_cell(rig, channel->cell);
}

/* The pair of channels between whose cells most sheaves lie; near is nearer the winch. */
static void choose_pair(const struct rv_predictor *predictor,
			const struct rv_store_channels *channels, struct rv_pulls_setup *setup)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);
	double most = LEAST_SHEAVES;

	for (int i = 0; i < channels->count; i++) {
		int near = rig_cell_of(rig, channels, i);
		int near_distance = near < 0 ? -1 : rv_predictor_cell_distance(predictor, near);
		for (int j = 0; near_distance >= 0 && j < channels->count; j++) {
			int far = rig_cell_of(rig, channels, j);
			if (j == i || far < 0 ||
			    rv_predictor_cell_distance(predictor, far) < near_distance)
				continue;
			double sheaves = fabs(rv_predictor_sheaves_between(predictor, near, far));
			if (!(sheaves > most))
				continue;
			most = sheaves;
			setup->near = i;
			setup->far = j;
		}
	}
	if (setup->near < 0)
		return;
	setup->pull = rv_pull_setup_of(&channels->channel[setup->near].declared,
				       &channels->channel[setup->far].declared, most);
	setup->pull.rope = rv_pull_rope_of(predictor, rig_cell_of(rig, channels, setup->near),
					   rig_cell_of(rig, channels, setup->far));
}

static int find_quantity(const struct rv_store_channels *channels, enum rv_quantity quantity)
{
	for (int i = 0; i < channels->count; i++)
		if (channels->channel[i].declared.quantity == quantity)
			return i;
	return -1;
}

static const struct rv_winch *winch_of(const struct rv_rig *rig, const struct rv_channel *channel)
{
	int winch = channel->winch[0] ? rv_rig_find_winch(rig, channel->winch) : 0;

	return winch >= 0 && winch < rig->winches ? &rig->winch[winch] : NULL;
}

static void choose_switches(const struct rv_store_channels *channels, struct rv_pulls_setup *setup)
{
	for (int i = 0; i < channels->count; i++) {
		const struct rv_channel *channel = &channels->channel[i].declared;
		if (channel->quantity != RV_SWITCH)
			continue;
		if (channel->motion == RV_MOTION_IN)
			setup->motion_in = i;
		else if (channel->motion == RV_MOTION_OUT)
			setup->motion_out = i;
	}
	if (setup->motion_in >= 0 || setup->motion_out >= 0)
		setup->source = "switch";
}

/* Payout before turns before contactors. */
static void choose_motion(const struct rv_rig *rig, const struct rv_store_channels *channels,
			  struct rv_pulls_setup *setup)
{
	setup->motion = find_quantity(channels, RV_PAYOUT);
	if (setup->motion >= 0) {
		setup->source = "payout";
		setup->track = (struct rv_motion_setup){
		    .step_m = rv_convert_step(&channels->channel[setup->motion].declared),
		    .metres_per_unit = 1.0,
		    .knows_metres = true};
		return;
	}
	setup->motion = find_quantity(channels, RV_TURNS);
	if (setup->motion < 0) {
		choose_switches(channels, setup);
		return;
	}
	const struct rv_channel *turns = &channels->channel[setup->motion].declared;
	const struct rv_winch *winch = winch_of(rig, turns);
	setup->source = "turns";
	/* A drum some 0.3 m across, where the rig does not say: for thresholds only. */
	setup->track = (struct rv_motion_setup){.metres_per_unit = M_PI * 0.3, .is_turns = true};
	setup->track.knows_metres =
	    winch && rv_motion_metres_per_turn(winch, &setup->track.metres_per_unit);
	setup->track.step_m = rv_convert_step(turns) * setup->track.metres_per_unit;
}

static void say_lack(struct rv_pulls_setup *setup)
{
	if (setup->why[0])
		return;
	if (setup->near < 0)
		snprintf(
		    setup->why, sizeof setup->why,
		    "no two channels read cells of the rig with a turning sheave between them");
	else if (!setup->source)
		snprintf(setup->why, sizeof setup->why,
			 "no channel tells how the line moves (payout, turns or switch)");
}

static enum rv_err look_at_rig(const struct rv_text *text, const struct rv_store_channels *channels,
			       struct rv_pulls_setup *setup)
{
	struct rv_predictor *predictor = NULL;
	struct rv_error why = {0};
	struct rv_rig *rig = calloc(1, sizeof *rig);

	if (!rig)
		return RV_ERR_NOMEM;
	enum rv_err err = rv_rig_read(text->data, text->len, rig, &why);
	if (err == RV_OK)
		err = rv_predictor_new(rig, &predictor, &why);
	if (err == RV_OK) {
		choose_pair(predictor, channels, setup);
		choose_motion(rig, channels, setup);
	} else {
		snprintf(setup->why, sizeof setup->why, "its rig cannot be solved: %.160s",
			 why.text);
	}
	rv_predictor_free(predictor);
	free(rig);
	return err == RV_ERR_NOMEM ? err : RV_OK;
}

enum rv_err rv_pulls_set_up(struct rv_store *store, int64_t number,
			    const struct rv_store_channels *channels, struct rv_pulls_setup *setup,
			    struct rv_error *error)
{
	struct rv_pulls_setup made = {
	    .near = -1, .far = -1, .motion = -1, .motion_in = -1, .motion_out = -1};
	struct rv_text text = {0};
	enum rv_err err = rv_store_run_texts(store, number, &text, NULL, error);

	if (err != RV_OK)
		return err;
	if (text.len == 0)
		snprintf(made.why, sizeof made.why, "it was declared without a rig");
	else if (look_at_rig(&text, channels, &made) != RV_OK)
		err = rv_err_set(error, RV_ERR_NOMEM, "no memory for the rig");
	rv_text_free(&text);
	if (err != RV_OK)
		return err;
	say_lack(&made);
	*setup = made;
	return RV_OK;
}

void rv_pulls_init(struct rv_pulls *pulls, const struct rv_pulls_setup *setup, int64_t from_us)
{
	memset(pulls, 0, sizeof *pulls);
	pulls->setup = *setup;
	pulls->from_us = from_us;
	pulls->last = (double)NAN;
	rv_motion_init(&pulls->track, &setup->track);
	rv_pull_init(&pulls->pull, &setup->pull);
	pulls->by_switch = (struct rv_motion_now){
	    .payout_m = (double)NAN, .speed_mps = (double)NAN, .travelled_m = (double)NAN};
	pulls->contacts.has_in = setup->motion_in >= 0;
	pulls->contacts.has_out = setup->motion_out >= 0;
}

static void keep(struct rv_pulls *pulls, const struct rv_pull_result *result)
{
	if (pulls->count == pulls->room) {
		size_t room = pulls->room ? 2 * pulls->room : 16;
		struct rv_pull_result *found = realloc(pulls->found, room * sizeof *found);
		if (!found) {
			pulls->failed = true;
			return;
		}
		pulls->found = found;
		pulls->room = room;
	}
	pulls->found[pulls->count] = *result;
	pulls->found[pulls->count].start_ns -= BEGIN_NS;
	pulls->found[pulls->count++].end_ns -= BEGIN_NS;
}

static void see_position(struct rv_pulls *pulls, const struct rv_store_reading *reading,
			 int64_t at_ns)
{
	double dt_s = (double)(reading->t_us - pulls->last_us) * 1e-6;
	double moved_m = fabs(reading->value - pulls->last) * pulls->setup.track.metres_per_unit;

	/* No line runs that fast: the counter was set anew. */
	if (moved_m >
	    RV_CONVERT_FASTEST_MPS * (dt_s + RV_CONVERT_LATE_S) + 2.0 * pulls->track.now.step_m) {
		rv_motion_restart(&pulls->track);
		rv_pull_payout_restart(&pulls->pull);
	}
	pulls->last = reading->value;
	pulls->last_us = reading->t_us;
	(void)rv_motion_see(&pulls->track, reading->value, at_ns);
	if (pulls->setup.track.knows_metres)
		rv_pull_payout(&pulls->pull, pulls->track.last_m, at_ns);
}

static void see_contact(struct rv_pulls *pulls, const struct rv_store_reading *reading,
			int64_t at_ns)
{
	bool closed = reading->value >= 0.5;

	if (reading->channel == pulls->setup.motion_in) {
		pulls->contacts.in_closed = closed;
		pulls->contacts.in_known = true;
	} else {
		pulls->contacts.out_closed = closed;
		pulls->contacts.out_known = true;
	}
	(void)rv_motion_see_switch(&pulls->by_switch, rv_motion_by_switch(&pulls->contacts), at_ns);
}

void rv_pulls_see(struct rv_pulls *pulls, const struct rv_store_reading *reading)
{
	const struct rv_pulls_setup *setup = &pulls->setup;
	int64_t at_ns = BEGIN_NS + (reading->t_us - pulls->from_us) * 1000;
	bool by_switch = setup->motion < 0;
	struct rv_pull_result ended;

	if (setup->near < 0 || !setup->source)
		return;
	if (reading->channel == setup->near)
		rv_pull_see(&pulls->pull, RV_PULL_NEAR, reading->value, at_ns);
	else if (reading->channel == setup->far)
		rv_pull_see(&pulls->pull, RV_PULL_FAR, reading->value, at_ns);
	else if (reading->channel == setup->motion)
		see_position(pulls, reading, at_ns);
	else if (by_switch &&
		 (reading->channel == setup->motion_in || reading->channel == setup->motion_out))
		see_contact(pulls, reading, at_ns);
	else
		return;
	if (!by_switch)
		(void)rv_motion_tick(&pulls->track, at_ns);
	if (rv_pull_motion(&pulls->pull, by_switch ? &pulls->by_switch : &pulls->track.now, at_ns,
			   &ended))
		keep(pulls, &ended);
}

void rv_pulls_end(struct rv_pulls *pulls)
{
	struct rv_pull_result running;

	if (rv_pull_running(&pulls->pull, &running))
		keep(pulls, &running);
}

void rv_pulls_free(struct rv_pulls *pulls)
{
	free(pulls->found);
	pulls->found = NULL;
	pulls->count = pulls->room = 0;
}
