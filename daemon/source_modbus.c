/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/source_modbus.h"

#include <stdlib.h>
#include <string.h>

#include "core/vitals.h"
#include "daemon/clock.h"
#include "daemon/modbus_link.h"
#include "daemon/pace.h"

/* How long one call waits at most for its slot or for quiet, so that it can be stopped. */
static const int64_t SLICE_NS = 100000000;

struct modbus_source {
	struct rv_source base;
	struct rv_modbus_link *link;
	struct rv_pace pace;
	bool has_run;
	enum rv_fault gap_fault; /* why slots passed since the wire was lost */
	int64_t settled_ns;
	bool bridge;
	struct rv_regs_plan plan;
	int channel[RV_CHANNELS]; /* by place */
	struct rv_vitals vitals[RV_CHANNELS];
	struct rv_value values[RV_CHANNELS];
	bool is_read[RV_REGS_REQUESTS];
	struct rv_modbus_answer answer[RV_REGS_REQUESTS];
};

static const struct rv_device *device_of(const struct modbus_source *source)
{
	return &source->base.station->device[source->base.device];
}

static enum rv_err make_plan(struct modbus_source *source, bool bridge, struct rv_error *error)
{
	enum rv_err err =
	    rv_regs_plan(source->base.station, source->base.device, bridge, &source->plan, error);

	source->bridge = bridge;
	if (err == RV_OK)
		rv_modbus_link_expect(source->link, &source->plan);
	return err;
}

static enum rv_err modbus_open(struct rv_source *base, enum rv_fault *fault, struct rv_error *error)
{
	struct modbus_source *source = (struct modbus_source *)base;
	enum rv_err err = make_plan(source, true, error);

	*fault = RV_FAULT_UNREACHABLE;
	if (err != RV_OK)
		return err;
	err = rv_modbus_link_open(source->link, fault, error);
	if (err != RV_OK) {
		source->gap_fault = *fault;
		return err;
	}
	int64_t now_ns = rv_clock_mono_ns();
	source->settled_ns = now_ns + (int64_t)(device_of(source)->settle_s * 1e9);
	if (!source->has_run)
		rv_pace_init(&source->pace, device_of(source)->every_s, now_ns);
	source->has_run = true;
	return RV_OK;
}

static void count_passed(struct modbus_source *source, enum rv_fault fault, const char *text)
{
	int passed = rv_pace_take(&source->pace, rv_clock_mono_ns());

	if (passed >= 0)
		rv_source_lost(&source->base, fault, passed + 1, text);
}

/* The value at a place, or that it was not read. */
static void decode(struct modbus_source *source, int place)
{
	const struct rv_channel *channel = &source->base.station->channel[source->channel[place]];
	struct rv_regs_place at = source->plan.value[place];
	struct rv_regs_place alive = source->plan.alive[place];
	struct rv_value *value = &source->values[place];
	struct rv_vitals_seen seen = {.is_number = true};

	*value = (struct rv_value){.quality = RV_BAD, .cause = RV_CAUSE_NO_COMMUNICATION};
	if (!source->is_read[at.request] || (alive.request >= 0 && !source->is_read[alive.request]))
		return;
	const struct rv_modbus_answer *answer = &source->answer[at.request];
	if (rv_regs_is_bits(channel->source.space))
		value->raw = rv_regs_bit(answer->bits[at.offset], 0);
	else if (channel->source.bit >= 0)
		value->raw = rv_regs_bit(answer->words[at.offset], channel->source.bit);
	else
		seen.is_number = rv_regs_decode(&answer->words[at.offset], channel->type,
						channel->order, &value->raw) == RV_OK;
	uint16_t mark = 0;
	if (alive.request >= 0) {
		const struct rv_modbus_answer *sign = &source->answer[alive.request];
		const struct rv_register *where = &channel->alive.source;
		mark = rv_regs_is_bits(where->space) ? sign->bits[alive.offset]
						     : sign->words[alive.offset];
		if (where->bit >= 0)
			mark = (uint16_t)rv_regs_bit(mark, where->bit).count;
		seen.alive = (struct rv_vitals_piece){&mark, sizeof mark};
	}
	rv_vitals_judge(&source->vitals[place], channel, &seen, answer->arrived_ns, value);
}

static enum rv_err poll_once(struct modbus_source *source, struct rv_error *error)
{
	struct rv_modbus_trouble trouble = {0}, first = {0};
	enum rv_err err = RV_OK;
	int64_t arrived_ns = 0;
	int answers = 0;

