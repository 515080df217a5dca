/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Declaring a station: whatever is in the record already and the same is used again; whatever
 * differs is a new row.
 */
#include "schema/store_known.h"

static enum rv_err add_calibration(struct rv_store *store, const struct rv_channel *channel,
				   int64_t channel_id, int64_t t_us, struct rv_error *error)
{
	const struct rv_calibration *c = &channel->calibration;
	const struct rv_conversion *k = &c->conversion;

	return rv_store_sql_run(
	    store, error,
	    "INSERT INTO calibration(channel, from_us, name, a0, a1, a2, a3, gain_u_ratio, "
	    "gain_u_value, zero_u_ratio, zero_u_value, drift_u_ratio, drift_u_value, delay_s, due, "
	    "sha256, file, capacity, tare_n, wraps_at, inverse_error_n) "
	    "VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)",
	    "iitdddddddddddtttdddd", channel_id, t_us, c->name, k->a[0], k->a[1],
	    rv_store_known_higher(k, 2), rv_store_known_higher(k, 3), c->gain.ratio, c->gain.value,
	    c->zero.ratio, c->zero.value, c->drift.ratio, c->drift.value, c->delay_s, c->due,
	    c->sha256, c->file, channel->capacity, channel->tare_n, channel->wraps_at,
	    c->inverse_error_n);
}

static enum rv_err add_channel(struct rv_store *store, const struct rv_channel *channel,
			       struct rv_error *error)
{
	return rv_store_sql_run(
	    store, error,
	    "INSERT INTO channel(name, quantity, unit, cell, winch, load, motion) "
	    "VALUES(?,?,?,?,?,?,?)",
	    "ttttttt", channel->name, rv_station_quantity_name(channel->quantity), channel->unit,
	    channel->cell, channel->winch, channel->load, rv_store_known_motion(channel->motion));
}

static enum rv_err add_stream(struct rv_store *store, const struct rv_station *station, int device,
			      const struct rv_store_known *part, int64_t t_us,
			      struct rv_error *error)
{
	bool is_text = station->device[device].link >= RV_LINK_SERIAL_TEXT;
	enum rv_err err = rv_store_sql_run(
	    store, error, "INSERT INTO stream(device, part, width, since_us) VALUES(?,?,?,?)",
	    "iiii", part->device, (int64_t)part->part, (int64_t)part->width, t_us);
	int64_t stream = sqlite3_last_insert_rowid(store->db);

	for (int i = 0; err == RV_OK && i < rv_store_known_part_size(station, device, part->part);
	     i++) {
		char type[48], place[RV_NAME_SIZE + 16];
		int channel =
		    rv_station_channel_at(station, device, part->part * RV_MESSAGE_VALUES + i);
		rv_store_known_raw_type(&station->channel[channel], is_text, type, sizeof type);
		rv_store_known_place(&station->channel[channel], is_text, place, sizeof place);
		err = rv_store_sql_run(
		    store, error,
		    "INSERT INTO slot(stream, slot, channel, raw_type, place) VALUES(?,?,?,?,?)",
		    "iiitt", stream, (int64_t)i + 1, store->channel[channel], type, place);
	}
	return err;
}

static enum rv_err declare_devices(struct rv_store *store, const struct rv_station *station,
				   struct rv_error *error)
{
	enum rv_err err = RV_OK;

	for (int i = 0; err == RV_OK && i < station->devices; i++) {
		err = rv_store_sql_run(
		    store, error, "INSERT OR IGNORE INTO device(name, link) VALUES(?,?)", "tt",
		    station->device[i].name, rv_station_link_name(station->device[i].link));
		if (err == RV_OK)
			err = rv_store_known_device(store, &station->device[i], &store->device[i],
						    error);
	}
	return err;
}

static enum rv_err declare_channels(struct rv_store *store, const struct rv_station *station,
				    int64_t t_us, struct rv_error *error)
{
	enum rv_err err = RV_OK;

	for (int i = 0; err == RV_OK && i < station->channels; i++) {
		int64_t calibration = 0;
		err =
		    rv_store_known_channel(store, &station->channel[i], &store->channel[i], error);
		if (err == RV_OK && !store->channel[i]) {
			err = add_channel(store, &station->channel[i], error);
			store->channel[i] = sqlite3_last_insert_rowid(store->db);
		}
		if (err == RV_OK)
			err = rv_store_known_calibration(store, &station->channel[i],
							 store->channel[i], &calibration, error);
		if (err == RV_OK && !calibration)
			err = add_calibration(store, &station->channel[i], store->channel[i], t_us,
					      error);
	}
	return err;
}

static enum rv_err declare_streams(struct rv_store *store, const struct rv_station *station,
				   int64_t t_us, struct rv_error *error)
{
	enum rv_err err = RV_OK;
	bool narrow = false, wide = false;

	for (int i = 0; err == RV_OK && i < station->channels; i++) {
		struct rv_store_known known;
		int device = station->channel[i].device;
		err = rv_store_known_find(store, station, i, &known, error);
		if (err == RV_OK && !known.stream) {
			err = add_stream(store, station, device, &known, t_us, error);
			if (err == RV_OK)
				err = rv_store_known_stream(store, &known, &known.stream, error);
		}
		if (err != RV_OK)
			return err;
		store->stream[device][known.part].id = known.stream;
		store->stream[device][known.part].width = known.width;
		narrow |= known.width == RV_STORE_NARROW;
		wide |= known.width == RV_STORE_WIDE;
	}
	store->both_widths = narrow && wide;
	return err;
}

