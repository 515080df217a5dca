/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/pulls_setup.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/convert.h"
#include "core/pull_rope.h"
#include "core/rig_read.h"

#define LEAST_SHEAVES 1e-6
#define MARK_S                                                                                     \
	0.5 /* how far a person's mark may lie from what it tells; common practice, no source */

static const struct rv_pulls_setup nothing_chosen = {.near = -1,
						     .far = -1,
						     .near_cell = -1,
						     .far_cell = -1,
						     .motion = -1,
						     .motion_in = -1,
						     .motion_out = -1,
						     .line_speed_mps = (double)NAN};

static int rig_cell_of(const struct rv_rig *rig, const struct rv_store_channels *channels, int i)
{
	const struct rv_channel *channel = &channels->channel[i].declared;

	if (channel->quantity != RV_TENSION || channel->cell[0] == '\0')
		return -1;
	return rv_rig_find_cell(rig, channel->cell);
}

static int channel_of(const struct rv_rig *rig, const struct rv_store_channels *channels, int cell)
{
	for (int i = 0; i < channels->count; i++)
		if (cell >= 0 && rig_cell_of(rig, channels, i) == cell)
			return i;
	return -1;
}

static bool is_asked(const struct rv_rig *rig, const char *name, int cell)
{
	return !name || strcmp(rig->cell[cell].name, name) == 0;
}

/* The pair of cells, both read and both as asked for, between which most sheaves lie; near is
 * nearer the winch. */
static void choose_pair(const struct rv_predictor *predictor,
			const struct rv_store_channels *channels, const struct rv_pulls_ask *ask,
			struct rv_pulls_setup *setup)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);
	double most = LEAST_SHEAVES;

	for (int near = 0; near < rig->cells; near++) {
		int distance = channel_of(rig, channels, near) < 0
				   ? -1
				   : rv_predictor_cell_distance(predictor, near);
		for (int far = 0; distance >= 0 && far < rig->cells; far++) {
			bool asked =
			    (is_asked(rig, ask->near, near) && is_asked(rig, ask->far, far)) ||
			    (ask->near && ask->far && is_asked(rig, ask->near, far) &&
			     is_asked(rig, ask->far, near));
			if (far == near || !asked || channel_of(rig, channels, far) < 0 ||
			    rv_predictor_cell_distance(predictor, far) < distance)
				continue;
			double sheaves = fabs(rv_predictor_sheaves_between(predictor, near, far));
			if (!(sheaves > most))
				continue;
			most = sheaves;
			setup->near_cell = near;
			setup->far_cell = far;
		}
	}
	if (setup->near_cell < 0)
		return;
	setup->sheaves = most;
	setup->near = channel_of(rig, channels, setup->near_cell);
	setup->far = channel_of(rig, channels, setup->far_cell);
	setup->pull = rv_pull_setup_of(&channels->channel[setup->near].declared,
				       &channels->channel[setup->far].declared, most);
	setup->pull.rope = rv_pull_rope_of(predictor, setup->near_cell, setup->far_cell);
}

/* The one cell that is compared with the load, or with itself at another place. */
static void choose_one(const struct rv_predictor *predictor,
		       const struct rv_store_channels *channels, const struct rv_pulls_ask *ask,
		       struct rv_pulls_setup *setup)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);

	for (int cell = 0; cell < rig->cells && setup->near_cell < 0; cell++)
		if (is_asked(rig, ask->near, cell) && channel_of(rig, channels, cell) >= 0 &&
		    rv_predictor_cell_distance(predictor, cell) >= 0)
			setup->near_cell = cell;
	if (setup->near_cell < 0)
		return;
	setup->near = channel_of(rig, channels, setup->near_cell);
	const struct rv_channel *channel = &channels->channel[setup->near].declared;
	setup->pull = rv_pull_setup_of(channel, channel, 1.0);
	setup->pull.side[RV_PULL_FAR].floor_n = 0.0; /* the load of 1 N is never slack */
	setup->pull.rope = rv_pull_rope_of(predictor, setup->near_cell, -1);
	setup->pull.load_n = 1.0;
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
	if (setup->motion_in < 0 && setup->motion_out < 0)
		return;
	setup->source = "switch";
	setup->by = RV_ESTIMATE_BY_SWITCH;
}

static bool may_be(const struct rv_pulls_ask *ask, const char *source)
{
	return !ask->motion || strcmp(ask->motion, source) == 0;
}

static bool choose_payout(const struct rv_store_channels *channels, struct rv_pulls_setup *setup)
{
	setup->motion = find_quantity(channels, RV_PAYOUT);
	if (setup->motion < 0)
		return false;
	setup->source = "payout";
	setup->by = RV_ESTIMATE_BY_PAYOUT;
	setup->track = (struct rv_motion_setup){
	    .step_m = rv_convert_step(&channels->channel[setup->motion].declared),
	    .metres_per_unit = 1.0,
	    .knows_metres = true};
	return true;
}

