/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/station_check.h"

#include <stdio.h>
#include <string.h>

enum { PART_NAME = 2 * RV_NAME_SIZE + 8 };

static enum rv_err refuse(struct rv_error *error, const char *tag, int line, const char *text)
{
	enum rv_err err = rv_err_at(error, RV_ERR_REFUSED, line, 1, "%s", text);

	if (error)
		snprintf(error->tag, sizeof error->tag, "%s", tag);
	return err;
}

enum rv_err rv_station_check_rig(const struct rv_station *station, const struct rv_rig *rig,
				 struct rv_error *error)
{
	char text[256];

	for (int i = 0; i < station->channels; i++) {
		const struct rv_channel *channel = &station->channel[i];
		bool of_winch = channel->quantity == RV_PAYOUT || channel->quantity == RV_TURNS ||
				channel->quantity == RV_SWITCH;
		if (of_winch && channel->winch[0] == '\0' && rig->winches > 1) {
			snprintf(
			    text, sizeof text,
			    "channel \"%s\" names no winch and the rig has %d; write winch: NAME",
			    channel->name, rig->winches);
			return refuse(error, "winch_unsaid", channel->line, text);
		}
		if (channel->quantity == RV_TRAVEL && channel->load[0] == '\0' && rig->loads > 1) {
			snprintf(
			    text, sizeof text,
			    "channel \"%s\" names no load and the rig has %d; write load: NAME",
			    channel->name, rig->loads);
			return refuse(error, "load_unsaid", channel->line, text);
		}
	}
	return RV_OK;
}

/* Calls see with every part's name until it returns true. */
static bool any_part(const struct rv_rig *rig, bool (*see)(const char *name, void *context),
		     void *context)
{
	char name[PART_NAME];

	for (int i = 0; i < rig->points; i++)
		if (see(rig->point[i].name, context))
			return true;
	for (int i = 0; i < rig->winches; i++)
		if (see(rig->winch[i].name, context))
			return true;
	for (int i = 0; i < rig->fittings; i++)
		if (see(rig->fitting[i].name, context))
			return true;
	for (int i = 0; i < rig->blocks; i++) {
		snprintf(name, sizeof name, "%s becket", rig->block[i].name);
		if (see(rig->block[i].name, context) || see(name, context))
			return true;
	}
	for (int i = 0; i < rig->ropes; i++) {
		const struct rv_rope *rope = &rig->rope[i];
		if (see(rope->name, context))
			return true;
		for (int k = 1; k + 1 < rope->steps; k++) {
			if (rope->path[k].kind != RV_STEP_POINT)
				continue;
			snprintf(name, sizeof name, "%s at %s", rope->name,
				 rig->point[rope->path[k].index].name);
			if (see(name, context))
				return true;
		}
	}
	return false;
}

static bool is_same(const char *name, void *context)
{
	return strcmp(name, (const char *)context) == 0;
}

bool rv_station_check_part(const struct rv_rig *rig, const char *name)
{
	char wanted[PART_NAME];

	snprintf(wanted, sizeof wanted, "%s", name);
	return any_part(rig, is_same, wanted);
}

struct search {
	const char *wanted;
	char nearest[PART_NAME];
	int distance;
};

static bool is_nearer(const char *name, void *context)
{
	struct search *search = context;
	int distance = rv_text_distance(search->wanted, name);

	if (distance < search->distance) {
		search->distance = distance;
		snprintf(search->nearest, sizeof search->nearest, "%s", name);
	}
	return false;
}

enum rv_err rv_station_check_alarms(const struct rv_station *station, const struct rv_rig *rig,
				    struct rv_error *error)
{
	char text[400];

	for (int i = 0; i < station->alarms; i++) {
		const char *name = station->alarm[i].component;
		if (name[0] == '\0' || strcmp(name, "any") == 0 || rv_station_check_part(rig, name))
			continue;
		struct search search = {.wanted = name, .distance = (int)strlen(name) / 3 + 2};
		any_part(rig, is_nearer, &search);
		snprintf(
		    text, sizeof text,
		    "alarm \"%s\" watches \"%s\", which is no part of the rig%s%s%s; allowed: a "
		    "part's name, or any",
		    station->alarm[i].name, name, search.nearest[0] ? ", did you mean " : "",
		    search.nearest, search.nearest[0] ? "?" : "");
		return refuse(error, "name_unknown", station->alarm[i].line, text);
	}
	return RV_OK;
}
