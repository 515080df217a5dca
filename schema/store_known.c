/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which rows of device, stream, channel, calibration and conversion stand for a station.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "schema/store_known.h"

static int channels_of(const struct rv_station *station, int device)
{
	int count = 0;

	for (int i = 0; i < station->channels; i++)
		count += station->channel[i].device == device;
	return count;
}

/* Values in one part of a device's message. */
int rv_store_known_part_size(const struct rv_station *station, int device, int part)
{
	int rest = channels_of(station, device) - part * RV_MESSAGE_VALUES;

	return rest < RV_MESSAGE_VALUES ? rest : RV_MESSAGE_VALUES;
}

static int part_width(const struct rv_station *station, int device, int part)
{
	return rv_store_known_part_size(station, device, part) <= RV_STORE_NARROW ? RV_STORE_NARROW
										  : RV_STORE_WIDE;
}

void rv_store_known_raw_type(const struct rv_channel *channel, bool is_text, char *to, size_t size)
{
	static const char *const types[] = {"int16",   "uint16", "int32",  "uint32",
					    "float32", "int64",	 "float64"};
	static const char *const orders[] = {"abcd", "badc", "cdab", "dcba"};

	if (is_text)
		snprintf(to, size, "text");
	else if (channel->source.space >= RV_REGISTER_DISCRETE || channel->source.bit >= 0)
		snprintf(to, size, "bit");
	else
		snprintf(to, size, "%s %s", types[channel->type], orders[channel->order]);
}

void rv_store_known_place(const struct rv_channel *channel, bool is_text, char *to, size_t size)
{
	static const char *const spaces[] = {"input", "holding", "discrete", "coil"};
	const struct rv_register *source = &channel->source;

	if (is_text)
		snprintf(to, size, "field %s", channel->field);
	else if (source->bit >= 0)
		snprintf(to, size, "%s %d bit %d", spaces[source->space], source->address,
			 source->bit);
	else
		snprintf(to, size, "%s %d", spaces[source->space], source->address);
}

const char *rv_store_known_motion(enum rv_motion motion)
{
	const char *word = rv_station_motion_name(motion);

	return word ? word : "";
}

enum rv_err rv_store_known_device(struct rv_store *store, const struct rv_device *device,
				  int64_t *id, struct rv_error *error)
{
	return rv_store_sql_number(store, 0, id, error,
				   "SELECT id FROM device WHERE name = ? AND link = ?", "tt",
				   device->name, rv_station_link_name(device->link));
}

enum rv_err rv_store_known_channel(struct rv_store *store, const struct rv_channel *channel,
				   int64_t *id, struct rv_error *error)
{
	return rv_store_sql_number(
	    store, 0, id, error,
	    "SELECT id FROM channel WHERE name = ? AND quantity = ? AND unit = ? AND cell = ? "
	    "AND winch = ? AND load = ? AND motion = ?",
	    "ttttttt", channel->name, rv_station_quantity_name(channel->quantity), channel->unit,
	    channel->cell, channel->winch, channel->load, rv_store_known_motion(channel->motion));
}

/* a2 and a3 as the record keeps them: both NULL for a line. */
double rv_store_known_higher(const struct rv_conversion *conversion, int power)
{
	if (conversion->degree < 2)
		return (double)NAN;
	return power <= conversion->degree ? conversion->a[power] : 0.0;
}

enum rv_err rv_store_known_calibration(struct rv_store *store, const struct rv_channel *channel,
				       int64_t channel_id, int64_t *id, struct rv_error *error)
{
	const struct rv_calibration *c = &channel->calibration;
	const struct rv_conversion *k = &c->conversion;

	return rv_store_sql_number(
	    store, 0, id, error,
	    "SELECT max(id) FROM calibration WHERE channel = ? AND name = ? AND a0 IS ? AND a1 IS "
	    "? "
	    "AND a2 IS ? AND a3 IS ? AND gain_u_ratio IS ? AND gain_u_value IS ? AND zero_u_ratio "
	    "IS "
	    "? AND zero_u_value IS ? AND drift_u_ratio IS ? AND drift_u_value IS ? AND delay_s IS "
	    "? "
	    "AND due = ? AND sha256 = ? AND capacity IS ? AND tare_n IS ? AND wraps_at IS ?",
	    "itdddddddddddttddd", channel_id, c->name, k->a[0], k->a[1],
	    rv_store_known_higher(k, 2), rv_store_known_higher(k, 3), c->gain.ratio, c->gain.value,
	    c->zero.ratio, c->zero.value, c->drift.ratio, c->drift.value, c->delay_s, c->due,
	    c->sha256, channel->capacity, channel->tare_n, channel->wraps_at);
}

/* Does a stored layout say what this part of the device's message says? */
static enum rv_err same_layout(struct rv_store *store, const struct rv_station *station,
			       const struct rv_store_known *part, int device, bool *same,
			       struct rv_error *error)
{
	bool is_text = station->device[device].link >= RV_LINK_SERIAL_TEXT;
	int size = rv_store_known_part_size(station, device, part->part);
	sqlite3_stmt *row = NULL;
	int matched = 0, found = 0;
	enum rv_err err =
	    rv_store_sql_query(store, &row, error,
			       "SELECT s.slot, c.name, s.raw_type, s.place FROM slot s "
			       "JOIN channel c ON c.id = s.channel WHERE s.stream = ?",
			       "i", part->stream);

