/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/modbus_wire.h"

#include <arpa/inet.h>
#include <errno.h>
#include <modbus/modbus.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/select.h>

#include "daemon/clock.h"
#include "daemon/serial_port.h"

/* An answer cannot take longer than its time-out by more than this, unless this program was held
 * up; when it came cannot be told then. */
static const int64_t HELD_UP_NS = 100000000;

struct rv_modbus_wire {
	const struct rv_device *device;
	modbus_t *modbus;
	bool is_rtu, is_open;
	int64_t timeout_ns;
};

static modbus_t *make_context(const struct rv_device *device)
{
	struct in_addr numeric;
	char port[16];

	if (device->link == RV_LINK_MODBUS_RTU)
		return modbus_new_rtu(device->path, device->speed_baud, device->parity,
				      device->data_bits, device->stop_bits);
	if (inet_pton(AF_INET, device->address, &numeric) == 1)
		return modbus_new_tcp(device->address, device->port);
	snprintf(port, sizeof port, "%d", device->port);
	return modbus_new_tcp_pi(device->address, port);
}

enum rv_err rv_modbus_wire_new(const struct rv_device *device, struct rv_modbus_wire **wire,
			       struct rv_error *error)
{
	struct rv_modbus_wire *made = calloc(1, sizeof *made);

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "%s: no memory", device->name);
	made->device = device;
	made->is_rtu = device->link == RV_LINK_MODBUS_RTU;
	made->timeout_ns = (int64_t)(device->timeout_s * 1e9);
	made->modbus = make_context(device);
	if (!made->modbus || modbus_set_slave(made->modbus, device->unit) < 0) {
		rv_modbus_wire_free(made);
		return rv_err_set(error, RV_ERR_RANGE,
				  "%s: address, port or unit %d cannot be used; units are 1 to "
				  "247, or 255 for a TCP device itself",
				  device->name, device->unit);
	}
	modbus_set_error_recovery(made->modbus, MODBUS_ERROR_RECOVERY_NONE);
	modbus_set_byte_timeout(made->modbus, 0, 0);
	modbus_set_response_timeout(made->modbus, (uint32_t)(made->timeout_ns / 1000000000),
				    (uint32_t)(made->timeout_ns % 1000000000 / 1000));
	*wire = made;
	return RV_OK;
}

void rv_modbus_wire_free(struct rv_modbus_wire *wire)
{
	if (!wire)
		return;
	rv_modbus_wire_close(wire);
	if (wire->modbus)
		modbus_free(wire->modbus);
	free(wire);
}

static enum rv_err refuse_connect(const struct rv_device *device, int why, struct rv_error *error)
{
	const char *advice = "there is no way to it; check address and network";

	if (why == ECONNREFUSED)
		advice = "refused, or a name nobody knows; is the instrument switched on, and are "
			 "address and port right?";
	else if (why == EINPROGRESS || why == ETIMEDOUT || why == EAGAIN)
		advice = "no answer in time; check address, cable and power";
	enum rv_err err = rv_err_set(error, RV_ERR_SYSTEM, "%s port %d: %s", device->address,
				     device->port, advice);
	if (error)
		error->sys_errno = why;
	return err;
}

static enum rv_err connect_tcp(struct rv_modbus_wire *wire, struct rv_error *error)
{
	if (modbus_connect(wire->modbus) < 0) {
		int why = errno;
		modbus_close(wire->modbus);
		return refuse_connect(wire->device, why, error);
	}
	/* libmodbus 3.1.6 uses select(), which writes beyond its sets above this. */
	if (modbus_get_socket(wire->modbus) >= FD_SETSIZE) {
		modbus_close(wire->modbus);
		return rv_err_set(error, RV_ERR_SYSTEM, "%s: too many open files in this program",
				  wire->device->name);
	}
	return RV_OK;
}

/* The port is opened, locked and set here and lent to libmodbus, whose own opening would disturb a
 * port that somebody else holds. */
static enum rv_err open_rtu(struct rv_modbus_wire *wire, enum rv_fault *fault,
			    struct rv_error *error)
{
	int port = -1;
	enum rv_err err = rv_serial_port_open(wire->device, &port, fault, error);

	if (err != RV_OK)
		return err;
	err = rv_serial_port_set(port, wire->device, error);
	if (err == RV_OK && port >= FD_SETSIZE)
		err = rv_err_set(error, RV_ERR_SYSTEM, "%s: too many open files in this program",
				 wire->device->name);
	if (err != RV_OK)
		rv_serial_port_close(port);
	else
		(void)modbus_set_socket(wire->modbus, port);
	return err;
}

enum rv_err rv_modbus_wire_open(struct rv_modbus_wire *wire, enum rv_fault *fault,
				struct rv_error *error)
{
	*fault = RV_FAULT_UNREACHABLE;
	enum rv_err err = wire->is_rtu ? open_rtu(wire, fault, error) : connect_tcp(wire, error);

	wire->is_open = err == RV_OK;
	return err;
}

void rv_modbus_wire_close(struct rv_modbus_wire *wire)
{
	if (!wire->is_open)
		return;
	wire->is_open = false;
	if (wire->is_rtu) {
		/* Not modbus_close: it would set the port to settings it never took. */
		rv_serial_port_close(modbus_get_socket(wire->modbus));
		(void)modbus_set_socket(wire->modbus, -1);
	} else {
		modbus_close(wire->modbus);
	}
}

