/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a reader thread tells the engine: a message, or that something went wrong on the wire.
 */
#ifndef RV_DAEMON_INTAKE_H
#define RV_DAEMON_INTAKE_H

#include "core/sample.h"

/* A fault on the wire.  Each lost message is one fault with a reason: nothing goes missing
 * uncounted. */
enum rv_fault {
	RV_FAULT_NONE,
	RV_FAULT_TIMEOUT,     /* asked, no answer in time */
	RV_FAULT_LATE,	      /* skipped while a late answer was being waited out */
	RV_FAULT_CHECKSUM,    /* CRC or frame broken */
	RV_FAULT_EXCEPTION,   /* Modbus exception reply; see text */
	RV_FAULT_GARBLED,     /* a line the pattern does not match, or an answer of the wrong form */
	RV_FAULT_UNIT,	      /* a line that names another unit than the channel's */
	RV_FAULT_TOO_LONG,    /* a line without end */
	RV_FAULT_UNREACHABLE, /* cannot be opened or connected */
	RV_FAULT_UNPLUGGED,   /* was open, is gone */
	RV_FAULT_BUSY,	      /* somebody else holds the port */
	RV_FAULT_OVERFLOW,    /* reeve itself was too slow: the ring was full */
	RV_FAULTS
};

/* "time-out", "late reply", "checksum", ... */
const char *rv_intake_fault_name(enum rv_fault fault);

struct rv_wish;

enum rv_intake_kind {
	RV_INTAKE_MESSAGE,
	RV_INTAKE_LOST,	  /* `missed` messages lost, for reason `fault` */
	RV_INTAKE_OPENED, /* the device answers (again) */
	RV_INTAKE_WISH,	  /* a person asks for something: see engine_wish */
	RV_INTAKE_OUTPUT_FAILED, /* `device` is an output that cannot be written: text says why */
	RV_INTAKE_OUTPUT_WORKS,	 /* it can be again */
	RV_INTAKE_CLOSED, /* the wire is gone: fault says why; readings of it are no longer live */
};

struct rv_intake {
	enum rv_intake_kind kind;
	int device;
	int64_t mono_ns;
	enum rv_fault fault;
	int missed;	/* messages, for RV_INTAKE_LOST */
	char text[120]; /* for people: "illegal data address", "no such port" */
	union {
		struct rv_message message; /* RV_INTAKE_MESSAGE */
		struct rv_wish *wish;	   /* RV_INTAKE_WISH; borrowed */
	};
};

#endif
