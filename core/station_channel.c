/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/station_channel.h"

#include <stdio.h>
#include <string.h>

#include "core/station_value.h"
#include "core/station_wire.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

/* Forces and line out must be seen within the second that a dead value may still look alive: two
 * polls and a time-out. */
#define SLOWEST_S 0.4

enum {
	TENSION = 1 << RV_TENSION,
	PAYOUT = 1 << RV_PAYOUT,
	TURNS = 1 << RV_TURNS,
	TRAVEL = 1 << RV_TRAVEL,
	SWITCH = 1 << RV_SWITCH,
	OTHER = 1 << RV_OTHER,
};

struct form {
	struct rv_channel channel;
	struct rv_station_wire wire;
	struct rv_station_value value;
	const struct rv_yaml_node *device;
	int motion; /* 0 in, 1 out, -1 not given */
	char what[RV_NAME_SIZE + 16];
};

static const struct rv_station_rule by_quantity[] = {
    {"cell", TENSION},
    {"winch", PAYOUT | TURNS | SWITCH},
    {"load", TRAVEL},
    {"motion", SWITCH},
    {"unit", TENSION | PAYOUT | TURNS | TRAVEL | OTHER},
    {"scale", TENSION | TURNS | TRAVEL | OTHER},
    {"zero", TENSION | TURNS | TRAVEL | OTHER},
    {"calibration", TENSION},
    {"metres_per_count", PAYOUT},
    {"capacity", TENSION | OTHER},
    {"tare", TENSION},
    {"wraps_at", PAYOUT | TURNS | TRAVEL | OTHER},
    {"updates", TENSION | PAYOUT | TURNS | TRAVEL | OTHER},
    {"gain_uncertainty", TENSION},
    {"zero_uncertainty", TENSION},
    {"drift_uncertainty", TENSION},
    {"delay", TENSION},
    {"travel_uncertainty", TRAVEL},
    {"type", TENSION | PAYOUT | TURNS | TRAVEL | OTHER},
    {"order", TENSION | PAYOUT | TURNS | TRAVEL | OTHER},
};

static const struct rv_station_rule by_link[] = {
    {"register", RV_FOR_MODBUS}, {"bit", RV_FOR_MODBUS}, {"type", RV_FOR_MODBUS},
    {"order", RV_FOR_MODBUS},	 {"field", RV_FOR_TEXT}, {"good_when", RV_FOR_TEXT},
};

static enum rv_err read_form(const struct rv_yaml_node *entry, struct form *form,
			     struct rv_error *error)
{
	static const char *const quantities[] = {"tension", "payout", "turns", "travel",
						 "switch",  "other",  NULL};
	static const char *const types[] = {"int16",   "uint16", "int32",   "uint32",
					    "float32", "int64",	 "float64", NULL};
	static const char *const orders[] = {"abcd", "badc", "cdab", "dcba", NULL};
	static const char *const motions[] = {"in", "out", NULL};
	static const struct rv_form_key keys[] = {
	    {.key = "quantity",
	     .kind = RV_FORM_WORD,
	     .offset = offsetof(struct form, channel.quantity),
	     .required = true,
	     .words = quantities},
	    RV_KEY_TEXT("cell", struct form, channel.cell, false),
	    RV_KEY_TEXT("winch", struct form, channel.winch, false),
	    RV_KEY_TEXT("load", struct form, channel.load, false),
	    RV_KEY_WORD("motion", struct form, motion, motions, 0),
	    RV_KEY_NODE("device", struct form, device, false),
	    RV_KEY_NODE("register", struct form, wire.source, false),
	    RV_KEY_WHOLE("bit", struct form, wire.bit, 0.0, 15.0),
	    RV_KEY_WORD("type", struct form, wire.type, types, 0),
	    RV_KEY_WORD("order", struct form, wire.order, orders, 0),
	    RV_KEY_TEXT("field", struct form, channel.field, false),
	    RV_KEY_NODE("unit", struct form, value.unit, false),
	    RV_KEY_NODE("scale", struct form, value.scale, false),
	    RV_KEY_NODE("zero", struct form, value.zero, false),
	    RV_KEY_NODE("metres_per_count", struct form, value.metres_per_count, false),
	    RV_KEY_NODE("calibration", struct form, value.calibration, false),
	    RV_KEY_NODE("capacity", struct form, value.capacity, false),
	    RV_KEY_NODE("alive", struct form, wire.alive, false),
	    RV_KEY_NODE("good_when", struct form, wire.good_when, false),
	    RV_KEY_AMOUNT("updates", struct form, channel.updates_hz, RV_MEASURE_RATE,
			  RV_FORM_POSITIVE),
	    RV_KEY_AMOUNT("tare", struct form, channel.tare_n, RV_MEASURE_FORCE, RV_FORM_ANY),
	    RV_KEY_AMOUNT("wraps_at", struct form, channel.wraps_at, RV_MEASURE_NUMBER,
			  RV_FORM_POSITIVE),
	    RV_KEY_AMOUNT("delay", struct form, channel.calibration.delay_s, RV_MEASURE_TIME,
			  RV_FORM_NOT_NEGATIVE),
	    RV_KEY_NODE("gain_uncertainty", struct form, value.gain, false),
	    RV_KEY_NODE("zero_uncertainty", struct form, value.zero_uncertainty, false),
	    RV_KEY_NODE("drift_uncertainty", struct form, value.drift, false),
	    RV_KEY_NODE("travel_uncertainty", struct form, value.travel_uncertainty, false),
	};

