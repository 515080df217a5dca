/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/describe.h"

#include <math.h>
#include <string.h>

#include "core/station_notes.h"

/* "10 ms", "5 min", "7 d": in the largest unit that leaves a number of 1 or more. */
static void add_time(struct rv_text *text, double time_s)
{
	static const struct {
		const char *name;
		double s;
	} units[] = {{"d", 86400.0}, {"h", 3600.0}, {"min", 60.0}, {"s", 1.0}};

	for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
		if (time_s >= units[i].s) {
			rv_text_add(text, "%.6g %s", time_s / units[i].s, units[i].name);
			return;
		}
	rv_text_add(text, "%.6g ms", 1000.0 * time_s);
}

static void add_device(const struct rv_device *device, struct rv_text *text)
{
	rv_text_add(text, "  %s: %s ", device->name, rv_station_link_name(device->link));
	if (device->link == RV_LINK_MODBUS_TCP)
		rv_text_add(text, "%s port %d, unit %d", device->address, device->port,
			    device->unit);
	else
		rv_text_add(text, "%s, %d baud %d%c%d", device->path, device->speed_baud,
			    device->data_bits, device->parity, device->stop_bits);
	if (device->link == RV_LINK_MODBUS_RTU)
		rv_text_add(text, ", unit %d", device->unit);
	if (!isnan(device->every_s)) {
		rv_text_add(text, ", every ");
		add_time(text, device->every_s);
	} else {
		rv_text_add(text,
			    device->ask_len ? ", asked again after each answer" : ", as it comes");
	}
	rv_text_add(text, ", timeout ");
	add_time(text, device->timeout_s);
	rv_text_add(text, device->write ? ", writing allowed\n" : "\n");
}

static void add_source(const struct rv_station *station, const struct rv_channel *channel,
		       struct rv_text *text)
{
	static const char *const spaces[] = {"input", "holding", "discrete", "coil"};

	if (channel->device < 0)
		return;
	const struct rv_device *device = &station->device[channel->device];
	if (device->link == RV_LINK_SERIAL_TEXT) {
		rv_text_add(text, ", %s field %s", device->name, channel->field);
		return;
	}
	rv_text_add(text, ", %s %s %d", device->name, spaces[channel->source.space],
		    channel->source.address);
	if (channel->source.bit >= 0)
		rv_text_add(text, " bit %d", channel->source.bit);
}

static void add_conversion(const struct rv_channel *channel, enum rv_force_unit unit,
			   struct rv_text *text)
{
	const struct rv_calibration *calibration = &channel->calibration;
	const double *a = calibration->conversion.a;

	if (channel->quantity == RV_SWITCH)
		return;
	if (calibration->file[0])
		rv_text_add(text, ", calibration %s (%s%s%s)", calibration->name, calibration->file,
			    calibration->due[0] ? ", due " : "", calibration->due);
	else if (channel->wire_unit[0])
		rv_text_add(text, ", sends %s", channel->wire_unit);
	else
		rv_text_add(text, ", one count is %.6g %s", a[1], channel->unit);
	if (!isnan(channel->capacity)) {
		rv_text_add(text, ", capacity ");
		if (channel->quantity == RV_TENSION)
			rv_describe_force(text, channel->capacity, unit);
		else
			rv_text_add(text, "%.6g %s", channel->capacity, channel->unit);
	}
	if (channel->capacity_as_mass)
		rv_text_add(text, " (stamped as a mass: times 9.80665 m/s2)");
}

static void add_channel(const struct rv_station *station, const struct rv_channel *channel,
			struct rv_text *text)
{
	rv_text_add(text, "  %s: %s", channel->name, rv_station_quantity_name(channel->quantity));
	if (channel->cell[0])
		rv_text_add(text, " of cell %s", channel->cell);
	if (channel->winch[0])
		rv_text_add(text, " of winch %s", channel->winch);
	if (channel->load[0])
		rv_text_add(text, " of load %s", channel->load);
	if (channel->quantity == RV_SWITCH)
		rv_text_add(text, ", closed means %s", rv_station_motion_name(channel->motion));
	add_source(station, channel, text);
	add_conversion(channel, station->unit, text);
	rv_text_add(text, "\n");
}

