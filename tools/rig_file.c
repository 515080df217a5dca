/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rig_file.h"

#include <stdlib.h>

#include "core/rig_read.h"
#include "tools/take_file.h"

enum { MOST_MB = 1 };

enum rv_err rv_rig_file_read(const char *path, struct rv_rig *rig, struct rv_error *error)
{
	char *text = NULL;
	size_t len = 0;
	enum rv_err err = rv_take_file(path, MOST_MB, &text, &len, error);

	if (err == RV_OK)
		err = rv_rig_read(text, len, rig, error);
	free(text);
	return err;
}

enum rv_err rv_rig_file_read_gear(const char *path, struct rv_rig *rig, struct rv_error *error)
{
	char *text = NULL;
	size_t len = 0;
	enum rv_err err = rv_take_file(path, MOST_MB, &text, &len, error);

	if (err == RV_OK)
		err = rv_rig_read_gear(text, len, rig, error);
	free(text);
	return err;
}
