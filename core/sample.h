/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One message from an instrument, as it came off the wire, and what may be wrong with a reading.
 *
 * Words of quality follow OPC 10000-8 (OPC UA Part 8) section 7.3.2: a bad reading has no value.
 */
#ifndef RV_CORE_SAMPLE_H
#define RV_CORE_SAMPLE_H

#include <stdbool.h>
#include <stdint.h>

#include "core/err.h"

/* Values in one message.  A device with more channels sends several parts, each a message. */
enum { RV_MESSAGE_VALUES = 16 };

enum rv_raw_kind { RV_RAW_NONE, RV_RAW_INT, RV_RAW_REAL };

/* A value as received, before any calibration: a count, or the number the device sent. */
struct rv_raw {
	enum rv_raw_kind kind;
	union {
		int64_t count; /* RV_RAW_INT */
		double real;   /* RV_RAW_REAL; never NaN or infinite */
	};
};

enum rv_quality { RV_GOOD, RV_UNCERTAIN, RV_BAD };

/* Why a reading is not good. */
enum rv_cause {
	RV_CAUSE_NONE,
	RV_CAUSE_NO_COMMUNICATION, /* the device does not answer, or the message was unreadable */
	RV_CAUSE_FROZEN,	   /* the gateway repeats a dead cell's last value (alive) */
	RV_CAUSE_STATUS,	   /* the device itself says its value is not good (good_when) */
	RV_CAUSE_UNIT,		   /* the message names another unit than the channel's */
	RV_CAUSE_NOT_A_NUMBER,
	RV_CAUSE_OUT_OF_RANGE, /* beyond the instrument's capacity */
	RV_CAUSE_JUMP,	       /* no line runs that fast */
	RV_CAUSE_STALE,	       /* good once, but too long ago */
	RV_CAUSES
};

struct rv_value {
	struct rv_raw raw;	 /* kind NONE: no reading of this channel in this message */
	enum rv_quality quality; /* as far as the wire can tell */
	enum rv_cause cause;
};

struct rv_message {
	int64_t mono_ns; /* CLOCK_BOOTTIME at the arrival of the first byte of the answer */
	uint8_t device;	 /* index into rv_station.devices */
	uint8_t part;	 /* 0, 1, ... when the device has more than RV_MESSAGE_VALUES channels */
	uint8_t count;	 /* values used */
	struct rv_value values[RV_MESSAGE_VALUES]; /* in order of the device's channels */
};

/* "good", "uncertain", "bad"; "no communication", "frozen", ... ("" for NONE). */
const char *rv_sample_quality_name(enum rv_quality quality);
const char *rv_sample_cause_name(enum rv_cause cause);

/* The raw number as a double; NaN for RV_RAW_NONE. */
double rv_sample_number(struct rv_raw raw);

/* Are they the same bits?  NaN is then NaN, and -0 is not 0. */
bool rv_sample_is_same(double a, double b);

#endif