static void add_limit(const struct rv_station *station, const struct rv_alarm_rule *rule,
		      struct rv_text *text)
{
	static const char *const words[] = {"above", "below", "rises faster than",
					    "falls faster than", "speed above"};
	bool is_rate = rule->condition >= RV_ALARM_RISES_FASTER;

	rv_text_add(text, " %s ", words[rule->condition]);
	if (rule->channel < 0) {
		rv_text_add(text, "%.6g %% of its limit", 100.0 * rule->limit);
		return;
	}
	const struct rv_channel *channel = &station->channel[rule->channel];
	if (channel->quantity == RV_TENSION)
		rv_describe_force(text, rule->limit, station->unit);
	else
		rv_text_add(text, "%.6g %s", rule->limit, channel->unit);
	rv_text_add(text, is_rate ? "/s" : "");
}

static void add_alarms(const struct rv_station *station, struct rv_text *text)
{
	rv_text_add(text,
		    station->alarms ? "alarms\n" : "alarms: only those that are always there\n");
	for (int i = 0; i < station->alarms; i++) {
		const struct rv_alarm_rule *rule = &station->alarm[i];
		rv_text_add(text, "  %s (%s): ", rule->name, rv_station_level_name(rule->level));
		if (rule->channel >= 0)
			rv_text_add(text, "%s", station->channel[rule->channel].name);
		else if (strcmp(rule->component, "any") == 0)
			rv_text_add(text, "any part");
		else
			rv_text_add(text, "part %s", rule->component);
		add_limit(station, rule, text);
		rv_text_add(text, "%s%s\n", rule->action[0] ? ". Then: " : "", rule->action);
	}
	for (int i = 0; i < station->outputs; i++) {
		const struct rv_output *output = &station->output[i];
		rv_text_add(text, "output %s: %s, %s coil %d, at %s, at rest %s\n", output->name,
			    output->kind == RV_OUTPUT_SOUND ? "sound" : "light",
			    station->device[output->device].name, output->coil,
			    rv_station_level_name(output->when),
			    output->rest_energised ? "energised" : "released");
	}
}

static void add_head(const struct rv_station *station, struct rv_text *text)
{
	rv_text_add(text, "station: %s%s\n", station->name,
		    station->rehearsal ? " (SIMULATED: its instruments are played)" : "");
	rv_text_add(text, "record: %s\n", station->record);
	rv_text_add(text, "page: http://%s%s%s:%d/, forces in %s\n",
		    strchr(station->listen, ':') ? "[" : "", station->listen,
		    strchr(station->listen, ':') ? "]" : "", station->port,
		    rv_units_force_name(station->unit));
	if (isnan(station->open_above_n)) {
		rv_text_add(text, "runs: opened and closed by hand\n");
		return;
	}
	rv_text_add(text, "runs: open above ");
	rv_describe_force(text, station->open_above_n, station->unit);
	rv_text_add(text, ", close after ");
	add_time(text, station->close_after_s);
	rv_text_add(text, "\n");
}

void rv_describe_station(const struct rv_station *station, const struct rv_rig *rig,
			 const char *today, struct rv_text *text)
{
	struct rv_text notes = {0};

	add_head(station, text);
	rv_text_add(text, "devices\n");
	for (int i = 0; i < station->devices; i++)
		add_device(&station->device[i], text);
	rv_text_add(text, "channels\n");
	for (int i = 0; i < station->channels; i++)
		add_channel(station, &station->channel[i], text);
	add_alarms(station, text);
	if (rig)
		rv_describe_rig(rig, station->unit, text);
	else
		rv_text_add(text, "rig: none named; nothing is compared or predicted\n");
	if (rv_station_notes_add(station, rig, today, &notes) > 0)
		rv_text_add(text, "notes\n%s", notes.data ? notes.data : "");
	text->failed |= notes.failed;
	rv_text_free(&notes);
}
