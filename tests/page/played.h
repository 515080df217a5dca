/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A played engine: it holds a snapshot that a test changes by commands, and publishes it as the real
 * one would.  Only for tests of the page and the web side.
 */
#ifndef RV_TESTS_PLAYED_H
#define RV_TESTS_PLAYED_H

#include "daemon/engine.h"

/* A two-part line with a cell at each end of it.  The caller frees the ground. */
void played_station(struct rv_station *station, int port);
struct rv_ground *played_ground(void);

/* The snapshot to start with: steady hauling, nothing wrong. */
void played_live(struct rv_live *live);

/* Starts and stops publishing, 20 times a second. */
struct rv_engine *played_engine_new(struct rv_live_board *board);
void played_engine_free(struct rv_engine *engine);

/* One line of command; false when it is none. */
bool played_engine_command(struct rv_engine *engine, const char *line);

#endif