	snprintf(form->what, sizeof form->what, "channel \"%.63s\"", entry->key);
	enum rv_err err = rv_form_read(entry, form->what, keys, COUNT(keys), form, error);
	if (err == RV_OK)
		err = rv_form_name(entry, form->channel.name, error);
	struct rv_station_kind kind = {1u << form->channel.quantity,
				       rv_station_quantity_name(form->channel.quantity)};
	if (err == RV_OK)
		err = rv_station_part_belongs(entry, form->what, by_quantity, COUNT(by_quantity),
					      kind, error);
	return err;
}

static enum rv_err check_twins(const struct rv_yaml_node *entry, const struct rv_station *station,
			       const struct rv_channel *channel, struct rv_error *error)
{
	for (int i = 0; i < station->channels; i++) {
		const struct rv_channel *other = &station->channel[i];
		if (channel->cell[0] && strcmp(channel->cell, other->cell) == 0)
			return rv_yaml_refuse(
			    error, rv_yaml_get(entry, "cell"), RV_ERR_REFUSED, "cell_twice",
			    "channel \"%s\" reads cell \"%s\" already; a cell has one "
			    "channel",
			    other->name, channel->cell);
		if (channel->quantity == RV_PAYOUT && other->quantity == RV_PAYOUT &&
		    strcmp(channel->winch, other->winch) == 0)
			return rv_yaml_refuse_key(
			    error, entry, RV_ERR_REFUSED, "winch_twice",
			    "channel \"%s\" is the payout of the same winch; a "
			    "winch has one, and several winches are told apart "
			    "by \"winch\"",
			    other->name);
	}
	return RV_OK;
}

static enum rv_err check_every(const struct rv_yaml_node *entry, const struct rv_station *station,
			       const struct rv_channel *channel, struct rv_error *error)
{
	const struct rv_device *device = &station->device[channel->device];
	bool is_urgent = channel->quantity == RV_TENSION || channel->quantity == RV_PAYOUT;

	if (is_urgent && channel->updates_hz < 1.0 / SLOWEST_S - 1e-9)
		return rv_yaml_refuse(
		    error, rv_yaml_get(entry, "updates"), RV_ERR_REFUSED, "updates_slow",
		    "updates: %.6g Hz is too slow to watch a line by; %s needs "
		    "2.5 Hz or more",
		    channel->updates_hz, rv_station_quantity_name(channel->quantity));
	if (!is_urgent || isnan(device->every_s) || device->every_s <= SLOWEST_S + 1e-9)
		return RV_OK;
	return rv_yaml_refuse(
	    error, rv_yaml_get(entry, "device"), RV_ERR_REFUSED, "every_slow",
	    "device \"%s\" (line %d) is read every %.6g ms; %s needs 400 ms or less", device->name,
	    device->line, 1000.0 * device->every_s, rv_station_quantity_name(channel->quantity));
}

