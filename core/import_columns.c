/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/import_columns.h"

#include <stdio.h>
#include <string.h>

#include "core/form.h"
#include "core/quantity.h"

const char *rv_import_columns_hint(const struct rv_station *station, const char *word,
				   char hint[RV_IMPORT_HINT])
{
	const char *names[RV_CHANNELS];

	for (int i = 0; i < station->channels; i++)
		names[i] = station->channel[i].name;
	return rv_form_hint(word, names, (size_t)station->channels, hint, RV_IMPORT_HINT);
}

/* said: the channel, and after the last space its unit. */
static enum rv_err refuse_channel(const char *text, const char *said,
				  const struct rv_station *station, struct rv_error *error)
{
	char hint[RV_IMPORT_HINT], word[RV_NAME_SIZE];
	const char *space = strrchr(said, ' ');

	snprintf(word, sizeof word, "%.*s", space ? (int)(space - said) : RV_NAME_SIZE, said);
	return rv_err_set(error, RV_ERR_UNKNOWN, "'%.100s': the station has no such channel%s",
			  text, rv_import_columns_hint(station, word, hint));
}

enum rv_err rv_import_map_read(const char *text, const struct rv_station *station,
			       struct rv_import_map *map, struct rv_error *error)
{
	struct rv_import_map made = {.unit = ""};
	const char *equals = strrchr(text, '=');

	if (!equals || equals == text || equals[1] == '\0')
		return rv_err_set(error, RV_ERR_SYNTAX,
				  "'%.100s': write HEADER=CHANNEL unit, such as 'Force 1=lead kN'",
				  text);
	if ((size_t)(equals - text) >= sizeof made.header ||
	    strlen(equals + 1) >= sizeof made.channel + sizeof made.unit)
		return rv_err_set(error, RV_ERR_RANGE, "'%.60s...' is too long", text);
	snprintf(made.header, sizeof made.header, "%.*s", (int)(equals - text), text);
	/* The longest channel name that stands there; what follows it is the unit. */
	for (int i = 0; i < station->channels; i++) {
		const char *name = station->channel[i].name;
		size_t len = strlen(name);

		if (strncmp(equals + 1, name, len) != 0 || len <= strlen(made.channel) ||
		    (equals[1 + len] != '\0' && equals[1 + len] != ' '))
			continue;
		snprintf(made.channel, sizeof made.channel, "%s", name);
		snprintf(made.unit, sizeof made.unit, "%s",
			 equals + 1 + len + strspn(equals + 1 + len, " "));
	}
	if (made.channel[0] == '\0')
		return refuse_channel(text, equals + 1, station, error);
	*map = made;
	return RV_OK;
}

/* The number that turns what the file holds into the channel's SI unit. */
static enum rv_err factor_of(const struct rv_channel *channel, const char *unit, double *factor,
			     struct rv_error *error)
{
	struct rv_amount one = {.value = 1.0};
	char text[RV_NAME_SIZE + 4];
	struct rv_error why = {0};
	enum rv_measure measure = strcmp(channel->unit, "N") == 0   ? RV_MEASURE_STAMPED
				  : strcmp(channel->unit, "m") == 0 ? RV_MEASURE_LENGTH
								    : RV_MEASURE_NUMBER;

	if (unit[0] == '\0' || strcmp(unit, channel->unit) == 0) {
		*factor = 1.0;
		return RV_OK;
	}
	if (measure == RV_MEASURE_NUMBER)
		return rv_err_set(error, RV_ERR_UNKNOWN,
				  "channel %s is in %s; %s cannot be turned into it", channel->name,
				  channel->unit, unit);
	snprintf(text, sizeof text, "1 %s", unit);
	enum rv_err err = rv_quantity_read(text, measure, &one, &why);
	if (err != RV_OK)
		return rv_err_set(error, err, "channel %s: %s", channel->name, why.text);
	*factor = one.value;
	return RV_OK;
}

/* NAME_n, NAME_m or NAME, as the channel is exported. */
static bool is_column_of(const struct rv_channel *channel, const char *head)
{
	size_t len = strlen(channel->name);
	const char *end = strcmp(channel->unit, "N") == 0   ? "_n"
			  : strcmp(channel->unit, "m") == 0 ? "_m"
							    : "";

	return strncmp(head, channel->name, len) == 0 && strcmp(head + len, end) == 0;
}

static enum rv_err refuse_unknown(const struct rv_csv_field *field,
				  const struct rv_station *station, struct rv_error *error)
{
	char words[RV_CHANNELS + 2][RV_NAME_SIZE + 4], hint[RV_IMPORT_HINT];
	const char *known[RV_CHANNELS + 2];
	size_t count = 0;

	for (int i = 0; i < station->channels; i++, count++) {
		const struct rv_channel *channel = &station->channel[i];

		snprintf(words[count], sizeof words[count], "%s%s", channel->name,
			 strcmp(channel->unit, "N") == 0   ? "_n"
			 : strcmp(channel->unit, "m") == 0 ? "_m"
							   : "");
	}
	snprintf(words[count++], sizeof words[0], "time_s");
	snprintf(words[count++], sizeof words[0], "time");
	for (size_t i = 0; i < count; i++)
		known[i] = words[i];
	return rv_err_at(error, RV_ERR_UNKNOWN, field->line, field->column,
			 "no channel of the station has a column \"%.80s\"%s; take it out, or say "
			 "what it is: --map '%.80s=CHANNEL unit'",
			 field->text, rv_form_hint(field->text, known, count, hint, sizeof hint),
			 field->text);
}

