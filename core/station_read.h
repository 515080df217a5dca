/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A station file's text -> struct rv_station.
 *
 * Keys left out have these values: rig "" (none), unit kN, page {listen: 127.0.0.1, port: 8750},
 * runs NaN (by hand only), keep 7 d, device timeout 500 ms and settle 0 s, Modbus TCP port 502 (the
 * registered one), channel delay, capacity and uncertainties NaN, travel_uncertainty
 * {standard: 3 %}, alarm delay and clear_delay 0 s, output rest: released.  All else that is
 * missing is an error.
 */
#ifndef RV_CORE_STATION_READ_H
#define RV_CORE_STATION_READ_H

#include <stddef.h>

#include "core/station.h"
#include "core/station_outside.h"

/* Reads len bytes.  On failure *station is untouched and the error has line, column, a sentence and
 * a tag. */
enum rv_err rv_station_read(const char *text, size_t len, const struct rv_station_outside *outside,
			    struct rv_station *station, struct rv_error *error);

#endif