/* The row that says what the station says of a channel, made where there is none. */
static enum rv_err declare_row(struct rv_store *store, const struct rv_station *station,
			       int channel, int64_t t_us, int64_t *row, struct rv_error *error)
{
	const struct rv_conversion *k = &station->channel[channel].calibration.conversion;
	struct rv_store_in_force now;
	struct rv_store_known known;
	enum rv_err err = rv_store_known_find(store, station, channel, &known, error);

	if (err == RV_OK)
		err = rv_store_known_row(store, &known, row, &now, error);
	if (err != RV_OK || *row)
		return err;
	err =
	    rv_store_sql_run(store, error,
			     "INSERT INTO conversion(channel, from_us, stream, width, slot, "
			     "calibration, a0, a1, a2, a3, zero) VALUES(?,?,?,?,?,?,?,?,?,?,0.0)",
			     "iiiiiidddd", known.channel, t_us, known.stream, (int64_t)known.width,
			     (int64_t)known.slot, known.calibration, k->a[0], k->a[1],
			     rv_store_known_higher(k, 2), rv_store_known_higher(k, 3));
	*row = sqlite3_last_insert_rowid(store->db);
	return err;
}

/* Ends the open rows without a run that the station no longer says, begins those it says anew. */
static enum rv_err declare_conversions(struct rv_store *store, const struct rv_station *station,
				       int64_t t_us, struct rv_error *error)
{
	struct rv_text said = {0};
	enum rv_err err = RV_OK;

	rv_text_add(&said, "[0");
	for (int i = 0; err == RV_OK && i < station->channels; i++) {
		int64_t row = 0;
		err = declare_row(store, station, i, t_us, &row, error);
		rv_text_add(&said, ",%lld", (long long)row);
	}
	rv_text_add(&said, "]");
	if (err == RV_OK && said.failed)
		err = rv_err_set(error, RV_ERR_NOMEM, "no memory to declare the station");
	if (err == RV_OK)
		err = rv_store_sql_run(
		    store, error,
		    "DELETE FROM conversion WHERE run IS NULL AND from_us >= ? AND "
		    "to_us = 9223372036854775807 AND "
		    "id NOT IN (SELECT value FROM json_each(?))",
		    "it", t_us, said.data);
	if (err == RV_OK)
		err = rv_store_sql_run(store, error,
				       "UPDATE conversion SET to_us = ? WHERE run IS NULL AND "
				       "to_us = 9223372036854775807 AND "
				       "id NOT IN (SELECT value FROM json_each(?))",
				       "it", t_us, said.data);
	rv_text_free(&said);
	return err;
}

static enum rv_err declare_text(struct rv_store *store, const struct rv_station *station,
				const char *text, int64_t t_us, struct rv_error *error)
{
	return rv_store_sql_run(
	    store, error,
	    "INSERT INTO station_version(from_us, name, unit, simulated, text) "
	    "SELECT ?1, ?2, ?3, ?4, ?5 WHERE NOT EXISTS(SELECT 1 FROM station_version WHERE id = "
	    "(SELECT max(id) FROM station_version) AND name = ?2 AND text = ?5 AND simulated = ?4)",
	    "ittit", t_us, station->name, rv_units_force_name(station->unit),
	    (int64_t)station->rehearsal, text);
}

enum rv_err rv_store_declare_all(struct rv_store *store, const struct rv_station *station,
				 const char *station_text, int64_t t_us, struct rv_error *error)
{
	enum rv_err err = declare_text(store, station, station_text, t_us, error);

	if (err == RV_OK)
		err = declare_devices(store, station, error);
	if (err == RV_OK)
		err = declare_channels(store, station, t_us, error);
	if (err == RV_OK)
		err = declare_streams(store, station, t_us, error);
	return err;
}

enum rv_err rv_store_set_station(struct rv_store *store, const struct rv_station *station,
				 const char *station_text, int64_t t_us, struct rv_error *error)
{
	struct rv_store_match match;
	int64_t run = 0;
	enum rv_err err = rv_store_match_station(store, station, &match, error);

	if (err == RV_OK)
		err = rv_store_known_open_run(store, &run, error);
	if (err == RV_OK && run && !match.fits)
		err = rv_err_refuse(error, "run_open", "run %lld is open and cannot go on: %s",
				    (long long)run, match.why);
	if (err != RV_OK)
		return err;
	err = rv_store_begin(store, error);
	if (err != RV_OK)
		return err;
	err = rv_store_declare_all(store, station, station_text, t_us, error);
	if (err == RV_OK)
		err = declare_conversions(store, station, t_us, error);
	/* What was doubtful when the last writer left is no longer watched: its span ends there. */
	if (err == RV_OK)
		err = rv_store_sql_run(store, error,
				       "UPDATE quality_span SET to_us = max(from_us, ?) "
				       "WHERE to_us = 9223372036854775807",
				       "i", t_us);
	if (err == RV_OK)
		err = rv_store_commit(store, error);
	if (err != RV_OK)
		rv_store_rollback(store);
	return err;
}