bool rv_modbus_wire_is_open(const struct rv_modbus_wire *wire)
{
	return wire->is_open;
}

int rv_modbus_wire_waiting(const struct rv_modbus_wire *wire)
{
	return rv_serial_port_waiting(modbus_get_socket(wire->modbus));
}

enum rv_err rv_modbus_wire_discard(struct rv_modbus_wire *wire, int64_t deadline_ns)
{
	unsigned char bytes[256];
	size_t got;

	return rv_serial_port_read(modbus_get_socket(wire->modbus), bytes, sizeof bytes,
				   deadline_ns, &got);
}

/* libmodbus' own strings for these are constants. */
static void say_exception(int why, struct rv_modbus_trouble *trouble)
{
	trouble->fault = RV_FAULT_EXCEPTION;
	trouble->is_refused = why == EMBXILADD || why == EMBXILVAL;
	trouble->is_gateway = why == EMBXGPATH || why == EMBXGTAR;
	snprintf(trouble->text, sizeof trouble->text, "the unit answers: %s", modbus_strerror(why));
}

/* Sorts out why libmodbus gave no answer. */
static enum rv_err sort_out(const struct rv_modbus_wire *wire, int why,
			    struct rv_modbus_trouble *trouble)
{
	bool is_gone = rv_modbus_wire_waiting(wire) < 0;

	*trouble = (struct rv_modbus_trouble){.fault = RV_FAULT_GARBLED};
	if (why == ETIMEDOUT && !is_gone) {
		trouble->fault = RV_FAULT_TIMEOUT;
		snprintf(trouble->text, sizeof trouble->text, "no answer within %.0f ms",
			 (double)wire->timeout_ns / 1e6);
	} else if (why == EMBBADCRC) {
		trouble->fault = RV_FAULT_CHECKSUM;
		snprintf(trouble->text, sizeof trouble->text, "an answer with a wrong checksum");
	} else if (why >= EMBXILFUN && why <= EMBXGTAR) {
		say_exception(why, trouble);
	} else if (why == EMBBADSLAVE) {
		snprintf(trouble->text, sizeof trouble->text, "an answer of another unit");
	} else if (why >= EMBBADDATA && why < EMBBADSLAVE) {
		snprintf(trouble->text, sizeof trouble->text,
			 "an answer that does not fit the question");
	} else {
		trouble->fault = RV_FAULT_UNPLUGGED;
		snprintf(trouble->text, sizeof trouble->text, "%s",
			 wire->is_rtu ? "the port is gone: is the adapter plugged in?"
				      : "the instrument closed the connection");
		return RV_ERR_CLOSED;
	}
	return RV_ERR_AGAIN;
}

static int read_by_function(modbus_t *modbus, const struct rv_regs_request *request,
			    struct rv_modbus_answer *answer)
{
	switch (request->space) {
	case RV_REGISTER_INPUT:
		return modbus_read_input_registers(modbus, request->address, request->count,
						   answer->words);
	case RV_REGISTER_HOLDING:
		return modbus_read_registers(modbus, request->address, request->count,
					     answer->words);
	case RV_REGISTER_DISCRETE:
		return modbus_read_input_bits(modbus, request->address, request->count,
					      answer->bits);
	case RV_REGISTER_COIL:
		break;
	}
	return modbus_read_bits(modbus, request->address, request->count, answer->bits);
}

enum rv_err rv_modbus_wire_read(struct rv_modbus_wire *wire, const struct rv_regs_request *request,
				struct rv_modbus_answer *answer, struct rv_modbus_trouble *trouble)
{
	int64_t asked_ns = rv_clock_mono_ns();
	int got = read_by_function(wire->modbus, request, answer);
	int why = errno;
	int64_t now_ns = rv_clock_mono_ns();

	if (got != request->count)
		return sort_out(wire, got < 0 ? why : EMBBADDATA, trouble);
	if (now_ns - asked_ns > wire->timeout_ns + HELD_UP_NS) {
		*trouble = (struct rv_modbus_trouble){.fault = RV_FAULT_OVERFLOW};
		snprintf(trouble->text, sizeof trouble->text, "this machine was held up");
		return RV_ERR_AGAIN;
	}
	answer->asked_ns = asked_ns;
	answer->arrived_ns = now_ns;
	if (wire->is_rtu) {
		/* Unit, function, count, data, checksum.  A port without a line behind it is faster
		 * than its speed says: never before the question. */
		int64_t first_ns =
		    now_ns - rv_serial_port_span_ns(wire->device, 5 + rv_regs_bytes(request));
		answer->arrived_ns = first_ns > asked_ns ? first_ns : asked_ns;
	}
	return RV_OK;
}

enum rv_err rv_modbus_wire_write_coil(struct rv_modbus_wire *wire, int coil, bool energised,
				      struct rv_modbus_trouble *trouble)
{
	if (modbus_write_bit(wire->modbus, coil, energised) == 1)
		return RV_OK;
	return sort_out(wire, errno, trouble);
}
