/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/engine_intake.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "daemon/engine_alarms.h"
#include "daemon/engine_geometry.h"
#include "daemon/engine_loads.h"
#include "daemon/engine_pull.h"
#include "daemon/engine_runs.h"

/* A number older than this is not shown as live: within 1 s of the last good reading the page says
 * so, and the page itself needs a part of that second. */
#define STALE_S 0.7

static void put(struct rv_engine *engine, const struct rv_entry *entry)
{
	/* A full ring is counted by the recorder and raises the alarm `record`; there is nothing
	 * that could be done here. */
	if (rv_engine_put(engine, entry) != RV_OK)
		engine->news = true;
}

void rv_engine_intake_init(struct rv_engine *engine, const struct rv_recorder_start *found)
{
	for (int i = 0; i < engine->station->channels; i++) {
		const struct rv_channel *channel = &engine->station->channel[i];
		struct rv_engine_channel *state = &engine->channel[i];
		rv_convert_init(&state->convert, channel);
		rv_convert_set(&state->convert, &found->in_force[i].conversion);
		state->peak = (double)NAN;
		state->last.value = state->last.raw = (double)NAN;
		state->last.quality = RV_BAD;
		state->last.cause = RV_CAUSE_NO_COMMUNICATION;
		state->stale_s = STALE_S;
		if (channel->quantity == RV_OTHER) {
			double every_s = engine->station->device[channel->device].every_s;
			if (3.0 * every_s > STALE_S)
				state->stale_s = 3.0 * every_s;
		}
	}
}

/* The channel of that quantity which belongs to a winch's line, or -1. */
static int channel_of(const struct rv_engine *engine, int winch, enum rv_quantity quantity)
{
	for (int i = 0; i < engine->station->channels; i++)
		if (engine->station->channel[i].quantity == quantity &&
		    engine->channel[i].winch == winch)
			return i;
	return -1;
}

void rv_engine_intake_ropes(struct rv_engine *engine)
{
	const struct rv_rig *rig = engine->ground ? &engine->ground->rig : NULL;

	engine->ropes = rig && rig->winches > 0 ? rig->winches : 1;
	for (int i = 0; i < engine->ropes; i++) {
		struct rv_engine_rope *rope = &engine->rope[i];
		struct rv_motion_setup setup = {
		    .step_m = (double)NAN,
		    .metres_per_unit = 1.0,
		    .knows_metres = true,
		};
		rope->encoder = channel_of(engine, i, RV_PAYOUT);
		if (rope->encoder < 0) {
			rope->encoder = channel_of(engine, i, RV_TURNS);
			setup.is_turns = true;
			setup.knows_metres =
			    rig && i < rig->winches &&
			    rv_motion_metres_per_turn(&rig->winch[i], &setup.metres_per_unit);
		}
		if (rope->encoder >= 0)
			setup.step_m = rv_convert_step(&engine->station->channel[rope->encoder]) *
				       setup.metres_per_unit;
		rv_motion_init(&rope->track, &setup);
		rope->contacts = (struct rv_motion_switch){0};
		for (int k = 0; k < engine->station->channels; k++) {
			const struct rv_channel *channel = &engine->station->channel[k];
			if (channel->quantity != RV_SWITCH || engine->channel[k].winch != i)
				continue;
			rope->contacts.has_in |= channel->motion == RV_MOTION_IN;
			rope->contacts.has_out |= channel->motion == RV_MOTION_OUT;
		}
		rope->by_switch = rope->track.now;
		rope->now = rope->track.now;
	}
}

static void note_quality(struct rv_engine *engine, int channel, int64_t mono_ns)
{
	struct rv_engine_channel *state = &engine->channel[channel];
	enum rv_quality quality = state->last.quality;
	enum rv_cause cause = quality == RV_GOOD ? RV_CAUSE_NONE : state->last.cause;

	if (quality == state->noted_quality && cause == state->noted_cause)
		return;
	struct rv_entry entry = {.kind = RV_ENTRY_QUALITY, .t_us = rv_clock_row_us(mono_ns)};
	entry.quality.channel = channel;
	entry.quality.quality = quality;
	entry.quality.cause = cause;
	put(engine, &entry);
	state->noted_quality = quality;
	state->noted_cause = cause;
}

static void note_conversion(struct rv_engine *engine, int channel, int64_t mono_ns)
{
	struct rv_entry entry = {.kind = RV_ENTRY_CONVERSION, .t_us = rv_clock_row_us(mono_ns)};

	entry.conversion.channel = channel;
	entry.conversion.conversion = rv_convert_in_force(&engine->channel[channel].convert);
	snprintf(entry.conversion.why, sizeof entry.conversion.why, "wrap");
	put(engine, &entry);
}

