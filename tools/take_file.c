/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/take_file.h"

#include <stdio.h>
#include <stdlib.h>

enum rv_err rv_take_file(const char *path, int most_mb, char **text, size_t *len,
			 struct rv_error *error)
{
	size_t most = (size_t)most_mb << 20, taken = 0;
	FILE *file = fopen(path, "rb");
	char *data = file ? malloc(most + 1) : NULL;
	enum rv_err err = RV_OK;

	if (!data) {
		err = rv_err_set(error, RV_ERR_SYSTEM, "cannot read it: %m");
	} else {
		taken = fread(data, 1, most + 1, file);
		if (ferror(file))
			err = rv_err_set(error, RV_ERR_SYSTEM, "cannot read it: %m");
		else if (taken > most)
			err = rv_err_set(error, RV_ERR_RANGE, "it is larger than %d MB", most_mb);
	}
	if (file)
		(void)fclose(file);
	if (err != RV_OK) {
		free(data);
		return err;
	}
	*text = data;
	*len = taken;
	return RV_OK;
}
