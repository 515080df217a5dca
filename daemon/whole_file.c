/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/whole_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FILE_MAX = 4 << 20 };

static enum rv_err read_all(FILE *file, char **text, struct rv_error *error)
{
	char *bytes = malloc(FILE_MAX + 1);

	if (!bytes)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory to read the file");
	size_t len = fread(bytes, 1, FILE_MAX + 1, file);
	if (ferror(file)) {
		enum rv_err err = rv_err_set(error, RV_ERR_SYSTEM, "cannot read: %m");
		free(bytes);
		return err;
	}
	if (len > FILE_MAX) {
		free(bytes);
		return rv_err_set(error, RV_ERR_RANGE,
				  "longer than 4 MiB: is this the right file?");
	}
	if (memchr(bytes, '\0', len)) {
		free(bytes);
		return rv_err_set(error, RV_ERR_SYNTAX, "holds a zero byte: this is no text file");
	}
	bytes[len] = '\0';
	char *fitted = realloc(bytes, len + 1);
	*text = fitted ? fitted : bytes;
	return RV_OK;
}

enum rv_err rv_whole_file_read(const char *path, char **text, struct rv_error *error)
{
	FILE *file = fopen(path, "re");

	if (!file)
		return rv_err_set(error, RV_ERR_SYSTEM, "cannot open: %m");
	enum rv_err err = read_all(file, text, error);
	(void)fclose(file);
	return err;
}
