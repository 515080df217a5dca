/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/station_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/station_read.h"
#include "tools/take_file.h"

enum { MOST_MB = 4 };

enum rv_err rv_station_file_beside(const char *station_path, const char *path,
				   char full[RV_PATH_SIZE], struct rv_error *error)
{
	const char *slash = strrchr(station_path, '/');
	int folder = path[0] == '/' || !slash ? 0 : (int)(slash - station_path) + 1;

	if (snprintf(full, RV_PATH_SIZE, "%.*s%s", folder, station_path, path) >= RV_PATH_SIZE)
		return rv_err_set(error, RV_ERR_RANGE, "a path longer than %d letters: %s",
				  RV_PATH_SIZE - 1, path);
	return RV_OK;
}

static enum rv_err take(const char *path, char **text, struct rv_error *error)
{
	char *bytes = NULL;
	size_t len = 0;
	enum rv_err err = rv_take_file(path, MOST_MB, &bytes, &len, error);

	if (err != RV_OK)
		return err;
	char *closed = realloc(bytes, len + 1);
	if (!closed) {
		free(bytes);
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for %s", path);
	}
	closed[len] = '\0';
	*text = closed;
	return RV_OK;
}

static enum rv_err load_calibration(void *context, const char *file, struct rv_text *text,
				    struct rv_error *error)
{
	char full[RV_PATH_SIZE];
	char *bytes = NULL;
	enum rv_err err = rv_station_file_beside(context, file, full, error);

	if (err == RV_OK)
		err = take(full, &bytes, error);
	if (err != RV_OK)
		return err;
	rv_text_add(text, "%s", bytes);
	free(bytes);
	return text->failed ? rv_err_set(error, RV_ERR_NOMEM, "no memory for %s", file) : RV_OK;
}

enum rv_err rv_station_file_read(const char *path, struct rv_station *station, char **text,
				 struct rv_error *error)
{
	char *from = strdup(path), *bytes = NULL;
	struct rv_station_outside outside = {
	    .load = load_calibration, .context = from, .has_key = true, .for_import = true};
	enum rv_err err = from ? take(path, &bytes, error)
			       : rv_err_set(error, RV_ERR_NOMEM, "no memory for %s", path);

	if (err == RV_OK)
		err = rv_station_read(bytes, strlen(bytes), &outside, station, error);
	free(from);
	if (err == RV_OK)
		*text = bytes;
	else
		free(bytes);
	return err;
}
