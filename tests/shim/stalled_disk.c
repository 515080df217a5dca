/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Preloaded by tests: while the file RV_STALL_FILE exists, fsync and fdatasync do not return.
 */
#include <dlfcn.h>
#include <stdlib.h>
#include <unistd.h>

static void stall(void)
{
	const char *path = getenv("RV_STALL_FILE");

	while (path && access(path, F_OK) == 0)
		usleep(10000);
}

int fsync(int fd)
{
	static int (*real)(int);

	if (!real)
		real = (int (*)(int))dlsym(RTLD_NEXT, "fsync");
	stall();
	return real(fd);
}

int fdatasync(int fd)
{
	static int (*real)(int);

	if (!real)
		real = (int (*)(int))dlsym(RTLD_NEXT, "fdatasync");
	stall();
	return real(fd);
}