/* The motion that counts: the encoder's while it has one, else the contactors'. */
static void settle_motion(struct rv_engine *engine, int winch, int64_t mono_ns)
{
	struct rv_engine_rope *rope = &engine->rope[winch];
	enum rv_motion commanded = rv_motion_by_switch(&rope->contacts);

	rv_motion_see_switch(&rope->by_switch, commanded, mono_ns);
	rope->now = rope->track.now.motion != RV_MOTION_UNKNOWN ? rope->track.now : rope->by_switch;
	rv_guards_motion(&engine->guards, winch, &rope->now, commanded, mono_ns);
	if (winch == 0)
		rv_engine_pull_motion(engine, mono_ns);
}

static void restart(struct rv_engine *engine, int winch)
{
	rv_motion_restart(&engine->rope[winch].track);
	rv_engine_geometry_restart(engine, winch);
}

static void move(struct rv_engine *engine, int channel, int64_t mono_ns)
{
	const struct rv_channel *declared = &engine->station->channel[channel];
	const struct rv_reading *reading = &engine->channel[channel].last;
	int winch = engine->channel[channel].winch;

	if (winch < 0 || winch >= engine->ropes)
		return;
	struct rv_engine_rope *rope = &engine->rope[winch];
	if (declared->quantity == RV_SWITCH) {
		bool known = reading->quality == RV_GOOD;
		bool closed = known && reading->value > 0.5;
		if (declared->motion == RV_MOTION_IN) {
			rope->contacts.in_known = known;
			rope->contacts.in_closed = closed;
		} else {
			rope->contacts.out_known = known;
			rope->contacts.out_closed = closed;
		}
	} else if (channel == rope->encoder && reading->quality != RV_BAD) {
		if (reading->restarted)
			restart(engine, winch);
		rv_motion_see(&rope->track, reading->value, mono_ns);
		rv_engine_pull_position(engine, winch, reading->restarted, mono_ns);
	} else {
		return;
	}
	settle_motion(engine, winch, mono_ns);
}

static void count_rate(struct rv_engine_channel *state, int64_t mono_ns)
{
	double span_s = rv_engine_seconds(mono_ns - state->rate_from_ns);

	state->rate_count++;
	if (span_s < 1.0)
		return;
	/* The first span begins before the first reading and says nothing. */
	if (state->rate_from_ns != 0)
		state->rate_hz = (double)state->rate_count / span_s;
	state->rate_from_ns = mono_ns;
	state->rate_count = 0;
}

static void take_reading(struct rv_engine *engine, int channel, int64_t mono_ns)
{
	struct rv_engine_channel *state = &engine->channel[channel];
	const struct rv_channel *declared = &engine->station->channel[channel];
	const struct rv_reading *reading = &state->last;

	state->last_ns = mono_ns;
	if (reading->quality != RV_BAD) {
		state->good_ns = mono_ns;
		count_rate(state, mono_ns);
		if (declared->quantity == RV_TENSION &&
		    reading->value > engine->station->open_above_n)
			rv_engine_runs_loaded(engine, mono_ns);
		/* After a run has begun with it: its peak is the run's. */
		if (isnan(state->peak) || reading->value > state->peak)
			state->peak = reading->value;
	}
	note_quality(engine, channel, mono_ns);
	uint64_t looked = rv_conditions_reading(&engine->conditions, channel, reading, mono_ns);
	rv_engine_alarms_rules(engine, looked, mono_ns);
	rv_guards_reading(&engine->guards, channel, reading, mono_ns);
	if (declared->quantity == RV_TENSION)
		rv_engine_pull_reading(engine, channel, mono_ns);
	else
		move(engine, channel, mono_ns);
}

static void take_message(struct rv_engine *engine, const struct rv_intake *intake)
{
	struct rv_entry entry = {.kind = RV_ENTRY_MESSAGE};
	bool tension = false;

	entry.message = intake->message;
	entry.t_us = rv_clock_row_us(intake->message.mono_ns);
	engine->device[intake->message.device].messages += intake->message.part == 0;
	for (int i = 0; i < entry.message.count; i++) {
		int channel = rv_station_channel_at(engine->station, entry.message.device,
						    entry.message.part * RV_MESSAGE_VALUES + i);
		struct rv_value *value = &entry.message.values[i];
		struct rv_reading reading;
		if (channel < 0)
			continue;
		struct rv_engine_channel *state = &engine->channel[channel];
		if (!rv_convert_take(&state->convert, value, intake->message.mono_ns, &reading))
			continue;
		if (reading.repeat) {
			value->raw.kind = RV_RAW_NONE;
			state->good_ns = intake->message.mono_ns;
			continue;
		}
		state->last = reading;
		if (reading.rolled_over)
			note_conversion(engine, channel, intake->message.mono_ns);
		value->quality = reading.quality;
		value->cause = reading.cause;
		tension |= engine->station->channel[channel].quantity == RV_TENSION;
		take_reading(engine, channel, intake->message.mono_ns);
	}
	put(engine, &entry);
	if (tension)
		rv_engine_loads_update(engine, intake->message.mono_ns);
	rv_engine_alarms_guards(engine, intake->message.mono_ns);
}

