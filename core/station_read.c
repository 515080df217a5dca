/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/station_read.h"

#include <stdlib.h>
#include <string.h>

#include "core/station_alarm.h"
#include "core/station_channel.h"
#include "core/station_device.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))
#define KEEP_S (7.0 * 86400.0)

enum { DEVICES, CHANNELS, ALARMS, OUTPUTS, SECTIONS };

struct top {
	const struct rv_yaml_node *record, *unit, *page, *runs;
	const struct rv_yaml_node *section[SECTIONS];
};

static enum rv_err read_page(const struct rv_yaml_node *map, struct rv_station_draft *draft,
			     struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_TEXT("listen", struct rv_station, listen, false),
	    RV_KEY_WHOLE("port", struct rv_station, port, 0.0, 65535.0),
	};
	struct rv_station *station = &draft->station;
	enum rv_err err = rv_form_read(map, "page", keys, COUNT(keys), station, error);

	if (err != RV_OK)
		return err;
	const struct rv_yaml_node *listen = rv_yaml_get(map, "listen");
	bool is_address = strcmp(station->listen, "localhost") == 0 ||
			  strchr(station->listen, ':') ||
			  strspn(station->listen, "0123456789.") == strlen(station->listen);
	if (!is_address)
		return rv_yaml_refuse(
		    error, listen, RV_ERR_SYNTAX, "value_form",
		    "listen is \"%s\"; an address of this machine is needed, such as "
		    "127.0.0.1 or 0.0.0.0",
		    station->listen);
	if (!rv_station_is_loopback(station->listen) && !draft->outside->has_key)
		return rv_yaml_refuse(
		    error, listen, RV_ERR_REFUSED, "key_needed",
		    "listening on %s lets others reach this station, and it has no "
		    "control key",
		    station->listen);
	return RV_OK;
}

static enum rv_err read_runs(const struct rv_yaml_node *map, struct rv_station *station,
			     struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    {.key = "open_above",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct rv_station, open_above_n),
	     .required = true,
	     .measure = RV_MEASURE_FORCE,
	     .limit = RV_FORM_POSITIVE},
	    {.key = "close_after",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct rv_station, close_after_s),
	     .required = true,
	     .measure = RV_MEASURE_TIME,
	     .limit = RV_FORM_POSITIVE},
	};

	return rv_form_read(map, "runs", keys, COUNT(keys), station, error);
}

static enum rv_err read_unit(const struct rv_yaml_node *node, struct rv_station *station,
			     struct rv_error *error)
{
	const char *word;
	enum rv_err err = rv_form_word(node, "a unit of force", &word, error);

	if (err != RV_OK)
		return err;
	if (rv_units_force_find(word, &station->unit) != RV_OK)
		return rv_yaml_refuse(error, node, RV_ERR_UNKNOWN, "unit_unknown",
				      "unit is \"%.40s\"; allowed: %s", word,
				      rv_quantity_units(RV_MEASURE_FORCE));
	return RV_OK;
}

/* struct rv_station and the nodes, in one piece for the table. */
struct reading {
	struct rv_station_draft draft;
	struct top top;
};

static enum rv_err read_top(const struct rv_yaml_node *root, struct reading *r,
			    struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_TEXT("station", struct reading, draft.station.name, true),
	    RV_KEY_TEXT("record", struct reading, draft.station.record, false),
	    RV_KEY_TEXT("rig", struct reading, draft.station.rig, false),
	    RV_KEY_NODE("unit", struct reading, top.unit, false),
	    RV_KEY_NODE("page", struct reading, top.page, false),
	    RV_KEY_NODE("runs", struct reading, top.runs, false),
	    RV_KEY_AMOUNT("keep", struct reading, draft.station.keep_s, RV_MEASURE_TIME,
			  RV_FORM_POSITIVE),
	    RV_KEY_TRUTH("rehearsal", struct reading, draft.station.rehearsal),
	    RV_KEY_NODE("devices", struct reading, top.section[DEVICES], false),
	    RV_KEY_NODE("channels", struct reading, top.section[CHANNELS], true),
	    RV_KEY_NODE("alarms", struct reading, top.section[ALARMS], false),
	    RV_KEY_NODE("outputs", struct reading, top.section[OUTPUTS], false),
	};
	enum rv_err err = rv_form_read(root, "the station", keys, COUNT(keys), r, error);
	bool for_import = r->draft.outside->for_import;

	if (err != RV_OK)
		return err;
	if (!for_import && r->draft.station.record[0] == '\0')
		return rv_yaml_refuse(
		    error, root, RV_ERR_MISSING, "key_missing",
		    "the station lacks \"record\", the file that keeps the readings");
	if (!for_import && !r->top.section[DEVICES])
		return rv_yaml_refuse(error, root, RV_ERR_MISSING, "key_missing",
				      "the station lacks \"devices\"");
	if (r->top.unit)
		err = read_unit(r->top.unit, &r->draft.station, error);
	if (err == RV_OK && r->top.page)
		err = read_page(r->top.page, &r->draft, error);
	if (err == RV_OK && r->top.runs)
		err = read_runs(r->top.runs, &r->draft.station, error);
	return err;
}

static enum rv_err read_station(const struct rv_yaml_node *root, struct reading *r,
				struct rv_error *error)
{
	static const struct {
		const char *name;
		int most;
		enum rv_err (*read)(const struct rv_yaml_node *entry,
				    struct rv_station_draft *draft, struct rv_error *error);
	} sections[SECTIONS] = {
	    [DEVICES] = {"devices", RV_DEVICES, rv_station_device_read},
	    [CHANNELS] = {"channels", RV_CHANNELS, rv_station_channel_read},
	    [ALARMS] = {"alarms", RV_ALARMS, rv_station_alarm_read},
	    [OUTPUTS] = {"outputs", RV_OUTPUTS, rv_station_output_read},
	};
	enum rv_err err = read_top(root, r, error);

	for (int i = 0; err == RV_OK && i < SECTIONS; i++) {
		const struct rv_yaml_node *section = r->top.section[i];
		if (!section)
			continue;
		err = rv_form_entries(section, sections[i].name, sections[i].most, error);
		const struct rv_yaml_node *entry = section->first;
		for (; err == RV_OK && entry; entry = entry->next)
			err = sections[i].read(entry, &r->draft, error);
	}
	if (err == RV_OK && r->draft.station.channels == 0)
		return rv_yaml_refuse(error, r->top.section[CHANNELS], RV_ERR_MISSING,
				      "key_missing", "the station has no channel");
	return err;
}

enum rv_err rv_station_read(const char *text, size_t len, const struct rv_station_outside *outside,
			    struct rv_station *station, struct rv_error *error)
{
	struct rv_yaml *yaml;
	enum rv_err err = rv_yaml_new(text, len, &yaml, error);

	if (err != RV_OK)
		return err;
	struct reading *r = calloc(1, sizeof *r);
	if (!r) {
		rv_yaml_free(yaml);
		return rv_err_set(error, RV_ERR_NOMEM, "no memory left while reading");
	}
	r->draft.outside = outside;
	r->draft.station = (struct rv_station){.unit = RV_FORCE_KN,
					       .listen = "127.0.0.1",
					       .port = 8750,
					       .open_above_n = RV_NOT_GIVEN,
					       .close_after_s = RV_NOT_GIVEN,
					       .keep_s = KEEP_S};
	err = read_station(rv_yaml_root(yaml), r, error);
	if (err == RV_OK)
		*station = r->draft.station;
	free(r);
	rv_yaml_free(yaml);
	return err;
}
