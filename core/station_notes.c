/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/station_notes.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "core/calibration_read.h"
#include "core/station_check.h"

struct notes {
	struct rv_text *text;
	int count;
};

__attribute__((format(printf, 2, 3))) static void note(struct notes *notes, const char *format, ...)
{
	char line[512];
	va_list args;

	va_start(args, format);
	vsnprintf(line, sizeof line, format, args);
	va_end(args);
	rv_text_add(notes->text, "  %s\n", line);
	notes->count++;
}

static void note_places(const struct rv_channel *channel, const struct rv_rig *rig,
			struct notes *notes)
{
	if (channel->quantity == RV_TENSION && channel->cell[0] == '\0')
		note(notes, "channel %s names no cell: shown, never compared", channel->name);
	if (!rig)
		return;
	if (channel->cell[0] && rv_rig_find_cell(rig, channel->cell) < 0)
		note(notes, "channel %s: the rig has no cell %s: shown, never compared",
		     channel->name, channel->cell);
	if (channel->winch[0] && rv_rig_find_winch(rig, channel->winch) < 0)
		note(notes, "channel %s: the rig has no winch %s: shown, moves no line",
		     channel->name, channel->winch);
	if (channel->load[0] && rv_rig_find_load(rig, channel->load) < 0)
		note(notes, "channel %s: the rig has no load %s: shown, never compared",
		     channel->name, channel->load);
}

static void note_calibration(const struct rv_channel *channel, const char *today,
			     struct notes *notes)
{
	const struct rv_calibration *calibration = &channel->calibration;

	if (today && rv_calibration_is_past(calibration, today))
		note(notes, "channel %s: calibration %s is past its date, %s", channel->name,
		     calibration->name, calibration->due);
	if (calibration->overrides[0])
		note(notes, "channel %s: %s as the station states it, not as %s does",
		     channel->name, calibration->overrides, calibration->file);
}

/* Two channels that read the same place are more often a line copied than meant. */
static void note_same_place(const struct rv_station *station, int at, struct notes *notes)
{
	const struct rv_channel *channel = &station->channel[at];

	for (int i = 0; i < at; i++) {
		const struct rv_channel *other = &station->channel[i];
		if (channel->device >= 0 && other->device == channel->device &&
		    other->source.space == channel->source.space &&
		    other->source.address == channel->source.address &&
		    other->source.bit == channel->source.bit &&
		    strcmp(other->field, channel->field) == 0)
			note(notes, "channels %s and %s read the same place of device %s",
			     other->name, channel->name, station->device[channel->device].name);
	}
}

static bool is_device_used(const struct rv_station *station, int device)
{
	for (int i = 0; i < station->channels; i++)
		if (station->channel[i].device == device)
			return true;
	for (int i = 0; i < station->outputs; i++)
		if (station->output[i].device == device)
			return true;
	return false;
}

static bool has_channel(const struct rv_station *station, const char *cell)
{
	for (int i = 0; i < station->channels; i++)
		if (strcmp(station->channel[i].cell, cell) == 0)
			return true;
	return false;
}

static void note_rig(const struct rv_station *station, const struct rv_rig *rig,
		     struct notes *notes)
{
	for (int i = 0; i < rig->cells; i++)
		if (!has_channel(station, rig->cell[i].name))
			note(notes, "cell %s has no channel: predicted only", rig->cell[i].name);
	for (int i = 0; i < station->alarms; i++) {
		const struct rv_alarm_rule *rule = &station->alarm[i];
		if (rule->component[0] && strcmp(rule->component, "any") != 0 &&
		    !rv_station_check_part(rig, rule->component))
			note(notes, "alarm %s watches nothing: the rig has no part %s", rule->name,
			     rule->component);
	}
}

int rv_station_notes_add(const struct rv_station *station, const struct rv_rig *rig,
			 const char *today, struct rv_text *text)
{
	struct notes notes = {.text = text};

	for (int i = 0; i < station->channels; i++) {
		note_places(&station->channel[i], rig, &notes);
		note_same_place(station, i, &notes);
		note_calibration(&station->channel[i], today, &notes);
	}
	for (int i = 0; i < station->devices; i++)
		if (!is_device_used(station, i))
			note(&notes, "device %s is neither read nor written",
			     station->device[i].name);
	if (rig)
		note_rig(station, rig, &notes);
	return notes.count;
}
