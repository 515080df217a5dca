/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/serial_port.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/serial.h>
#include <poll.h>
#include <string.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <termios.h>
#include <unistd.h>

#include "daemon/clock.h"

static const struct {
	int baud;
	speed_t code;
} speeds[] = {
    {300, B300},	 {600, B600},	      {1200, B1200},	   {2400, B2400},
    {4800, B4800},	 {9600, B9600},	      {19200, B19200},	   {38400, B38400},
    {57600, B57600},	 {115200, B115200},   {230400, B230400},   {460800, B460800},
    {500000, B500000},	 {576000, B576000},   {921600, B921600},   {1000000, B1000000},
    {1152000, B1152000}, {1500000, B1500000}, {2000000, B2000000}, {3000000, B3000000},
};

static enum rv_err refuse_open(const char *path, int why, enum rv_fault *fault,
			       struct rv_error *error)
{
	enum rv_err err = RV_ERR_SYSTEM;

	*fault = RV_FAULT_UNREACHABLE;
	if (why == ENOENT || why == ENXIO || why == ENODEV) {
		err = rv_err_set(error, err,
				 "%s: no such port; plug the adapter in, or look under "
				 "/dev/serial/by-id/ for its name",
				 path);
	} else if (why == EACCES || why == EPERM) {
		err = rv_err_set(error, err,
				 "%s: not allowed; add the user that runs this to the group that "
				 "owns the port (often dialout)",
				 path);
	} else if (why == EBUSY || why == EWOULDBLOCK) {
		*fault = RV_FAULT_BUSY;
		err = rv_err_set(error, RV_ERR_BUSY,
				 "%s: held by another program; `fuser %s` tells which, stop it",
				 path, path);
	} else {
		err = rv_err_set(error, err, "%s: cannot be opened (error %d)", path, why);
	}
	if (error)
		error->sys_errno = why;
	return err;
}

enum rv_err rv_serial_port_open(const struct rv_device *device, int *port, enum rv_fault *fault,
				struct rv_error *error)
{
	int file = open(device->path, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);

	if (file < 0)
		return refuse_open(device->path, errno, fault, error);
	if (!isatty(file)) {
		close(file);
		*fault = RV_FAULT_UNREACHABLE;
		return rv_err_set(error, RV_ERR_REFUSED,
				  "%s: not a serial port; give one, such as /dev/ttyUSB0",
				  device->path);
	}
	if (flock(file, LOCK_EX | LOCK_NB) < 0 || ioctl(file, TIOCEXCL) < 0) {
		enum rv_err err = refuse_open(device->path, errno, fault, error);
		close(file);
		return err;
	}
	*port = file;
	return RV_OK;
}

static bool find_speed(int baud, speed_t *code)
{
	for (size_t i = 0; i < sizeof speeds / sizeof speeds[0]; i++) {
		if (speeds[i].baud == baud) {
			*code = speeds[i].code;
			return true;
		}
	}
	return false;
}

static tcflag_t frame_flags(const struct rv_device *device)
{
	static const tcflag_t sizes[] = {CS5, CS6, CS7, CS8};
	tcflag_t flags = CLOCAL | CREAD;

	flags |=
	    sizes[device->data_bits >= 5 && device->data_bits <= 8 ? device->data_bits - 5 : 3];
	if (device->parity != 'N')
		flags |= PARENB;
	if (device->parity == 'O')
		flags |= PARODD;
	if (device->stop_bits == 2)
		flags |= CSTOPB;
	return flags;
}

/* A pseudo-terminal keeps 8 bits without parity whatever it is told, and has no use for others.
 * Majors 136 to 143 are their far ends (Linux devices.txt; from memory, not re-read). */
static bool is_pseudo(int port)
{
	struct stat about;

	return fstat(port, &about) == 0 && major(about.st_rdev) >= 136 &&
	       major(about.st_rdev) <= 143;
}

/* FTDI adapters collect bytes for 16 ms unless told not to.  Other ports know no such setting,
 * which is no fault. */
static void ask_low_latency(int port)
{
	struct serial_struct serial;

	if (ioctl(port, TIOCGSERIAL, &serial) == 0) {
		serial.flags |= (int)ASYNC_LOW_LATENCY;
		(void)ioctl(port, TIOCSSERIAL, &serial);
	}
}

enum rv_err rv_serial_port_set(int port, const struct rv_device *device, struct rv_error *error)
{
	const tcflag_t looked_at = CSIZE | PARENB | PARODD | CSTOPB | CLOCAL | CREAD;
	struct termios want, got;
	speed_t speed;

