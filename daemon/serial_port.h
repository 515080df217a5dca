/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A serial port, raw, held by us alone.
 *
 * Opened by the path as given, each time anew: give a name that lasts (/dev/serial/by-id/...), the
 * kernel may number a replugged adapter differently.  The port is locked twice, because TIOCEXCL
 * does not stop a privileged program and flock stops only those that ask.  What was set is read back:
 * tcsetattr succeeds when any one of several changes did.
 *
 * A port that went away is told by read giving 0, by EIO, ENXIO, ENODEV, or by POLLHUP or POLLERR;
 * all of these are RV_ERR_CLOSED here.
 */
#ifndef RV_DAEMON_SERIAL_PORT_H
#define RV_DAEMON_SERIAL_PORT_H

#include <stddef.h>
#include <stdint.h>

#include "core/station.h"
#include "daemon/intake.h"

/* Opens and locks device->path without touching its settings.  fault: UNREACHABLE or BUSY; the
 * error's text says what to do.  RV_ERR_BUSY, RV_ERR_SYSTEM; RV_ERR_REFUSED: not a serial port. */
enum rv_err rv_serial_port_open(const struct rv_device *device, int *port, enum rv_fault *fault,
				struct rv_error *error);

/* Raw, 8-bit clean, no flow control, speed and frame as the device says; read back; what was
 * received before is thrown away.  RV_ERR_RANGE: a speed serial ports do not know. */
enum rv_err rv_serial_port_set(int port, const struct rv_device *device, struct rv_error *error);

/* Nanoseconds that `count` characters take on the wire: start bit, data, parity, stop bits. */
int64_t rv_serial_port_span_ns(const struct rv_device *device, int count);

/* Reads what is there, waiting until deadline_ns for the first byte; got >= 1.
 * RV_ERR_AGAIN: nothing came.  RV_ERR_CLOSED: the port is gone. */
enum rv_err rv_serial_port_read(int port, void *bytes, size_t size, int64_t deadline_ns,
				size_t *got);

/* Writes all of it or fails: RV_ERR_AGAIN at deadline_ns, RV_ERR_CLOSED when gone. */
enum rv_err rv_serial_port_write(int port, const void *bytes, size_t len, int64_t deadline_ns);

/* Bytes received and not yet read, also of a socket; -1 = the port is gone. */
int rv_serial_port_waiting(int port);

/* Throws away what was received. */
void rv_serial_port_flush(int port);

/* Never waits for output to drain.  -1 is fine. */
void rv_serial_port_close(int port);

#endif
