/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Preloaded by tests: moves the wall clock by RV_WALL_CLOCK_S seconds, or by the number found in the
 * file RV_WALL_CLOCK_FILE, which a test may change while the program runs.  Other clocks stay.
 */
#include <dlfcn.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/time.h>
#include <time.h>

static long long shift_s(void)
{
	const char *path = getenv("RV_WALL_CLOCK_FILE");
	long long shift = 0;

	if (path) {
		FILE *file = fopen(path, "re");
		if (file) {
			if (fscanf(file, "%lld", &shift) != 1)
				shift = 0;
			fclose(file);
		}
		return shift;
	}
	const char *text = getenv("RV_WALL_CLOCK_S");
	return text ? atoll(text) : 0;
}

int clock_gettime(clockid_t clock, struct timespec *now)
{
	static int (*real)(clockid_t, struct timespec *);

	if (!real)
		real = (int (*)(clockid_t, struct timespec *))dlsym(RTLD_NEXT, "clock_gettime");
	int result = real(clock, now);
	if (result == 0 && clock == CLOCK_REALTIME)
		now->tv_sec += (time_t)shift_s();
	return result;
}

time_t time(time_t *at)
{
	struct timespec now;

	clock_gettime(CLOCK_REALTIME, &now);
	if (at)
		*at = now.tv_sec;
	return now.tv_sec;
}

int gettimeofday(struct timeval *restrict at, void *restrict zone)
{
	struct timespec now;

	(void)zone;
	clock_gettime(CLOCK_REALTIME, &now);
	at->tv_sec = now.tv_sec;
	at->tv_usec = now.tv_nsec / 1000;
	return 0;
}
