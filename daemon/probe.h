/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reads every channel of a station once from the real wires and says what came: a table for people,
 * one channel a line.  Devices are read one after the other, each for at most its settling time, three
 * of its time-outs, two of its slots and 2 s, together at most 15 s.  Nothing is written to a device
 * but what it is asked with.
 */
#ifndef RV_DAEMON_PROBE_H
#define RV_DAEMON_PROBE_H

#include <stdbool.h>
#include <stdio.h>

#include "core/station.h"

/* True if every channel gave a good reading. */
bool rv_probe_run(const struct rv_station *station, FILE *out);

#endif
