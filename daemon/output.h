/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Alarm outputs: coils of Modbus devices, driven by a thread for each device that has some.
 *
 * A coil is written as soon as what is wanted changes, and again every second, and each time read
 * back.  An output that is not wanted rests: energised or released as the station says.  "Rest:
 * energised" is the fail-safe wiring: a cut wire, a dead device or a dead reeve lets it fall and
 * sounds the horn.  Stopping therefore releases every coil, as losing power would.
 *
 * This warns people; it stops no winch and is no safety function.
 */
#ifndef RV_DAEMON_OUTPUT_H
#define RV_DAEMON_OUTPUT_H

#include "core/station.h"

struct rv_outputs;

/* Told from an output's thread whenever an output begins to fail or is written again; text says
 * why.  Must not wait. */
struct rv_output_report {
	void (*tell)(void *to, int output, bool failed, const char *text);
	void *to;
};

/* Starts the threads; all outputs rest.  station is borrowed until the stop.
 * RV_ERR_REFUSED: an output on a serial line whose reader holds the port, or on a device that must
 * not be written to. */
enum rv_err rv_output_start(const struct rv_station *station,
			    const struct rv_output_report *report, struct rv_outputs **outputs,
			    struct rv_error *error);

/* From any thread; never waits for a device. */
void rv_output_drive(struct rv_outputs *outputs, int output, bool active);

/* Releases every coil that can be reached, joins, frees. */
void rv_output_stop(struct rv_outputs *outputs);

#endif
