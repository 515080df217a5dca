/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * RECORD:RUN, as people name a run: quarry.db:3, or quarry.db:"wet rope".
 */
#ifndef RV_TOOLS_RUN_WORD_H
#define RV_TOOLS_RUN_WORD_H

#include <jansson.h>

#include "core/units.h"
#include "schema/store.h"

/* Opens the record and finds the run.  A path may hold colons itself: the first colon that ends the
 * path of an existing file counts, else the last one. */
enum rv_err rv_run_word_open(const char *word, struct rv_store **store, int64_t *number,
			     struct rv_error *error);

/* A value for people: a force in the unit asked for, or in the station's (by name) where that is
 * RV_FORCE_UNITS; anything else in its own unit; "-" for NaN. */
enum { RV_RUN_WORD_VALUE = 96 };
void rv_run_word_value(double value, const char *unit, enum rv_force_unit asked,
		       const char *station_unit, char text[RV_RUN_WORD_VALUE]);

/* Prints the reason on stderr; returns the exit status that goes with it. */
int rv_run_word_refuse(const char *command, const struct rv_error *error);

/* Prints one JSON object on stdout and lets go of it; returns the exit status. */
int rv_run_word_print(json_t *json);

#endif
