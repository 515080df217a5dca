/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/fakes/fake_unit.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

struct frame {
	unsigned char bytes[512];
	int len;
};

static double draw(struct fake_unit *fake)
{
	/* xorshift64*: multiplier from memory, not re-read; any good one would do. */
	fake->seed ^= fake->seed >> 12;
	fake->seed ^= fake->seed << 25;
	fake->seed ^= fake->seed >> 27;
	return (double)((fake->seed * UINT64_C(2685821657736338717)) >> 11) / 9007199254740992.0;
}

static void pause_ns(struct fake_unit *fake, int64_t ns)
{
	while (ns > 0 && !atomic_load(&fake->stopping)) {
		int64_t part = ns < 20000000 ? ns : 20000000;
		struct timespec span = {.tv_sec = 0, .tv_nsec = part};
		nanosleep(&span, NULL);
		ns -= part;
	}
}

/* Modbus over Serial Line V1.02, section 6.2.2: polynomial A001 reversed, start FFFF, low byte
 * first.  Checked against its worked example by what libmodbus accepts. */
static unsigned int checksum(const unsigned char *bytes, int len)
{
	unsigned int crc = 0xffff;

	for (int i = 0; i < len; i++) {
		crc ^= bytes[i];
		for (int k = 0; k < 8; k++)
			crc = crc & 1 ? (crc >> 1) ^ 0xa001 : crc >> 1;
	}
	return crc;
}

static void put_byte(struct frame *frame, unsigned int byte)
{
	frame->bytes[frame->len++] = (unsigned char)(byte & 0xff);
}

static void put_word(struct frame *frame, unsigned int word)
{
	put_byte(frame, word >> 8);
	put_byte(frame, word);
}

/* What follows the unit: function and data. */
static void answer_body(struct fake_unit *fake, const unsigned char *asked, enum fake_fault fault,
			struct frame *body)
{
	unsigned int function = asked[0];
	unsigned int first = asked[1] * 256u + asked[2], count = asked[3] * 256u + asked[4];
	unsigned int number = atomic_load(&fake->received);

	if (fault == FAKE_EXCEPTION || fault == FAKE_BUSY ||
	    (fake->highest && first + count > (unsigned int)fake->highest + 1)) {
		put_byte(body, function | 0x80);
		put_byte(body, fault == FAKE_BUSY ? 6 : 2);
	} else if (function == 5) {
		atomic_store(&fake->coil, asked[3] == 0xff);
		for (int i = 0; i < 5; i++)
			put_byte(body, asked[i]);
	} else if (function <= 2) {
		bool energised = function == 2 || atomic_load(&fake->coil);
		put_byte(body, function);
		put_byte(body, (count + 7) / 8);
		for (unsigned int i = 0; i < (count + 7) / 8; i++)
			put_byte(body, energised ? 0xff : 0);
	} else {
		if (fault == FAKE_WRONG_COUNT)
			count = count > 1 ? count - 1 : 2;
		put_byte(body, function);
		put_byte(body, 2 * count);
		for (unsigned int i = first; i < first + count; i++)
			put_word(body, fake->single || (i & 1) ? number : i + 1);
	}
}

static void wrap(const struct fake_unit *fake, const unsigned char *asked, enum fake_fault fault,
		 const struct frame *body, struct frame *whole)
{
	unsigned int unit = (unsigned int)fake->unit + (fault == FAKE_WRONG_UNIT);

	if (fake->is_tcp) {
		put_byte(whole, asked[0]);
		put_byte(whole, asked[1]);
		put_word(whole, 0);
		put_word(whole, (unsigned int)body->len + 1);
	}
	put_byte(whole, unit);
	memcpy(whole->bytes + whole->len, body->bytes, (size_t)body->len);
	whole->len += body->len;
	if (!fake->is_tcp) {
		unsigned int crc = checksum(whole->bytes, whole->len);
		if (fault == FAKE_BAD_CRC)
			crc ^= 0x0100;
		put_byte(whole, crc);
		put_byte(whole, crc >> 8);
	}
}

static void transmit(struct fake_unit *fake, const unsigned char *bytes, int len)
{
	if (fake->is_tcp)
		(void)!send(fake->file, bytes, (size_t)len, MSG_NOSIGNAL);
	else
		(void)!write(fake->file, bytes, (size_t)len);
}

static void send_answer(struct fake_unit *fake, const struct frame *whole, enum fake_fault fault)
{
	static const unsigned char noise[] = {0x00, 0xff, 0x55, 0xaa, 0x13};

	switch (fault) {
	case FAKE_SILENT:
		return;
	case FAKE_HALF:
		transmit(fake, whole->bytes, whole->len / 2);
		return;
	case FAKE_TWICE: {
		unsigned char twice[2 * sizeof whole->bytes];
		memcpy(twice, whole->bytes, (size_t)whole->len);
		memcpy(twice + whole->len, whole->bytes, (size_t)whole->len);
		transmit(fake, twice, 2 * whole->len);
		return;
	}
	case FAKE_TRICKLE:
		for (int i = 0; i < whole->len && !atomic_load(&fake->stopping); i++) {
			transmit(fake, whole->bytes + i, 1);
			pause_ns(fake, fake->trickle_ns);
		}
		return;
	case FAKE_HANG_UP:
		if (fake->is_tcp)
			shutdown(fake->file, SHUT_RDWR);
		return;
	case FAKE_GARBAGE:
		transmit(fake, noise, sizeof noise);
		break;
	case FAKE_NONE:
	case FAKE_BAD_CRC:
	case FAKE_WRONG_UNIT:
	case FAKE_WRONG_COUNT:
	case FAKE_EXCEPTION:
	case FAKE_BUSY:
		break;
	}
	transmit(fake, whole->bytes, whole->len);
}

