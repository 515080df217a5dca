/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/put_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char suffix[] = ".XXXXXX";

static enum rv_err system_says(struct rv_error *error, const char *what)
{
	return rv_err_set(error, RV_ERR_SYSTEM, "%s: %m", what);
}

static mode_t usual_mode(void)
{
	mode_t mask = umask(0);

	umask(mask);
	return 0666 & ~mask;
}

static bool write_all(int fd, const char *bytes, size_t len)
{
	while (len > 0) {
		ssize_t done = write(fd, bytes, len);

		if (done < 0 && errno == EINTR)
			continue;
		if (done <= 0)
			return false;
		bytes += done;
		len -= (size_t)done;
	}
	return true;
}

static enum rv_err fill(int fd, mode_t mode, const char *bytes, size_t len, struct rv_error *error)
{
	bool is_done = write_all(fd, bytes, len) && fchmod(fd, mode) == 0 && fsync(fd) == 0;
	enum rv_err err = is_done ? RV_OK : system_says(error, "cannot write it");

	if (close(fd) != 0 && err == RV_OK)
		err = system_says(error, "cannot write it");
	return err;
}

/* The file that a link of this name leads to, so that the link stays one.  Caller frees. */
static char *place_of(const char *path)
{
	char *place = realpath(path, NULL);

	return place ? place : strdup(path);
}

enum rv_err rv_put_file(const char *path, const char *bytes, size_t len, struct rv_error *error)
{
	struct stat is;
	bool is_there = stat(path, &is) == 0;

	if (is_there && !S_ISREG(is.st_mode))
		return rv_err_set(error, RV_ERR_SYSTEM, "%s stands there: it is left as it is",
				  S_ISDIR(is.st_mode) ? "a folder" : "something else than a file");
	char *place = place_of(path);
	size_t size = (place ? strlen(place) : 0) + sizeof suffix;
	char *made = place ? malloc(size) : NULL;
	enum rv_err err = made ? RV_OK : rv_err_set(error, RV_ERR_NOMEM, "no memory");
	int fd = -1;

	if (err == RV_OK) {
		snprintf(made, size, "%s%s", place, suffix);
		fd = mkstemp(made);
		if (fd < 0)
			err = system_says(error, "cannot make it");
	}
	if (err == RV_OK) {
		err = fill(fd, is_there ? is.st_mode & 07777 : usual_mode(), bytes, len, error);
		if (err == RV_OK && rename(made, place) != 0)
			err = system_says(error, "cannot put it in place");
		if (err != RV_OK)
			unlink(made);
	}
	free(made);
	free(place);
	return err;
}
