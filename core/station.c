/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/station.h"

#include <string.h>

const char *rv_station_link_name(enum rv_link link)
{
	static const char *const names[] = {"modbus-tcp", "modbus-rtu", "serial-text", "file"};

	return names[link];
}

const char *rv_station_quantity_name(enum rv_quantity quantity)
{
	static const char *const names[] = {"tension", "payout", "turns",
					    "travel",  "switch", "other"};

	return names[quantity];
}

const char *rv_station_motion_name(enum rv_motion motion)
{
	static const char *const names[] = {NULL, "in", "out", "hold", "unsteady"};

	return names[motion];
}

const char *rv_station_level_name(enum rv_alarm_level level)
{
	return level == RV_LEVEL_DANGER ? "danger" : "warning";
}

int rv_station_find_channel(const struct rv_station *station, const char *name)
{
	for (int i = 0; i < station->channels; i++)
		if (strcmp(station->channel[i].name, name) == 0)
			return i;
	return -1;
}

int rv_station_find_device(const struct rv_station *station, const char *name)
{
	for (int i = 0; i < station->devices; i++)
		if (strcmp(station->device[i].name, name) == 0)
			return i;
	return -1;
}

bool rv_station_is_loopback(const char *address)
{
	return strncmp(address, "127.", 4) == 0 || strcmp(address, "::1") == 0 ||
	       strcmp(address, "localhost") == 0;
}

bool rv_station_may_write(const struct rv_station *station, int device)
{
	if (station->device[device].write)
		return true;
	for (int i = 0; i < station->channels; i++)
		if (station->channel[i].device == device &&
		    station->channel[i].quantity != RV_SWITCH)
			return false;
	return true;
}

double rv_station_convert(const struct rv_conversion *conversion, double raw)
{
	double value = 0.0;

	for (int i = conversion->degree; i >= 0; i--)
		value = value * raw + conversion->a[i];
	return value;
}

int rv_station_place(const struct rv_station *station, int channel)
{
	int place = 0;

	for (int i = 0; i < channel; i++)
		place += station->channel[i].device == station->channel[channel].device;
	return place;
}

int rv_station_channel_at(const struct rv_station *station, int device, int place)
{
	for (int i = 0; i < station->channels; i++)
		if (station->channel[i].device == device && place-- == 0)
			return i;
	return -1;
}
