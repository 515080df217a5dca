/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/station_part.h"

#include <string.h>

enum rv_err rv_station_part_belongs(const struct rv_yaml_node *map, const char *what,
				    const struct rv_station_rule *rules, size_t count,
				    struct rv_station_kind kind, struct rv_error *error)
{
	for (size_t i = 0; i < count; i++) {
		const struct rv_yaml_node *entry = rv_yaml_get(map, rules[i].key);
		if (entry && !(rules[i].kinds & kind.bit))
			return rv_yaml_refuse_key(error, entry, RV_ERR_REFUSED, "key_misplaced",
						  "%s: \"%s\" has no meaning for %s", what,
						  rules[i].key, kind.name);
	}
	return RV_OK;
}

static enum rv_err refuse_name(const struct rv_yaml_node *node, const char *kind,
			       const char *const *names, size_t count, struct rv_error *error)
{
	char hint[RV_NAME_SIZE + 32];

	rv_form_hint(node->text, names, count, hint, sizeof hint);
	return rv_yaml_refuse(error, node, RV_ERR_UNKNOWN, "name_unknown",
			      "\"%.63s\" is no %s of this station%s", node->text, kind, hint);
}

enum rv_err rv_station_part_device(const struct rv_station *station,
				   const struct rv_yaml_node *node, int *device,
				   struct rv_error *error)
{
	const char *names[RV_DEVICES];
	const char *word;
	enum rv_err err = rv_form_word(node, "the name of a device", &word, error);

	if (err != RV_OK)
		return err;
	int found = rv_station_find_device(station, word);
	for (int i = 0; i < station->devices; i++)
		names[i] = station->device[i].name;
	if (found < 0)
		return refuse_name(node, "device", names, (size_t)station->devices, error);
	*device = found;
	return RV_OK;
}

enum rv_err rv_station_part_channel(const struct rv_station *station,
				    const struct rv_yaml_node *node, int *channel,
				    struct rv_error *error)
{
	const char *names[RV_CHANNELS];
	const char *word;
	enum rv_err err = rv_form_word(node, "the name of a channel", &word, error);

	if (err != RV_OK)
		return err;
	int found = rv_station_find_channel(station, word);
	for (int i = 0; i < station->channels; i++)
		names[i] = station->channel[i].name;
	if (found < 0)
		return refuse_name(node, "channel", names, (size_t)station->channels, error);
	*channel = found;
	return RV_OK;
}
