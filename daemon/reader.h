/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One thread per device: opens its source, reads it, and opens it again with back-off (0.25 s
 * doubling to 2 s) when it is lost.  What comes in goes to the intake ring; a full ring is counted and
 * told as RV_FAULT_OVERFLOW as soon as there is room.
 */
#ifndef RV_DAEMON_READER_H
#define RV_DAEMON_READER_H

#include "core/station.h"
#include "daemon/ring.h"

struct rv_reader;

/* Starts the thread.  station and ring are borrowed until rv_reader_stop. */
enum rv_err rv_reader_start(const struct rv_station *station, int device, struct rv_ring *ring,
			    struct rv_reader **reader, struct rv_error *error);

/* Stops and joins within a second; frees. */
void rv_reader_stop(struct rv_reader *reader);

#endif