static void forget_input(struct fake_unit *fake)
{
	unsigned char bytes[512];

	fake->in_len = 0;
	while (recv(fake->file, bytes, sizeof bytes, MSG_DONTWAIT) > 0)
		;
	if (!fake->is_tcp)
		while (read(fake->file, bytes, sizeof bytes) > 0)
			;
}

/* asked: the whole question; body begins after the unit. */
static void serve(struct fake_unit *fake, const unsigned char *asked, const unsigned char *body)
{
	struct frame answer = {0}, whole = {0};
	enum fake_fault fault = FAKE_NONE;
	bool is_late;

	atomic_fetch_add(&fake->received, 1);
	if (draw(fake) < fake->fault_ratio)
		fault = atomic_load(&fake->fault);
	if (!fake->answers_others && body[0] != fake->function)
		return;
	answer_body(fake, body, fault, &answer);
	wrap(fake, asked, fault, &answer, &whole);
	is_late = draw(fake) < fake->late_ratio;
	if (is_late) {
		double share = draw(fake);
		atomic_fetch_add(&fake->late, 1);
		pause_ns(fake, fake->late_min_ns + (int64_t)(share * (double)(fake->late_max_ns -
									      fake->late_min_ns)));
		if (fake->drops_while_busy)
			forget_input(fake);
	}
	send_answer(fake, &whole, fault);
}

static void take_rtu(struct fake_unit *fake)
{
	while (fake->in_len >= 8) {
		unsigned char asked[8];
		memcpy(asked, fake->in, 8);
		unsigned int crc = checksum(asked, 6);
		bool whole = asked[6] == (crc & 0xff) && asked[7] == crc >> 8;
		int used = whole ? 8 : 1;
		fake->in_len -= used;
		memmove(fake->in, fake->in + used, (size_t)fake->in_len);
		if (whole && asked[0] == fake->unit)
			serve(fake, asked, asked + 1);
	}
}

static void take_tcp(struct fake_unit *fake)
{
	while (fake->in_len >= 12) {
		unsigned char asked[12];
		memcpy(asked, fake->in, 12);
		fake->in_len -= 12;
		memmove(fake->in, fake->in + 12, (size_t)fake->in_len);
		serve(fake, asked, asked + 7);
	}
}

static void accept_next(struct fake_unit *fake)
{
	int file = accept(fake->listener, NULL, NULL);

	if (file < 0)
		return;
	if (fake->file >= 0)
		close(fake->file);
	fake->file = file;
	fake->in_len = 0;
}

static void *play(void *data)
{
	struct fake_unit *fake = data;

	while (!atomic_load(&fake->stopping)) {
		struct pollfd waits[2] = {{fake->file, POLLIN, 0}, {fake->listener, POLLIN, 0}};
		poll(waits, 2, 20);
		if (waits[0].revents) {
			ssize_t got = read(fake->file, fake->in + fake->in_len,
					   sizeof fake->in - (size_t)fake->in_len);
			if (got > 0) {
				fake->in_len += (int)got;
				fake->is_tcp ? take_tcp(fake) : take_rtu(fake);
			} else if (fake->is_tcp) {
				close(fake->file);
				fake->file = -1;
			} else {
				/* Nobody holds the far end. */
				pause_ns(fake, 2000000);
			}
		}
		if (waits[1].revents)
			accept_next(fake);
	}
	return NULL;
}

static int begin(struct fake_unit *fake)
{
	if (fake->seed == 0)
		fake->seed = 88172645463325252u;
	atomic_store(&fake->stopping, false);
	return pthread_create(&fake->thread, NULL, play, fake) == 0 ? 0 : -1;
}

int fake_unit_start_rtu(struct fake_unit *fake)
{
	struct termios raw;

	fake->listener = -1;
	fake->file = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
	if (fake->file < 0 || grantpt(fake->file) < 0 || unlockpt(fake->file) < 0 ||
	    ptsname_r(fake->file, fake->path, sizeof fake->path) != 0)
		return -1;
	if (tcgetattr(fake->file, &raw) == 0) {
		cfmakeraw(&raw);
		tcsetattr(fake->file, TCSANOW, &raw);
	}
	return begin(fake);
}

int fake_unit_start_tcp(struct fake_unit *fake)
{
	struct sockaddr_in at = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
	socklen_t len = sizeof at;

	fake->is_tcp = true;
	fake->file = -1;
	fake->listener = socket(AF_INET, SOCK_STREAM, 0);
	if (fake->listener < 0 || bind(fake->listener, (struct sockaddr *)&at, len) < 0 ||
	    listen(fake->listener, 8) < 0 ||
	    getsockname(fake->listener, (struct sockaddr *)&at, &len) < 0)
		return -1;
	fake->port = ntohs(at.sin_port);
	return begin(fake);
}

void fake_unit_stop(struct fake_unit *fake)
{
	atomic_store(&fake->stopping, true);
	pthread_join(fake->thread, NULL);
	if (fake->file >= 0)
		close(fake->file);
	if (fake->listener >= 0)
		close(fake->listener);
}
