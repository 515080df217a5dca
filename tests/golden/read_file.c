/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reads one rig, station or calibration file and says what came of it, for the folders of bad
 * input.  usage: read_file KIND FILE   KIND: rig, station, import or calibration
 * Prints "read" or "NAME:LINE:COLUMN: [TAG] SENTENCE", NAME without its folders; exits 0 or 1.
 */
#include <libgen.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/calibration_read.h"
#include "core/rig_read.h"
#include "core/station_read.h"

enum { MOST = 1 << 22 };

static char *read_whole(const char *path, size_t *len)
{
	char *text = malloc(MOST);
	FILE *file = fopen(path, "rb");

	if (!text || !file) {
		free(text);
		return NULL;
	}
	*len = fread(text, 1, MOST, file);
	fclose(file);
	return text;
}

/* Calibration files lie beside the station file. */
static enum rv_err load(void *context, const char *file, struct rv_text *text,
			struct rv_error *error)
{
	char path[4096];
	size_t len = 0;

	snprintf(path, sizeof path, "%s/%s", (const char *)context, file);
	char *bytes = read_whole(path, &len);
	if (!bytes)
		return rv_err_set(error, RV_ERR_SYSTEM, "%s cannot be read", file);
	rv_text_add_bytes(text, bytes, len);
	free(bytes);
	return RV_OK;
}

static enum rv_err read_kind(const char *kind, const char *text, size_t len, char *folder,
			     struct rv_error *error)
{
	struct rv_station_outside outside = {
	    .load = load, .context = folder, .for_import = strcmp(kind, "import") == 0};
	struct rv_calibration_file calibration;
	struct rv_station *station = calloc(1, sizeof *station);
	struct rv_rig *rig = calloc(1, sizeof *rig);
	enum rv_err err = RV_ERR_NOMEM;

	if (station && rig && strcmp(kind, "rig") == 0)
		err = rv_rig_read(text, len, rig, error);
	else if (station && rig && strcmp(kind, "calibration") == 0)
		err = rv_calibration_read(text, len, (double)NAN, &calibration, error);
	else if (station && rig)
		err = rv_station_read(text, len, &outside, station, error);
	free(station);
	free(rig);
	return err;
}

int main(int argc, char **argv)
{
	struct rv_error error = {0};
	size_t len = 0;

	if (argc != 3)
		return 2;
	char *text = read_whole(argv[2], &len);
	char *path = strdup(argv[2]), *name = strdup(argv[2]);
	if (!text || !path || !name)
		return 2;
	enum rv_err err = read_kind(argv[1], text, len, dirname(path), &error);
	if (err == RV_OK)
		puts("read");
	else
		printf("%s:%d:%d: [%s] %s\n", basename(name), error.line, error.column, error.tag,
		       error.text);
	free(text);
	free(path);
	free(name);
	return err != RV_OK;
}
