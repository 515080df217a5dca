/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/pulls.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/convert.h"

/* Times handed to the streaming code begin here, as 0 means "never" there and delays go back. */
#define BEGIN_NS INT64_C(3600000000000)
/* A declared line speed may be too high, and the judgement of what turns must not be flattered:
 * what is reckoned with is less by twice its uncertainty of 15 %. */
#define SPEED_SHARE 0.7
/* Marks lie within 0.5 s of what they tell: what comes nearer their end than 1 s + 0.5 s is let go.
 */
#define MARK_WINDOW_S 1.2
#define WALK_S 0.02

void rv_pulls_init(struct rv_pulls *pulls, const struct rv_pulls_setup *setup, int64_t from_us)
{
	memset(pulls, 0, sizeof *pulls);
	pulls->setup = *setup;
	pulls->from_us = from_us;
	pulls->last = (double)NAN;
	rv_motion_init(&pulls->track, &setup->track);
	rv_pull_init(&pulls->pull, &setup->pull);
	bool walks = setup->motion < 0 && !isnan(setup->line_speed_mps);
	pulls->by_switch = (struct rv_motion_now){
	    .payout_m = walks ? 0.0 : (double)NAN,
	    .speed_mps = (double)NAN,
	    .travelled_m = (double)NAN,
	    .step_m = (double)NAN,
	    .window_s = setup->by == RV_ESTIMATE_BY_MARKS ? MARK_WINDOW_S : 0.0};
	pulls->walked_ns = BEGIN_NS;
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

/* Time goes on at the declared speed, until at_ns. */
static void walk(struct rv_pulls *pulls, int64_t at_ns)
{
	struct rv_motion_now *now = &pulls->by_switch;
	double speed_mps = SPEED_SHARE * pulls->setup.line_speed_mps;
	double dt_s = (double)(at_ns - pulls->walked_ns) * 1e-9;

	now->mono_ns = at_ns;
	if (isnan(speed_mps) || dt_s < WALK_S)
		return;
	bool in = now->motion == RV_MOTION_IN, moves = in || now->motion == RV_MOTION_OUT;
	now->speed_mps = !moves ? 0.0 : in ? -speed_mps : speed_mps;
	now->payout_m += now->speed_mps * dt_s;
	now->travelled_m = moves ? speed_mps * (double)(at_ns - now->since_ns) * 1e-9 : 0.0;
	pulls->walked_ns = at_ns;
	rv_pull_payout(&pulls->pull, now->payout_m, at_ns);
}

static void told(struct rv_pulls *pulls, enum rv_motion motion, int64_t at_ns)
{
	walk(pulls, at_ns);
	struct rv_motion_now was = pulls->by_switch;
	bool changed = rv_motion_see_switch(&pulls->by_switch, motion, at_ns);

	pulls->by_switch.payout_m = was.payout_m;
	pulls->by_switch.speed_mps = was.speed_mps;
	pulls->by_switch.window_s = was.window_s;
	pulls->by_switch.travelled_m =
	    changed && !isnan(pulls->setup.line_speed_mps) ? 0.0 : was.travelled_m;
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
	told(pulls, rv_motion_by_switch(&pulls->contacts), at_ns);
}

/* What the line does now, to the pull under way. */
static void look(struct rv_pulls *pulls, int64_t at_ns)
{
	bool by_track = pulls->setup.motion >= 0;
	struct rv_pull_result ended;

	if (by_track)
		(void)rv_motion_tick(&pulls->track, at_ns);
	else
		walk(pulls, at_ns);
	if (rv_pull_motion(&pulls->pull, by_track ? &pulls->track.now : &pulls->by_switch, at_ns,
			   &ended))
		keep(pulls, &ended);
}

void rv_pulls_see(struct rv_pulls *pulls, const struct rv_store_reading *reading)
{
	const struct rv_pulls_setup *setup = &pulls->setup;
	int64_t at_ns = BEGIN_NS + (reading->t_us - pulls->from_us) * 1000;

	if (setup->near < 0 || !setup->source)
		return;
	if (reading->channel == setup->near)
		rv_pull_see(&pulls->pull, RV_PULL_NEAR, reading->value, at_ns);
	else if (reading->channel == setup->far)
		rv_pull_see(&pulls->pull, RV_PULL_FAR, reading->value, at_ns);
	else if (reading->channel == setup->motion)
		see_position(pulls, reading, at_ns);
	else if (setup->by == RV_ESTIMATE_BY_SWITCH &&
		 (reading->channel == setup->motion_in || reading->channel == setup->motion_out))
		see_contact(pulls, reading, at_ns);
	else
		return;
	look(pulls, at_ns);
}

void rv_pulls_mark(struct rv_pulls *pulls, enum rv_mark_word word, int64_t t_us)
{
	int64_t at_ns = BEGIN_NS + (t_us - pulls->from_us) * 1000;

	if (pulls->setup.near < 0 || pulls->setup.by != RV_ESTIMATE_BY_MARKS)
		return;
	if (word == RV_MARK_HAULING)
		told(pulls, RV_MOTION_IN, at_ns);
	else if (word == RV_MARK_PAYING_OUT)
		told(pulls, RV_MOTION_OUT, at_ns);
	else if (word == RV_MARK_STOPPED)
		told(pulls, RV_MOTION_HOLD, at_ns);
	else
		return;
	look(pulls, at_ns);
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
