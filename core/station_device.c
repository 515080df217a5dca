/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/station_device.h"

#include <stdio.h>
#include <string.h>

#include "core/pattern.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

struct form {
	struct rv_device device;
	char frame[8];
	const struct rv_yaml_node *ask;
	char what[RV_NAME_SIZE + 16];
};

static const struct rv_station_rule rules[] = {
    {"address", RV_FOR_TCP},  {"port", RV_FOR_TCP},	{"path", RV_FOR_SERIAL},
    {"speed", RV_FOR_SERIAL}, {"frame", RV_FOR_SERIAL}, {"unit", RV_FOR_MODBUS},
    {"line", RV_FOR_TEXT},    {"ask", RV_FOR_TEXT},
};

static const struct rv_station_rule musts[] = {
    {"address", RV_FOR_TCP},  {"path", RV_FOR_SERIAL}, {"speed", RV_FOR_SERIAL},
    {"frame", RV_FOR_SERIAL}, {"unit", RV_FOR_MODBUS}, {"every", RV_FOR_MODBUS},
    {"line", RV_FOR_TEXT},
};

static enum rv_err check_keys(const struct rv_yaml_node *entry, const struct form *form,
			      struct rv_error *error)
{
	struct rv_station_kind kind = {1u << form->device.link,
				       rv_station_link_name(form->device.link)};
	enum rv_err err =
	    rv_station_part_belongs(entry, form->what, rules, COUNT(rules), kind, error);

	if (err != RV_OK)
		return err;
	for (size_t i = 0; i < COUNT(musts); i++)
		if ((musts[i].kinds & kind.bit) && !rv_yaml_get(entry, musts[i].key))
			return rv_yaml_refuse_key(error, entry, RV_ERR_MISSING, "key_missing",
						  "%s lacks \"%s\", which %s needs", form->what,
						  musts[i].key, kind.name);
	return RV_OK;
}

static enum rv_err check_speed(const struct rv_yaml_node *entry, int speed, struct rv_error *error)
{
	static const int speeds[] = {300,   600,   1200,   2400,   4800,   9600,  19200,
				     38400, 57600, 115200, 230400, 460800, 921600};

	for (size_t i = 0; i < COUNT(speeds); i++)
		if (speed == speeds[i])
			return RV_OK;
	return rv_yaml_refuse(error, rv_yaml_get(entry, "speed"), RV_ERR_RANGE, "value_range",
			      "speed is %d; allowed: 300 600 1200 2400 4800 9600 19200 38400 57600 "
			      "115200 230400 460800 921600",
			      speed);
}

static enum rv_err read_frame(const struct rv_yaml_node *entry, struct form *form,
			      struct rv_error *error)
{
	const struct rv_yaml_node *node = rv_yaml_get(entry, "frame");
	const char *frame = form->frame;
	bool is_good = strlen(frame) == 3 && strchr("78", frame[0]) && strchr("NEO", frame[1]) &&
		       strchr("12", frame[2]);

	if (!is_good)
		return rv_yaml_refuse(
		    error, node, RV_ERR_SYNTAX, "value_form",
		    "frame is \"%s\"; data bits 7 or 8, parity N, E or O and stop "
		    "bits 1 or 2 are needed, such as 8N1",
		    frame);
	if (form->device.link == RV_LINK_MODBUS_RTU && frame[0] != '8')
		return rv_yaml_refuse(error, node, RV_ERR_REFUSED, "value_range",
				      "frame is \"%s\"; Modbus RTU has 8 data bits", frame);
	form->device.data_bits = frame[0] - '0';
	form->device.parity = frame[1];
	form->device.stop_bits = frame[2] - '0';
	return RV_OK;
}

static enum rv_err check_path(const struct rv_yaml_node *entry, const struct rv_station *station,
			      const struct form *form, struct rv_error *error)
{
	for (int i = 0; i < station->devices; i++)
		if (strcmp(station->device[i].path, form->device.path) == 0)
			return rv_yaml_refuse(
			    error, rv_yaml_get(entry, "path"), RV_ERR_REFUSED, "path_twice",
			    "device \"%s\" uses this port already; a device is one "
			    "wire to one instrument",
			    station->device[i].name);
	return RV_OK;
}

