/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/clock.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <sys/random.h>
#include <sys/timex.h>
#include <time.h>
#include <unistd.h>

enum { ID_LETTERS = 36 };

/* Written once by rv_clock_fix, before any thread is started; only read afterwards. */
static int64_t row_offset_us;

/* Two readings of the clocks within this are taken as one. */
static const int64_t close_enough_ns = 20000;

static pthread_once_t ids_made = PTHREAD_ONCE_INIT;
static char boot_id[ID_LETTERS + 1];
static char start_id[ID_LETTERS + 1];

static int64_t read_ns(clockid_t clock)
{
	struct timespec now;

	clock_gettime(clock, &now);
	return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

int64_t rv_clock_mono_ns(void)
{
	return read_ns(CLOCK_BOOTTIME);
}

int64_t rv_clock_utc_us(void)
{
	return read_ns(CLOCK_REALTIME) / 1000;
}

/* Both clocks at one instant.  Who is put aside between the two readings tries again: a pause there
 * would look like a step of the wall clock. */
static void read_both(int64_t *mono_us, int64_t *utc_us)
{
	int64_t tightest_ns = INT64_MAX;

	for (int i = 0; i < 5 && tightest_ns > close_enough_ns; i++) {
		int64_t before_ns = rv_clock_mono_ns();
		int64_t now_us = rv_clock_utc_us();
		int64_t took_ns = rv_clock_mono_ns() - before_ns;
		if (took_ns >= tightest_ns)
			continue;
		tightest_ns = took_ns;
		*mono_us = (before_ns + took_ns / 2) / 1000;
		*utc_us = now_us;
	}
}

void rv_clock_fix(int64_t newest_us)
{
	int64_t mono_us = 0, now_us = 0;

	read_both(&mono_us, &now_us);

	if (newest_us != 0 && now_us <= newest_us)
		now_us = newest_us + 1000000;
	row_offset_us = now_us - mono_us;
}

int64_t rv_clock_row_us(int64_t mono_ns)
{
	return mono_ns / 1000 + row_offset_us;
}

int64_t rv_clock_mono_to_utc_us(int64_t mono_ns)
{
	int64_t mono_us = 0, now_us = 0;

	read_both(&mono_us, &now_us);
	return now_us - (mono_us - mono_ns / 1000);
}

bool rv_clock_is_trusted(void)
{
	struct timex now = {0};

	return adjtimex(&now) != TIME_ERROR && !(now.status & STA_UNSYNC);
}

static void make_random_id(char *id)
{
	unsigned char bytes[16] = {0};

	/* 16 bytes are never cut short; only a kernel without the call could refuse. */
	if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes) {
		int64_t now[2] = {rv_clock_mono_ns(), (int64_t)getpid()};
		memcpy(bytes, now, sizeof bytes);
	}
	for (int i = 0, at = 0; i < 16; i++) {
		if (i == 4 || i == 6 || i == 8 || i == 10)
			id[at++] = '-';
		snprintf(id + at, 3, "%02x", bytes[i]);
		at += 2;
	}
}

static void make_ids(void)
{
	int file = open("/proc/sys/kernel/random/boot_id", O_RDONLY | O_CLOEXEC);
	ssize_t got = file >= 0 ? read(file, boot_id, ID_LETTERS) : 0;

	if (file >= 0)
		close(file);
	/* Without /proc a new start counts as a new boot: anchors of other starts are then not
	 * used. */
	if (got != ID_LETTERS)
		make_random_id(boot_id);
	make_random_id(start_id);
}

const char *rv_clock_boot(void)
{
	pthread_once(&ids_made, make_ids);
	return boot_id;
}

const char *rv_clock_start(void)
{
	pthread_once(&ids_made, make_ids);
	return start_id;
}

void rv_clock_wait_time(int64_t mono_ns, struct timespec *until)
{
	const int64_t longest_ns = INT64_C(3600000000000);
	int64_t rest_ns = mono_ns - rv_clock_mono_ns();
	int64_t until_ns = read_ns(CLOCK_MONOTONIC) + (rest_ns < longest_ns ? rest_ns : longest_ns);

	*until =
	    (struct timespec){.tv_sec = until_ns / 1000000000, .tv_nsec = until_ns % 1000000000};
}

void rv_clock_sleep_until(int64_t mono_ns)
{
	struct timespec until = {.tv_sec = mono_ns / 1000000000, .tv_nsec = mono_ns % 1000000000};

	if (mono_ns <= 0)
		return;
	while (clock_nanosleep(CLOCK_BOOTTIME, TIMER_ABSTIME, &until, NULL) == EINTR)
		;
}