static const struct rv_import_map *mapped(const struct rv_import_map *maps, int count,
					  const char *head)
{
	for (int i = 0; i < count; i++)
		if (strcmp(maps[i].header, head) == 0)
			return &maps[i];
	return NULL;
}

static enum rv_err take_channel(const struct rv_csv_field *field, int at,
				const struct rv_station *station, const struct rv_import_map *map,
				struct rv_import_columns *made, struct rv_error *error)
{
	int channel = -1;

	if (map)
		channel = rv_station_find_channel(station, map->channel);
	for (int i = 0; !map && channel < 0 && i < station->channels; i++)
		if (is_column_of(&station->channel[i], field->text))
			channel = i;
	if (channel < 0)
		return refuse_unknown(field, station, error);
	if (made->column_of[channel] >= 0)
		return rv_err_at(error, RV_ERR_REFUSED, field->line, field->column,
				 "channel %s has two columns; leave one of them out",
				 station->channel[channel].name);
	made->column_of[channel] = at;
	made->used++;
	return factor_of(&station->channel[channel], map ? map->unit : "", &made->factor[channel],
			 error);
}

static int *named_column(const char *head, struct rv_import_columns *made)
{
	const struct {
		const char *name;
		int *column;
	} names[] = {
	    {"time_s", &made->time_s},	 {"time_utc", &made->time_utc}, {"time", &made->time_utc},
	    {"channel", &made->channel}, {"value", &made->value},	{"unit", &made->unit},
	};

	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
		if (strcmp(head, names[i].name) == 0)
			return names[i].column;
	return NULL;
}

static bool is_tidy(const struct rv_csv_row *head)
{
	bool channel = false, value = false;

	for (size_t i = 0; i < head->count; i++) {
		channel = channel || strcmp(head->field[i].text, "channel") == 0;
		value = value || strcmp(head->field[i].text, "value") == 0;
	}
	return channel && value;
}

static enum rv_err check_maps(const struct rv_csv_row *head, const struct rv_import_map *maps,
			      int count, struct rv_error *error)
{
	for (int i = 0; i < count; i++) {
		bool there = false;

		for (size_t k = 0; k < head->count; k++)
			there = there || strcmp(head->field[k].text, maps[i].header) == 0;
		if (!there)
			return rv_err_set(error, RV_ERR_UNKNOWN,
					  "the table has no column \"%s\", which --map names",
					  maps[i].header);
	}
	return RV_OK;
}

static bool is_known(const char *head, const struct rv_station *station, bool tidy)
{
	struct rv_import_columns none;
	int *named = named_column(head, &none);

	if (named && (tidy || named == &none.time_s || named == &none.time_utc))
		return true;
	for (int i = 0; !tidy && i < station->channels; i++)
		if (is_column_of(&station->channel[i], head))
			return true;
	return false;
}

/* The first unknown column is told in full; the others by name, so that one look mends them all. */
static enum rv_err name_others(const struct rv_csv_row *head, size_t after,
			       const struct rv_station *station, const struct rv_import_map *maps,
			       int count, struct rv_error *error)
{
	int others = 0;

	for (size_t i = after; error && i < head->count; i++) {
		const char *name = head->field[i].text;
		size_t len = strlen(error->text);

		if (mapped(maps, count, name) || is_known(name, station, is_tidy(head)))
			continue;
		snprintf(error->text + len, sizeof error->text - len, "%s\"%.40s\"",
			 others++ ? ", " : "; also unknown: ", name);
	}
	return RV_ERR_UNKNOWN;
}

static enum rv_err take_column(const struct rv_csv_row *head, size_t at,
			       const struct rv_station *station, const struct rv_import_map *map,
			       struct rv_import_columns *made, struct rv_error *error)
{
	const struct rv_csv_field *field = &head->field[at];
	bool tidy = is_tidy(head);
	int *named = map ? NULL : named_column(field->text, made);

	/* Only a tidy table gives its other three words a meaning of their own. */
	if (named && !tidy && named != &made->time_s && named != &made->time_utc)
		named = NULL;
	if (!named && tidy)
		return refuse_unknown(field, station, error);
	if (!named)
		return take_channel(field, (int)at, station, map, made, error);
	if (*named >= 0)
		return rv_err_at(error, RV_ERR_REFUSED, field->line, field->column,
				 "the time stands in two columns; leave one of them out");
	*named = (int)at;
	return RV_OK;
}

enum rv_err rv_import_columns_match(const struct rv_csv_row *head, const struct rv_station *station,
				    const struct rv_import_map *maps, int count,
				    struct rv_import_columns *columns, struct rv_error *error)
{
	struct rv_import_columns made = {
	    .time_s = -1, .time_utc = -1, .channel = -1, .value = -1, .unit = -1};
	enum rv_err err = check_maps(head, maps, count, error);

	for (int i = 0; i < RV_CHANNELS; i++) {
		made.column_of[i] = -1;
		made.factor[i] = 1.0;
	}
	for (size_t i = 0; err == RV_OK && i < head->count; i++) {
		const struct rv_import_map *map = mapped(maps, count, head->field[i].text);

		err = take_column(head, i, station, map, &made, error);
		if (err == RV_ERR_UNKNOWN && !map)
			err = name_others(head, i + 1, station, maps, count, error);
	}
	if (err != RV_OK)
		return err;
	if (made.time_s < 0 && made.time_utc < 0)
		return rv_err_at(error, RV_ERR_MISSING, head->line, 1,
				 "no column tells the time: time_s (seconds) or time (ISO 8601)");
	if (made.channel >= 0)
		made.used = station->channels;
	if (made.used == 0)
		return rv_err_at(error, RV_ERR_MISSING, head->line, 1,
				 "no column is a channel of the station");
	*columns = made;
	return RV_OK;
}
