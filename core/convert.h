/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Raw becomes a value: conversion, counters that roll over, jumps of the payout, limits of the
 * instrument.  One struct rv_convert for each channel, fed with its values in order; the same for
 * live readings and for stored ones.  Time is an argument; nothing is allocated.
 *
 * Roll-over: wraps_at is the period of the counter (65536 for 16 bits, signed or not).  A step of
 * more than half a period between two readings is taken as a roll-over the short way round.
 *
 * Jump (payout only): two neighbouring readings further apart than RV_CONVERT_FASTEST_MPS allows,
 * with RV_CONVERT_LATE_S for messages that come late or in a bunch and two encoder steps added.
 * Such readings are bad until the payout is back where it was, or until it has gone on without
 * another jump for RV_CONVERT_REBASE_S: then the counter was set anew and the reading says so
 * (`restarted`).  Winch lines run below 1 m/s under load, free lines are pulled off by hand at some
 * 3 m/s: common practice, no source.
 *
 * Out of range: beyond the stated capacity the stated accuracy no longer holds, so a tension above
 * capacity, or below -5 % of it (a cell of a line cannot be pushed: reversed wires, wrong zero), or
 * a whole number at the end of its type (a converter that is at its stop), is uncertain.  It keeps
 * its value: the force is at least that high.
 */
#ifndef RV_CORE_CONVERT_H
#define RV_CORE_CONVERT_H

#include "core/sample.h"
#include "core/station.h"

#define RV_CONVERT_FASTEST_MPS 5.0
#define RV_CONVERT_LATE_S 0.05
#define RV_CONVERT_REBASE_S 1.0
#define RV_CONVERT_BELOW_ZERO_RATIO 0.05

/* One reading of a channel. */
struct rv_reading {
	double value; /* in the channel's unit, no tare taken off; NaN when bad */
	double raw;   /* as received; NaN when there was none */
	enum rv_quality quality;
	enum rv_cause cause;
	bool rolled_over; /* the conversion in force changed with this reading: rv_convert_in_force */
	bool restarted;	  /* the payout stands elsewhere from now on: differences across are void */
	bool repeat;	  /* `updates`: the instrument's last value once more, no new reading */
};

struct rv_convert {
	const struct rv_channel *channel; /* borrowed */
	struct rv_conversion conversion;  /* without roll-overs */
	double rolled_raw;		  /* what roll-overs add to raw */
	double last_raw;		  /* counters: last one that was in range */
	double seen_raw;		  /* last one of any kind */
	int64_t new_ns; /* `updates`: when the last new reading came */
	double good, last;	 /* payout: last good value, last value of any kind */
	int64_t good_ns, last_ns, jump_ns;
	bool jumped;
};

/* channel is borrowed for as long as the struct is used. */
void rv_convert_init(struct rv_convert *convert, const struct rv_channel *channel);

/* Another conversion of raw as received holds from now on: a zero, or the one that was in force
 * when the record was last written (rv_convert_in_force). */
void rv_convert_set(struct rv_convert *convert, const struct rv_conversion *conversion);

/* The value as it came at mono_ns -> *reading.  False, and *reading untouched: the message holds no
 * reading of this channel. */
bool rv_convert_take(struct rv_convert *convert, const struct rv_value *value, int64_t mono_ns,
		     struct rv_reading *reading);

/* The conversion that turns raw as received into the value, roll-overs so far included. */
struct rv_conversion rv_convert_in_force(const struct rv_convert *convert);

/* The step of the channel's value for one count, or NaN when the device sends no counts. */
double rv_convert_step(const struct rv_channel *channel);

#endif