	while (err == RV_OK && (err = rv_store_sql_step(store, row, error)) == RV_OK) {
		char name[RV_NAME_SIZE], type[48], place[RV_NAME_SIZE + 16],
		    want[RV_NAME_SIZE + 16];
		int slot = sqlite3_column_int(row, 0);
		int channel = rv_station_channel_at(station, device,
						    part->part * RV_MESSAGE_VALUES + slot - 1);
		found++;
		if (slot > size || channel < 0)
			continue;
		rv_store_sql_text(row, 1, name, sizeof name);
		rv_store_sql_text(row, 2, type, sizeof type);
		rv_store_sql_text(row, 3, place, sizeof place);
		rv_store_known_raw_type(&station->channel[channel], is_text, want, sizeof want);
		bool fits =
		    strcmp(name, station->channel[channel].name) == 0 && strcmp(type, want) == 0;
		rv_store_known_place(&station->channel[channel], is_text, want, sizeof want);
		matched += fits && strcmp(place, want) == 0;
	}
	if (err != RV_ERR_CLOSED)
		return err;
	*same = matched == size && found == size;
	return RV_OK;
}

enum rv_err rv_store_known_stream(struct rv_store *store, const struct rv_store_known *known,
				  int64_t *id, struct rv_error *error)
{
	return rv_store_sql_number(
	    store, 0, id, error,
	    "SELECT max(id) FROM stream WHERE device = ? AND part = ? AND width = ?", "iii",
	    known->device, (int64_t)known->part, (int64_t)known->width);
}

/* What the record knows of a channel as the station declares it now. */
enum rv_err rv_store_known_find(struct rv_store *store, const struct rv_station *station,
				int channel, struct rv_store_known *known, struct rv_error *error)
{
	const struct rv_channel *declared = &station->channel[channel];
	int place = rv_station_place(station, channel);
	bool same = false;

	*known = (struct rv_store_known){.part = place / RV_MESSAGE_VALUES,
					 .slot = place % RV_MESSAGE_VALUES + 1};
	known->width = part_width(station, declared->device, known->part);
	enum rv_err err =
	    rv_store_known_device(store, &station->device[declared->device], &known->device, error);
	if (err == RV_OK)
		err = rv_store_known_channel(store, declared, &known->channel, error);
	if (err == RV_OK)
		err = rv_store_known_calibration(store, declared, known->channel,
						 &known->calibration, error);
	if (err == RV_OK)
		err = rv_store_known_stream(store, known, &known->stream, error);
	if (err == RV_OK && known->stream)
		err = same_layout(store, station, known, declared->device, &same, error);
	if (!same)
		known->stream = 0;
	return err;
}

/* The open conversion row that says just this, or 0; fills what it applies. */
enum rv_err rv_store_known_row(struct rv_store *store, const struct rv_store_known *known,
			       int64_t *id, struct rv_store_in_force *now, struct rv_error *error)
{
	sqlite3_stmt *row = NULL;
	enum rv_err err = rv_store_sql_query(
	    store, &row, error,
	    "SELECT id, a0, a1, a2, a3, zero FROM conversion WHERE channel = ? AND stream = ? "
	    "AND slot = ? AND calibration = ? AND to_us = 9223372036854775807",
	    "iiii", known->channel, known->stream, (int64_t)known->slot, known->calibration);

	if (err == RV_OK)
		err = rv_store_sql_step(store, row, error);
	if (err == RV_ERR_CLOSED) {
		*id = 0;
		return RV_OK;
	}
	if (err != RV_OK)
		return err;
	*id = sqlite3_column_int64(row, 0);
	bool is_line = sqlite3_column_type(row, 3) == SQLITE_NULL;
	now->conversion = (struct rv_conversion){.degree = is_line ? 1 : 3};
	for (int i = 0; i <= now->conversion.degree; i++)
		now->conversion.a[i] = sqlite3_column_double(row, 1 + i);
	now->zero = sqlite3_column_double(row, 5);
	sqlite3_reset(row);
	return RV_OK;
}

enum rv_err rv_store_known_open_run(struct rv_store *store, int64_t *run, struct rv_error *error)
{
	return rv_store_sql_number(store, 0, run, error, "SELECT id FROM run WHERE to_us IS NULL",
				   "");
}

static const char *difference(const struct rv_store_known *known)
{
	if (!known->channel)
		return "it is new, or its quantity, unit, cell or winch is another";
	if (!known->stream)
		return "its place in the device's messages is another";
	if (!known->calibration)
		return "its calibration is another";
	return "the run does not hold it";
}

enum rv_err rv_store_match_station(struct rv_store *store, const struct rv_station *station,
				   struct rv_store_match *match, struct rv_error *error)
{
	struct rv_store_match made = {.fits = true};
	int64_t run = 0, held = 0;
	enum rv_err err = rv_store_known_open_run(store, &run, error);

	for (int i = 0; err == RV_OK && i < station->channels; i++) {
		struct rv_store_in_force *now = &made.in_force[i];
		struct rv_store_known known;
		int64_t row = 0;
		now->conversion = station->channel[i].calibration.conversion;
		err = rv_store_known_find(store, station, i, &known, error);
		if (err == RV_OK && known.channel && known.stream && known.calibration)
			err = rv_store_known_row(store, &known, &row, now, error);
		if (row || !made.fits)
			continue;
		made.fits = false;
		snprintf(made.why, sizeof made.why, "channel %s: %s", station->channel[i].name,
			 difference(&known));
	}
	if (err == RV_OK && run)
		err = rv_store_sql_number(store, 0, &held, error,
					  "SELECT count(*) FROM conversion WHERE run = ? "
					  "AND to_us = 9223372036854775807",
					  "i", run);
	if (err != RV_OK)
		return err;
	if (made.fits && run && held != station->channels) {
		made.fits = false;
		snprintf(made.why, sizeof made.why, "the run holds channels the station lacks");
	}
	*match = made;
	return RV_OK;
}