static bool is_one_bit(const struct rv_register *reg)
{
	return reg->bit >= 0 || reg->space == RV_REGISTER_DISCRETE ||
	       reg->space == RV_REGISTER_COIL;
}

static enum rv_err check_bits(const struct rv_yaml_node *entry, const struct form *form,
			      struct rv_error *error)
{
	const struct rv_channel *channel = &form->channel;
	bool is_bit = is_one_bit(&channel->source);

	if (channel->quantity == RV_SWITCH && !is_bit)
		return rv_yaml_refuse(
		    error, rv_yaml_get(entry, "register"), RV_ERR_REFUSED, "register",
		    "%s is a switch; it needs a discrete input, a coil, or \"bit\" "
		    "of a register",
		    form->what);
	if (channel->quantity != RV_SWITCH && channel->quantity != RV_OTHER && is_bit)
		return rv_yaml_refuse(
		    error, rv_yaml_get(entry, "register"), RV_ERR_REFUSED, "register",
		    "%s cannot come from one bit; an input or holding register is "
		    "needed",
		    form->what);
	return RV_OK;
}

static enum rv_err read_device(const struct rv_yaml_node *entry, struct form *form,
			       const struct rv_station *station, struct rv_error *error)
{
	struct rv_channel *channel = &form->channel;
	enum rv_err err = rv_station_part_device(station, form->device, &channel->device, error);

	if (err != RV_OK)
		return err;
	const struct rv_device *device = &station->device[channel->device];
	struct rv_station_kind kind = {1u << device->link, rv_station_link_name(device->link)};
	err = rv_station_part_belongs(entry, form->what, by_link, COUNT(by_link), kind, error);
	if (err == RV_OK)
		err = rv_station_wire_read(entry, form->what, &form->wire, station, channel, error);
	if (err == RV_OK && device->link != RV_LINK_SERIAL_TEXT)
		err = check_bits(entry, form, error);
	if (err == RV_OK)
		err = check_every(entry, station, channel, error);
	return err;
}

enum rv_err rv_station_channel_read(const struct rv_yaml_node *entry,
				    struct rv_station_draft *draft, struct rv_error *error)
{
	struct rv_station *station = &draft->station;
	struct form form = {
	    .channel = {.device = -1,
			.source = {.bit = -1},
			.calibration = {.delay_s = RV_NOT_GIVEN,
					.inverse_error_n = RV_NOT_GIVEN},
			.capacity = RV_NOT_GIVEN,
			.wraps_at = RV_NOT_GIVEN,
			.updates_hz = RV_NOT_GIVEN},
	    .wire = {.bit = -1, .type = -1, .order = -1},
	    .motion = -1,
	};
	struct rv_channel *channel = &form.channel;

	enum rv_err err = read_form(entry, &form, error);
	if (err != RV_OK)
		return err;
	if (channel->quantity == RV_SWITCH && form.motion < 0)
		return rv_yaml_refuse_key(
		    error, entry, RV_ERR_MISSING, "key_missing",
		    "%s lacks \"motion\": what a closed contact means, in or out", form.what);
	if (form.motion >= 0)
		channel->motion = form.motion == 0 ? RV_MOTION_IN : RV_MOTION_OUT;
	if (!form.device && !draft->outside->for_import)
		return rv_yaml_refuse_key(error, entry, RV_ERR_MISSING, "key_missing",
					  "%s lacks \"device\"", form.what);
	err = check_twins(entry, station, channel, error);
	if (err == RV_OK && form.device &&
	    !(draft->outside->for_import && !form.wire.source && channel->field[0] == '\0'))
		err = read_device(entry, &form, station, error);
	if (err == RV_OK)
		err = rv_station_value_read(entry, form.what, &form.value, draft->outside, channel,
					    error);
	if (err != RV_OK)
		return err;
	channel->line = entry->key_line;
	station->channel[station->channels++] = *channel;
	return RV_OK;
}
