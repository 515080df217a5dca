/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/probe.h"

#include <math.h>
#include <string.h>

#include "daemon/clock.h"
#include "daemon/source.h"

/* What one device gave. */
struct found {
	bool has[RV_CHANNELS]; /* by place */
	struct rv_value value[RV_CHANNELS];
	int count; /* of places that gave something */
	enum rv_fault fault;
	char why[400]; /* the last thing that went wrong */
};

static void collect(void *to, const struct rv_intake *intake)
{
	struct found *found = to;

	if (intake->kind == RV_INTAKE_LOST && intake->fault != RV_FAULT_LATE) {
		found->fault = intake->fault;
		snprintf(found->why, sizeof found->why, "%s", intake->text);
	}
	if (intake->kind != RV_INTAKE_MESSAGE)
		return;
	for (int i = 0; i < intake->message.count; i++) {
		int place = intake->message.part * RV_MESSAGE_VALUES + i;
		const struct rv_value *value = &intake->message.values[i];
		if (value->raw.kind == RV_RAW_NONE && value->quality == RV_GOOD)
			continue;
		found->count += !found->has[place];
		found->has[place] = true;
		found->value[place] = *value;
	}
}

static int64_t patience_ns(const struct rv_device *device)
{
	double every_s = isnan(device->every_s) ? 0.0 : device->every_s;
	double patience_s = device->settle_s + 3.0 * device->timeout_s + 2.0 * every_s + 2.0;

	return (int64_t)(fmin(patience_s, 15.0) * 1e9);
}

static void read_device(const struct rv_station *station, int device, int channels,
			struct found *found)
{
	int64_t end_ns = rv_clock_mono_ns() + patience_ns(&station->device[device]);
	struct rv_source *source;
	struct rv_error error = {0};

	if (rv_source_new(station, device, collect, found, &source, &error) != RV_OK) {
		snprintf(found->why, sizeof found->why, "%s", error.text);
		return;
	}
	enum rv_err err = source->type->open(source, &found->fault, &error);
	if (err == RV_OK) {
		found->fault = RV_FAULT_TIMEOUT;
		snprintf(found->why, sizeof found->why, "nothing came");
		while (err != RV_ERR_CLOSED && found->count < channels &&
		       rv_clock_mono_ns() < end_ns)
			err = source->type->next(source, &error);
		source->type->close(source);
	}
	if (err != RV_OK && err != RV_ERR_AGAIN)
		snprintf(found->why, sizeof found->why, "%s", error.text);
	source->type->free(source);
}

/* A tension in the unit people see on this station, anything else in its own. */
static void print_value(const struct rv_station *station, const struct rv_channel *channel,
			const struct rv_value *value, FILE *out)
{
	double raw = rv_sample_number(value->raw);
	double number = rv_station_convert(&channel->calibration.conversion, raw);
	char text[64];

	if (channel->quantity == RV_TENSION)
		snprintf(text, sizeof text, "%.*f %s", rv_units_force_places(station->unit),
			 number / rv_units_force_n(station->unit),
			 rv_units_force_name(station->unit));
	else
		snprintf(text, sizeof text, "%.9g %.30s", number, channel->unit);
	fprintf(out, "raw %-16.12g %-20s", raw, text);
}

static bool print_channel(const struct rv_station *station, int index, int place,
			  const struct found *found, FILE *out)
{
	const struct rv_channel *channel = &station->channel[index];
	const struct rv_value *value = &found->value[place];

	fprintf(out, "%-20s %-16s ", channel->name, station->device[channel->device].name);
	if (!found->has[place] || value->raw.kind == RV_RAW_NONE) {
		const char *name = rv_intake_fault_name(found->fault);
		if (found->has[place] && value->cause != RV_CAUSE_NO_COMMUNICATION)
			fprintf(out, "no reading: %s\n", rv_sample_cause_name(value->cause));
		else
			fprintf(out, "no reading: %s%s%s\n", name, name[0] ? ": " : "", found->why);
		return false;
	}
	print_value(station, channel, value, out);
	if (value->quality == RV_GOOD)
		fprintf(out, " good\n");
	else
		fprintf(out, " %s: %s\n", rv_sample_quality_name(value->quality),
			rv_sample_cause_name(value->cause));
	return value->quality == RV_GOOD;
}

bool rv_probe_run(const struct rv_station *station, FILE *out)
{
	bool all = true;

	for (int device = 0; device < station->devices; device++) {
		struct found found = {0};
		int channels = 0;
		while (rv_station_channel_at(station, device, channels) >= 0)
			channels++;
		if (channels == 0)
			continue;
		read_device(station, device, channels, &found);
		for (int place = 0; place < channels; place++) {
			int index = rv_station_channel_at(station, device, place);
			all = print_channel(station, index, place, &found, out) && all;
		}
		fflush(out);
	}
	return all;
}