	memset(source->is_read, 0, sizeof source->is_read);
	for (int i = 0; i < source->plan.requests && rv_modbus_link_is_in_step(source->link); i++) {
		err = rv_modbus_link_ask(source->link, &source->plan.request[i], &source->answer[i],
					 &trouble);
		source->is_read[i] = err == RV_OK;
		if (err == RV_OK && answers++ == 0)
			arrived_ns = source->answer[i].arrived_ns;
		if (err != RV_OK && first.fault == RV_FAULT_NONE)
			first = trouble;
		if (err == RV_ERR_CLOSED)
			break;
	}
	if (first.fault != RV_FAULT_NONE)
		rv_source_lost(&source->base, first.fault, answers == 0, first.text);
	if (answers > 0) {
		for (int place = 0; place < source->plan.values; place++)
			decode(source, place);
		rv_source_deliver(&source->base, arrived_ns, source->values, source->plan.values);
	}
	if (err == RV_ERR_CLOSED) {
		source->gap_fault = trouble.fault;
		return rv_err_set(error, err, "%s", trouble.text);
	}
	/* Some units refuse to read registers they do not have: ask for what is declared only. */
	if (first.is_refused && source->bridge)
		return make_plan(source, false, error);
	return first.fault == RV_FAULT_NONE ? RV_OK : RV_ERR_AGAIN;
}

static enum rv_err get_into_step(struct modbus_source *source, struct rv_error *error)
{
	struct rv_modbus_trouble trouble;
	enum rv_err err = rv_modbus_link_recover(source->link, SLICE_NS, &trouble);

	if (err == RV_ERR_CLOSED) {
		source->gap_fault = trouble.fault;
		return rv_err_set(error, err, "%s", trouble.text);
	}
	bool waiting = trouble.fault == RV_FAULT_NONE || err == RV_OK;
	count_passed(source, waiting ? RV_FAULT_LATE : trouble.fault, trouble.text);
	return err == RV_OK ? RV_OK : RV_ERR_AGAIN;
}

static enum rv_err modbus_next(struct rv_source *base, struct rv_error *error)
{
	struct modbus_source *source = (struct modbus_source *)base;
	int64_t now_ns = rv_clock_mono_ns();

	if (source->gap_fault != RV_FAULT_NONE) {
		count_passed(source, source->gap_fault, "while the wire was gone");
		source->gap_fault = RV_FAULT_NONE;
	}
	if (now_ns < source->settled_ns) {
		int64_t end_ns = now_ns + SLICE_NS;
		rv_clock_sleep_until(end_ns < source->settled_ns ? end_ns : source->settled_ns);
		return RV_ERR_AGAIN;
	}
	if (!rv_modbus_link_is_in_step(source->link))
		return get_into_step(source, error);
	if (source->pace.due_ns > now_ns + SLICE_NS) {
		rv_clock_sleep_until(now_ns + SLICE_NS);
		return RV_ERR_AGAIN;
	}
	bool was_waiting = source->pace.due_ns > now_ns;
	rv_clock_sleep_until(source->pace.due_ns);
	int passed = rv_pace_take(&source->pace, rv_clock_mono_ns());
	if (passed > 0 && was_waiting)
		rv_source_lost(base, RV_FAULT_OVERFLOW, passed, "this machine was held up");
	return poll_once(source, error);
}

static void modbus_close_source(struct rv_source *base)
{
	rv_modbus_link_close(((struct modbus_source *)base)->link);
}

static void modbus_free_source(struct rv_source *base)
{
	struct modbus_source *source = (struct modbus_source *)base;

	rv_modbus_link_free(source->link);
	free(source);
}

enum rv_err rv_source_modbus_new(const struct rv_source *base, struct rv_source **source,
				 struct rv_error *error)
{
	static const struct rv_source_type type = {modbus_open, modbus_next, modbus_close_source,
						   modbus_free_source};
	const struct rv_device *device = &base->station->device[base->device];

	if (!(device->every_s > 0.0))
		return rv_err_set(error, RV_ERR_MISSING,
				  "%s: say how often to ask it, such as `every: 20 ms`",
				  device->name);
	struct modbus_source *made = calloc(1, sizeof *made);
	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "%s: no memory", device->name);
	made->base = *base;
	made->base.type = &type;
	for (int i = 0, place = 0; i < base->station->channels; i++)
		if (base->station->channel[i].device == base->device)
			made->channel[place++] = i;
	enum rv_err err = rv_modbus_link_new(device, &made->link, error);
	if (err == RV_OK)
		err = make_plan(made, true, error);
	if (err != RV_OK) {
		modbus_free_source(&made->base);
		return err;
	}
	*source = &made->base;
	return RV_OK;
}
