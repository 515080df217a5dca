/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rig_file.h"

#include <stdio.h>
#include <stdlib.h>

#include "core/rig_read.h"

enum { FILE_MOST = 1 << 20 };

static enum rv_err read_file(const char *path, char **text, size_t *len, struct rv_error *error)
{
	FILE *file = fopen(path, "rb");
	char *data = file ? malloc(FILE_MOST + 1) : NULL;
	enum rv_err err = RV_OK;

	if (!data) {
		err = rv_err_set(error, RV_ERR_SYSTEM, "cannot read it: %m");
	} else {
		*len = fread(data, 1, FILE_MOST + 1, file);
		if (ferror(file))
			err = rv_err_set(error, RV_ERR_SYSTEM, "cannot read it: %m");
		else if (*len > FILE_MOST)
			err = rv_err_set(error, RV_ERR_RANGE, "it is larger than 1 MB");
	}
	if (file)
		(void)fclose(file);
	if (err != RV_OK)
		free(data);
	else
		*text = data;
	return err;
}

enum rv_err rv_rig_file_read(const char *path, struct rv_rig *rig, struct rv_error *error)
{
	char *text = NULL;
	size_t len = 0;
	enum rv_err err = read_file(path, &text, &len, error);

	if (err == RV_OK)
		err = rv_rig_read(text, len, rig, error);
	free(text);
	return err;
}

enum rv_err rv_rig_file_read_gear(const char *path, struct rv_rig *rig, struct rv_error *error)
{
	char *text = NULL;
	size_t len = 0;
	enum rv_err err = read_file(path, &text, &len, error);

	if (err == RV_OK)
		err = rv_rig_read_gear(text, len, rig, error);
	free(text);
	return err;
}
