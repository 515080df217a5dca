/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One Modbus wire, TCP or RTU: opens it, asks one question, gets its answer or the reason why not.
 * The only user of libmodbus, of its client half.  Whether an answer belongs to its question is
 * daemon/modbus_link's care.
 *
 * libmodbus 3.1.6 is set so: no recovery of its own (it would never return while a port is
 * unplugged), no time-out between bytes (so that the answer's time-out limits the whole answer, and
 * a unit that trickles bytes cannot hold the call).
 */
#ifndef RV_DAEMON_MODBUS_WIRE_H
#define RV_DAEMON_MODBUS_WIRE_H

#include <stdint.h>

#include "core/regs.h"
#include "core/station.h"
#include "daemon/intake.h"

struct rv_modbus_wire;

/* What a question brought. */
struct rv_modbus_answer {
	int64_t asked_ns;
	int64_t arrived_ns; /* first byte: the end of the answer less its length on the wire */
	union {
		uint16_t words[RV_REGS_WORDS];
		uint8_t bits[RV_REGS_BITS]; /* 0 or 1 each */
	};
};

/* Why there is no answer; text is for people. */
struct rv_modbus_trouble {
	enum rv_fault fault;
	bool is_refused; /* the unit answered that it will not read these addresses or so many */
	bool is_gateway; /* a gateway answered for a unit that did not answer it in time */
	char text[120];
};

/* device is borrowed.  RV_ERR_NOMEM or RV_ERR_RANGE: a setting libmodbus refuses. */
enum rv_err rv_modbus_wire_new(const struct rv_device *device, struct rv_modbus_wire **wire,
			       struct rv_error *error);
void rv_modbus_wire_free(struct rv_modbus_wire *wire);

/* Opens the port or connects, within the device's time-out (a host name may take the resolver
 * longer).  fault and error's text say why not and what to do. */
enum rv_err rv_modbus_wire_open(struct rv_modbus_wire *wire, enum rv_fault *fault,
				struct rv_error *error);
void rv_modbus_wire_close(struct rv_modbus_wire *wire);
bool rv_modbus_wire_is_open(const struct rv_modbus_wire *wire);

/* Bytes that came and were not read; -1 = the wire is gone. */
int rv_modbus_wire_waiting(const struct rv_modbus_wire *wire);

/* RTU: throws away bytes, waiting until deadline_ns for the first.  RV_OK: some came.
 * RV_ERR_AGAIN: none.  RV_ERR_CLOSED. */
enum rv_err rv_modbus_wire_discard(struct rv_modbus_wire *wire, int64_t deadline_ns);

/* One question, at most the device's time-out.  RV_OK; RV_ERR_AGAIN: trouble says why;
 * RV_ERR_CLOSED: the wire is gone. */
enum rv_err rv_modbus_wire_read(struct rv_modbus_wire *wire, const struct rv_regs_request *request,
				struct rv_modbus_answer *answer, struct rv_modbus_trouble *trouble);
enum rv_err rv_modbus_wire_write_coil(struct rv_modbus_wire *wire, int coil, bool energised,
				      struct rv_modbus_trouble *trouble);

#endif