static enum rv_err read_ask(const struct rv_yaml_node *node, struct rv_device *device,
			    struct rv_error *error)
{
	const char *word;
	enum rv_err err = rv_form_word(node, "the text to send, in double quotes", &word, error);

	if (err != RV_OK)
		return err;
	if (rv_text_copy(device->ask, sizeof device->ask, word) != RV_OK)
		return rv_yaml_refuse(error, node, RV_ERR_RANGE, "value_range",
				      "ask has %zu bytes; 1 to %zu are allowed", strlen(word),
				      sizeof device->ask - 1);
	device->ask_len = (int)strlen(word);
	return RV_OK;
}

static enum rv_err read_serial(const struct rv_yaml_node *entry, const struct rv_station *station,
			       struct form *form, struct rv_error *error)
{
	struct rv_error told = {0};
	enum rv_err err = check_speed(entry, form->device.speed_baud, error);

	if (err == RV_OK)
		err = read_frame(entry, form, error);
	if (err == RV_OK)
		err = check_path(entry, station, form, error);
	if (err == RV_OK && form->ask)
		err = read_ask(form->ask, &form->device, error);
	if (err != RV_OK || form->device.link != RV_LINK_SERIAL_TEXT)
		return err;
	err = rv_pattern_check(form->device.pattern, &told);
	if (err != RV_OK)
		return rv_yaml_refuse(error, rv_yaml_get(entry, "line"), err, "pattern", "line: %s",
				      told.text);
	return RV_OK;
}

static enum rv_err read_form(const struct rv_yaml_node *entry, struct form *form,
			     struct rv_error *error)
{
	static const char *const links[] = {"modbus-tcp", "modbus-rtu", "serial-text", NULL};
	static const struct rv_form_key keys[] = {
	    {.key = "link",
	     .kind = RV_FORM_WORD,
	     .offset = offsetof(struct form, device.link),
	     .required = true,
	     .words = links},
	    RV_KEY_TEXT("address", struct form, device.address, false),
	    RV_KEY_WHOLE("port", struct form, device.port, 1.0, 65535.0),
	    RV_KEY_TEXT("path", struct form, device.path, false),
	    RV_KEY_WHOLE("speed", struct form, device.speed_baud, 1.0, 1e7),
	    RV_KEY_TEXT("frame", struct form, frame, false),
	    RV_KEY_WHOLE("unit", struct form, device.unit, 0.0, 255.0),
	    {.key = "every",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct form, device.every_s),
	     .measure = RV_MEASURE_TIME,
	     .limit = RV_FORM_WITHIN,
	     .low = 0.001,
	     .high = 3600.0},
	    {.key = "timeout",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct form, device.timeout_s),
	     .measure = RV_MEASURE_TIME,
	     .limit = RV_FORM_WITHIN,
	     .low = 0.001,
	     .high = 60.0},
	    {.key = "settle",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct form, device.settle_s),
	     .measure = RV_MEASURE_TIME,
	     .limit = RV_FORM_WITHIN,
	     .low = 0.0,
	     .high = 60.0},
	    RV_KEY_TEXT("line", struct form, device.pattern, false),
	    RV_KEY_NODE("ask", struct form, ask, false),
	    RV_KEY_TRUTH("write", struct form, device.write),
	};

	snprintf(form->what, sizeof form->what, "device \"%.63s\"", entry->key);
	return rv_form_read(entry, form->what, keys, COUNT(keys), form, error);
}

enum rv_err rv_station_device_read(const struct rv_yaml_node *entry, struct rv_station_draft *draft,
				   struct rv_error *error)
{
	struct rv_station *station = &draft->station;
	struct form form = {
	    .device = {.port = 502, .every_s = RV_NOT_GIVEN, .timeout_s = 0.5, .settle_s = 0.0}};

	enum rv_err err = read_form(entry, &form, error);
	if (err == RV_OK)
		err = rv_form_name(entry, form.device.name, error);
	if (err == RV_OK)
		err = check_keys(entry, &form, error);
	if (err == RV_OK && form.device.link != RV_LINK_MODBUS_TCP)
		err = read_serial(entry, station, &form, error);
	if (err != RV_OK)
		return err;
	if (form.device.link != RV_LINK_MODBUS_TCP)
		form.device.port = 0;
	form.device.line = entry->key_line;
	station->device[station->devices++] = form.device;
	return RV_OK;
}