	if (!find_speed(device->speed_baud, &speed))
		return rv_err_set(error, RV_ERR_RANGE,
				  "%s: no serial port runs at %d baud; usual are 9600, 19200, "
				  "38400, 57600, 115200",
				  device->path, device->speed_baud);
	if (tcgetattr(port, &want) < 0)
		return rv_err_set(error, RV_ERR_SYSTEM, "%s: went away", device->path);
	cfmakeraw(&want);
	want.c_iflag &= (tcflag_t) ~(IXON | IXOFF | IXANY);
	want.c_iflag |= device->parity != 'N' ? INPCK : 0;
	want.c_cflag &= (tcflag_t) ~(looked_at | HUPCL | CRTSCTS);
	want.c_cflag |= frame_flags(device);
	want.c_cc[VMIN] = 0;
	want.c_cc[VTIME] = 0;
	cfsetispeed(&want, speed);
	cfsetospeed(&want, speed);
	if (tcsetattr(port, TCSANOW, &want) < 0 || tcgetattr(port, &got) < 0)
		return rv_err_set(error, RV_ERR_SYSTEM, "%s: refuses its settings", device->path);
	tcflag_t frame = is_pseudo(port) ? (tcflag_t)(CLOCAL | CREAD) : looked_at;
	if (cfgetospeed(&got) != speed || (got.c_cflag & frame) != (want.c_cflag & frame) ||
	    (got.c_lflag & (ICANON | ECHO)) != 0 || got.c_oflag != want.c_oflag)
		return rv_err_set(error, RV_ERR_SYSTEM,
				  "%s: took other settings than %d baud %d%c%d raw; this adapter "
				  "cannot do them",
				  device->path, device->speed_baud, device->data_bits,
				  device->parity, device->stop_bits);
	ask_low_latency(port);
	tcflush(port, TCIOFLUSH);
	return RV_OK;
}

int64_t rv_serial_port_span_ns(const struct rv_device *device, int count)
{
	int bits = 1 + device->data_bits + (device->parity != 'N') + device->stop_bits;

	return device->speed_baud > 0 ? INT64_C(1000000000) * bits * count / device->speed_baud : 0;
}

/* RV_OK: ready.  A hang-up counts before anything that could still be read: what was received
 * before it is lost with it. */
static enum rv_err wait_for(int port, short what, int64_t deadline_ns)
{
	for (;;) {
		struct pollfd wait = {.fd = port, .events = what};
		int64_t rest_ns = deadline_ns - rv_clock_mono_ns();
		if (rest_ns < 0)
			rest_ns = 0;
		struct timespec rest = {.tv_sec = rest_ns / 1000000000,
					.tv_nsec = rest_ns % 1000000000};
		int ready = ppoll(&wait, 1, &rest, NULL);
		if (ready > 0)
			return wait.revents & (POLLHUP | POLLERR | POLLNVAL) ? RV_ERR_CLOSED
									     : RV_OK;
		if (ready == 0)
			return RV_ERR_AGAIN;
		if (errno != EINTR)
			return RV_ERR_CLOSED;
	}
}

enum rv_err rv_serial_port_read(int port, void *bytes, size_t size, int64_t deadline_ns,
				size_t *got)
{
	enum rv_err err = wait_for(port, POLLIN, deadline_ns);

	if (err != RV_OK)
		return err;
	ssize_t count = read(port, bytes, size);
	if (count > 0) {
		*got = (size_t)count;
		return RV_OK;
	}
	return count < 0 && (errno == EAGAIN || errno == EINTR) ? RV_ERR_AGAIN : RV_ERR_CLOSED;
}

enum rv_err rv_serial_port_write(int port, const void *bytes, size_t len, int64_t deadline_ns)
{
	const unsigned char *from = bytes;

	while (len > 0) {
		enum rv_err err = wait_for(port, POLLOUT, deadline_ns);
		if (err != RV_OK)
			return err;
		ssize_t count = write(port, from, len);
		if (count < 0 && errno != EAGAIN && errno != EINTR)
			return RV_ERR_CLOSED;
		if (count > 0) {
			from += count;
			len -= (size_t)count;
		}
	}
	return RV_OK;
}

int rv_serial_port_waiting(int port)
{
	int count = 0;

	return ioctl(port, FIONREAD, &count) < 0 ? -1 : count;
}

void rv_serial_port_flush(int port)
{
	tcflush(port, TCIFLUSH);
}

void rv_serial_port_close(int port)
{
	if (port < 0)
		return;
	tcflush(port, TCOFLUSH);
	close(port);
}
