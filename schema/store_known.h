/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which rows of the record stand for a station's channels.  Private to the store.  An id of 0: not
 * in the record yet.
 */
#ifndef RV_SCHEMA_STORE_KNOWN_H
#define RV_SCHEMA_STORE_KNOWN_H

#include "schema/store_sql.h"

struct rv_store_known {
	int64_t device, stream, channel, calibration;
	int part, slot, width;
};

/* What the record knows of a channel as the station declares it now. */
enum rv_err rv_store_known_find(struct rv_store *store, const struct rv_station *station,
				int channel, struct rv_store_known *known, struct rv_error *error);

/* The open conversion row that says just this; fills what it applies. */
enum rv_err rv_store_known_row(struct rv_store *store, const struct rv_store_known *known,
			       int64_t *id, struct rv_store_in_force *now, struct rv_error *error);

enum rv_err rv_store_known_device(struct rv_store *store, const struct rv_device *device,
				  int64_t *id, struct rv_error *error);
enum rv_err rv_store_known_channel(struct rv_store *store, const struct rv_channel *channel,
				   int64_t *id, struct rv_error *error);
enum rv_err rv_store_known_calibration(struct rv_store *store, const struct rv_channel *channel,
				       int64_t channel_id, int64_t *id, struct rv_error *error);
/* The newest layout of the same device, part and width. */
enum rv_err rv_store_known_stream(struct rv_store *store, const struct rv_store_known *known,
				  int64_t *id, struct rv_error *error);
enum rv_err rv_store_known_open_run(struct rv_store *store, int64_t *run, struct rv_error *error);

/* Values in one part of a device's message. */
int rv_store_known_part_size(const struct rv_station *station, int device, int part);

/* Inside a transaction: station text, devices, channels, calibrations and layouts; what is in the record
 * already is used again.  Fills the writer's ids. */
enum rv_err rv_store_declare_all(struct rv_store *store, const struct rv_station *station,
				 const char *station_text, int64_t t_us, struct rv_error *error);

/* The rules of a run's name; and its number: the one wished for (0 = the next), if it is free. */
enum rv_err rv_store_known_name(struct rv_store *store, const char *name, struct rv_error *error);
enum rv_err rv_store_known_number(struct rv_store *store, int64_t wished, int64_t *number,
				  struct rv_error *error);

/* a2 and a3 as the record keeps them: both NULL (NaN) for a line. */
double rv_store_known_higher(const struct rv_conversion *conversion, int power);

/* In the record's words. */
void rv_store_known_raw_type(const struct rv_channel *channel, bool is_text, char *to, size_t size);
void rv_store_known_place(const struct rv_channel *channel, bool is_text, char *to, size_t size);
const char *rv_store_known_motion(enum rv_motion motion);

#endif
