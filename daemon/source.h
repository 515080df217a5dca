/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The device interface: every kind of wire is three calls.  A source is used by one thread.
 */
#ifndef RV_DAEMON_SOURCE_H
#define RV_DAEMON_SOURCE_H

#include "core/station.h"
#include "daemon/intake.h"

struct rv_source;

/* What a kind of wire provides.  A source starts its own structure with struct rv_source. */
struct rv_source_type {
	/* Opens the wire.  On failure fills fault and the error's text. */
	enum rv_err (*open)(struct rv_source *source, enum rv_fault *fault, struct rv_error *error);

	/* Waits for the next message or fault and hands out one or more intakes through
	 * rv_source_emit, at most until the device's timeout has passed.
	 * RV_OK: go on.  RV_ERR_CLOSED: the wire is gone, close and open again later.
	 * RV_ERR_AGAIN: nothing came. */
	enum rv_err (*next)(struct rv_source *source, struct rv_error *error);

	void (*close)(struct rv_source *source);
	void (*free)(struct rv_source *source);
};

struct rv_source {
	const struct rv_source_type *type;
	const struct rv_station *station; /* borrowed; outlives the source */
	int device;
	void (*emit)(void *to, const struct rv_intake *intake);
	void *to;
};

/* Makes the source for a device of the station, not yet open. */
enum rv_err rv_source_new(const struct rv_station *station, int device,
			  void (*emit)(void *to, const struct rv_intake *intake), void *to,
			  struct rv_source **source, struct rv_error *error);

/* What the kinds of wire share. */
void rv_source_emit(const struct rv_source *source, const struct rv_intake *intake);

/* Tells of lost messages.  missed = 0: the message came, but a part of it is bad for this reason. */
void rv_source_lost(const struct rv_source *source, enum rv_fault fault, int missed,
		    const char *text);

/* Sends the device's values (count = its channels, in their order) as one message or, above
 * RV_MESSAGE_VALUES, as several parts with one time.  Sends nothing when there is no reading among
 * them and nothing bad. */
void rv_source_deliver(const struct rv_source *source, int64_t mono_ns,
		       const struct rv_value *values, int count);

#endif
