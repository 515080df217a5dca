/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Another calibration for a channel of a run, in the place of the one that was frozen with it: raw
 * readings stay as they came, the record stays as it is, only what is reckoned from them is new.
 *
 * From the file come its inverse, its uncertainties, name and due date.  What the run's station
 * itself states of the channel (gain_uncertainty, zero_uncertainty, drift_uncertainty, delay)
 * stays, as it does when a station is read with a calibration file.
 */
#ifndef RV_SCHEMA_RECALIBRATE_H
#define RV_SCHEMA_RECALIBRATE_H

#include "schema/store.h"

enum { RV_RECALIBRATIONS = 16 };

struct rv_recalibration {
	const char *channel;
	const char *path; /* of the file, for people */
	const char *text; /* of the file; borrowed */
	size_t len;
};

/* Puts them into the channels.  RV_ERR_REFUSED: name_unknown (no such channel; the nearest is
 * offered), calibration_channel (it is no tension, or a counter that rolls over),
 * calibration_file (FILE:line:column and what is wrong); RV_ERR_NOMEM. */
enum rv_err rv_recalibrate(struct rv_store *store, const struct rv_store_run *run,
			   const struct rv_recalibration *list, int count,
			   struct rv_store_channels *channels, struct rv_error *error);

/* The readings of a cursor by the same calibrations. */
void rv_recalibrate_cursor(const struct rv_recalibration *list, int count,
			   const struct rv_store_channels *channels,
			   struct rv_store_cursor *cursor);

#endif
