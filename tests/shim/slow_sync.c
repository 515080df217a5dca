/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A disk that stalls, for LD_PRELOAD: every fsync and fdatasync first sleeps RV_SYNC_MS
 * milliseconds (1000 when it is not said), once the file named by RV_SYNC_WHEN exists.
 */
#include <dlfcn.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

static void stall(void)
{
	const char *when = getenv("RV_SYNC_WHEN");
	const char *said = getenv("RV_SYNC_MS");
	long ms = said ? strtol(said, NULL, 10) : 1000;
	struct timespec rest = {.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000};

	if (!when || access(when, F_OK) == 0)
		nanosleep(&rest, NULL);
}

int fsync(int file)
{
	int (*real)(int);

	*(void **)&real = dlsym(RTLD_NEXT, "fsync");
	stall();
	return real(file);
}

int fdatasync(int file)
{
	int (*real)(int);

	*(void **)&real = dlsym(RTLD_NEXT, "fdatasync");
	stall();
	return real(file);
}