static bool choose_turns(const struct rv_rig *rig, const struct rv_store_channels *channels,
			 struct rv_pulls_setup *setup)
{
	setup->motion = find_quantity(channels, RV_TURNS);
	if (setup->motion < 0)
		return false;
	const struct rv_channel *turns = &channels->channel[setup->motion].declared;
	const struct rv_winch *winch = winch_of(rig, turns);
	setup->source = "turns";
	setup->by = RV_ESTIMATE_BY_TURNS;
	/* A drum some 0.3 m across, where the rig does not say: for thresholds only. */
	setup->track = (struct rv_motion_setup){.metres_per_unit = M_PI * 0.3, .is_turns = true};
	setup->track.knows_metres =
	    winch && rv_motion_metres_per_turn(winch, &setup->track.metres_per_unit);
	setup->track.step_m = rv_convert_step(turns) * setup->track.metres_per_unit;
	return true;
}

/* Payout before turns before contactors; marks when they are asked for. */
static void choose_motion(const struct rv_rig *rig, const struct rv_store_channels *channels,
			  const struct rv_pulls_ask *ask, struct rv_pulls_setup *setup)
{
	if (may_be(ask, "payout") && choose_payout(channels, setup))
		return;
	if (may_be(ask, "turns") && choose_turns(rig, channels, setup))
		return;
	if (may_be(ask, "switch"))
		choose_switches(channels, setup);
	if (ask->motion && strcmp(ask->motion, "marks") == 0) {
		setup->source = "marks";
		setup->by = RV_ESTIMATE_BY_MARKS;
		setup->pull.more_guard_s = 2.0 * MARK_S;
	}
	if (setup->source)
		setup->line_speed_mps = ask->line_speed_mps;
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

static enum rv_err check_cell(const struct rv_rig *rig, const char *name, struct rv_error *error)
{
	char known[160] = "";

	if (!name || rv_rig_find_cell(rig, name) >= 0)
		return RV_OK;
	for (int i = 0; i < rig->cells; i++) {
		size_t len = strlen(known);
		snprintf(known + len, sizeof known - len, "%s%s", i ? ", " : "", rig->cell[i].name);
	}
	return rv_err_refuse(error, "name_unknown", "the rig has no cell \"%s\" (it has: %s)", name,
			     known[0] ? known : "none");
}

static bool is_source(const char *word)
{
	static const char *const sources[] = {"payout", "turns", "switch", "marks"};

	for (size_t i = 0; i < sizeof sources / sizeof sources[0]; i++)
		if (strcmp(word, sources[i]) == 0)
			return true;
	return false;
}

enum rv_err rv_pulls_choose(const struct rv_predictor *predictor,
			    const struct rv_store_channels *channels,
			    const struct rv_pulls_ask *ask, struct rv_pulls_setup *setup,
			    struct rv_error *error)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);
	struct rv_pulls_setup made = nothing_chosen;
	enum rv_err err = check_cell(rig, ask->near, error);

	if (err == RV_OK)
		err = check_cell(rig, ask->far, error);
	if (err != RV_OK)
		return err;
	if (ask->motion && !is_source(ask->motion))
		return rv_err_refuse(error, "name_unknown",
				     "nothing tells motion by \"%s\" (payout, turns, "
				     "switch, marks do)",
				     ask->motion);
	if (ask->one_cell)
		choose_one(predictor, channels, ask, &made);
	else
		choose_pair(predictor, channels, ask, &made);
	choose_motion(rig, channels, ask, &made);
	made.stiffness_known = made.near >= 0 && made.pull.rope.compliance_mpn > 0.0;
	say_lack(&made);
	*setup = made;
	return RV_OK;
}

static enum rv_err look_at_rig(const struct rv_text *text, const struct rv_store_channels *channels,
			       struct rv_pulls_setup *setup)
{
	const struct rv_pulls_ask ask = {.line_speed_mps = (double)NAN};
	struct rv_predictor *predictor = NULL;
	struct rv_error why = {0};
	struct rv_rig *rig = calloc(1, sizeof *rig);

	if (!rig)
		return RV_ERR_NOMEM;
	enum rv_err err = rv_rig_read(text->data, text->len, rig, &why);
	if (err == RV_OK)
		err = rv_predictor_new(rig, &predictor, &why);
	if (err == RV_OK)
		err = rv_pulls_choose(predictor, channels, &ask, setup, NULL);
	else
		snprintf(setup->why, sizeof setup->why, "its rig cannot be solved: %.160s",
			 why.text);
	rv_predictor_free(predictor);
	free(rig);
	return err == RV_ERR_NOMEM ? err : RV_OK;
}

enum rv_err rv_pulls_set_up(struct rv_store *store, int64_t number,
			    const struct rv_store_channels *channels, struct rv_pulls_setup *setup,
			    struct rv_error *error)
{
	struct rv_pulls_setup made = nothing_chosen;
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