static void tell_lost(struct rv_engine *engine, struct rv_engine_device *device)
{
	if (device->losing.device.count == 0)
		return;
	put(engine, &device->losing);
	device->losing.device.count = 0;
}

void rv_engine_intake_tell_lost(struct rv_engine *engine)
{
	for (int i = 0; i < engine->station->devices; i++)
		tell_lost(engine, &engine->device[i]);
}

/* Neighbouring losses of one kind become one row: kind, count and span. */
static void count_lost(struct rv_engine *engine, const struct rv_intake *intake)
{
	struct rv_engine_device *device = &engine->device[intake->device];
	struct rv_entry *losing = &device->losing;
	int64_t t_us = rv_clock_row_us(intake->mono_ns);

	device->lost += intake->missed;
	device->fault = intake->fault;
	snprintf(device->text, sizeof device->text, "%s", intake->text);
	if (losing->device.count > 0 && losing->device.fault != intake->fault)
		tell_lost(engine, device);
	if (losing->device.count == 0) {
		*losing = (struct rv_entry){.kind = RV_ENTRY_DEVICE, .t_us = t_us};
		losing->device.device = intake->device;
		losing->device.fault = intake->fault;
		snprintf(losing->device.what, sizeof losing->device.what, "lost");
		snprintf(losing->device.text, sizeof losing->device.text, "%s", intake->text);
	}
	losing->device.count += intake->missed;
	losing->device.until_us = t_us;
}

static void open_or_close(struct rv_engine *engine, const struct rv_intake *intake)
{
	struct rv_engine_device *device = &engine->device[intake->device];
	const char *name = engine->station->device[intake->device].name;
	bool open = intake->kind == RV_INTAKE_OPENED;
	struct rv_entry entry = {.kind = RV_ENTRY_DEVICE, .t_us = rv_clock_row_us(intake->mono_ns)};

	tell_lost(engine, device);
	device->is_open = open;
	if (!open) {
		device->fault = intake->fault;
		snprintf(device->text, sizeof device->text, "%s", intake->text);
	}
	entry.device.device = intake->device;
	entry.device.fault = intake->fault;
	entry.device.until_us = entry.t_us;
	snprintf(entry.device.what, sizeof entry.device.what, "%s", open ? "opened" : "closed");
	snprintf(entry.device.text, sizeof entry.device.text, "%s", intake->text);
	put(engine, &entry);
	if (open)
		rv_log(RV_LOG_NOTICE, "device", "%s: answers", name);
	else
		rv_log(RV_LOG_WARNING, "device", "%s: %s: %s", name,
		       rv_intake_fault_name(intake->fault), intake->text);
	rv_guards_device(&engine->guards, intake->device, !open, intake->text);
	rv_engine_alarms_guards(engine, intake->mono_ns);
}

void rv_engine_intake_take(struct rv_engine *engine, const struct rv_intake *intake)
{
	switch (intake->kind) {
	case RV_INTAKE_MESSAGE:
		take_message(engine, intake);
		break;
	case RV_INTAKE_LOST:
		count_lost(engine, intake);
		break;
	case RV_INTAKE_OPENED:
	case RV_INTAKE_CLOSED:
		open_or_close(engine, intake);
		break;
	case RV_INTAKE_WISH:
	case RV_INTAKE_OUTPUT_FAILED:
	case RV_INTAKE_OUTPUT_WORKS:
		break;
	}
}

void rv_engine_intake_tick(struct rv_engine *engine, int64_t mono_ns)
{
	for (int i = 0; i < engine->station->channels; i++) {
		struct rv_engine_channel *state = &engine->channel[i];
		if (state->last.quality == RV_BAD || rv_engine_loads_is_live(state, mono_ns))
			continue;
		state->last.quality = RV_BAD;
		state->last.cause = RV_CAUSE_NO_COMMUNICATION;
		state->last.value = (double)NAN;
		state->rate_hz = 0.0;
		state->rate_from_ns = 0;
		state->rate_count = 0;
		note_quality(engine, i, mono_ns);
		if (engine->station->channel[i].quantity == RV_TENSION)
			rv_engine_pull_reading(engine, i, mono_ns);
		else /* a contactor nobody hears from says nothing any more */
			move(engine, i, mono_ns);
	}
	for (int i = 0; i < engine->ropes; i++) {
		rv_motion_tick(&engine->rope[i].track, mono_ns);
		settle_motion(engine, i, mono_ns);
	}
	rv_guards_tick(&engine->guards, mono_ns);
	if (rv_engine_geometry_tick(engine, mono_ns))
		rv_engine_loads_measures(engine);
	rv_engine_loads_update(engine, mono_ns);
}
