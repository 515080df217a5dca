/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/config.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/station_check.h"
#include "core/station_read.h"
#include "daemon/key.h"
#include "daemon/whole_file.h"

/* path as seen from the folder that the file at `from` lies in. */
static enum rv_err beside(const char *from, const char *path, char *to, struct rv_error *error)
{
	const char *slash = strrchr(from, '/');
	int folder = path[0] == '/' || !slash ? 0 : (int)(slash - from) + 1;

	int len = snprintf(to, RV_PATH_SIZE, "%.*s%s", folder, from, path);
	if (len >= RV_PATH_SIZE)
		return rv_err_set(error, RV_ERR_RANGE, "a path longer than %d letters: %s",
				  RV_PATH_SIZE - 1, path);
	return RV_OK;
}

static enum rv_err load_calibration(void *context, const char *file, struct rv_text *text,
				    struct rv_error *error)
{
	const char *station_path = context;
	char full[RV_PATH_SIZE];
	char *bytes = NULL;

	enum rv_err err = beside(station_path, file, full, error);
	if (err == RV_OK)
		err = rv_whole_file_read(full, &bytes, error);
	if (err != RV_OK)
		return err;
	rv_text_add(text, "%s", bytes);
	free(bytes);
	return text->failed ? rv_err_set(error, RV_ERR_NOMEM, "no memory to read the file") : RV_OK;
}

static enum rv_err load_rig(struct rv_config *config, const char *station_path, char *culprit,
			    struct rv_error *error)
{
	char *text = NULL;

	memcpy(culprit, config->rig_path, RV_PATH_SIZE);
	enum rv_err err = rv_whole_file_read(config->rig_path, &text, error);
	if (err != RV_OK) {
		char why[sizeof error->text];
		snprintf(why, sizeof why, "%s", error ? error->text : "");
		return rv_err_set(error, err, "%.120s (the rig that %.120s names)", why,
				  station_path);
	}
	err = rv_ground_from_text(text, &config->rig, error);
	free(text);
	if (err != RV_OK)
		return err;
	snprintf(culprit, RV_PATH_SIZE, "%s", station_path);
	err = rv_station_check_rig(&config->station, &config->rig->rig, error);
	if (err != RV_OK)
		return err;
	return rv_station_check_alarms(&config->station, &config->rig->rig, error);
}

static enum rv_err fill(struct rv_config *config, const char *path, char *culprit,
			struct rv_error *error)
{
	const struct rv_station *station = &config->station;
	char *folder = strdup(path); /* the loader's context is not const */
	struct rv_station_outside outside = {.load = load_calibration, .context = folder};

	if (!folder)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the station");
	outside.has_key = rv_key_is_made(path);
	enum rv_err err = rv_whole_file_read(path, &config->text, error);
	if (err == RV_OK)
		err = rv_station_read(config->text, strlen(config->text), &outside,
				      &config->station, error);
	free(folder);
	if (err != RV_OK)
		return err;
	err = beside(path, station->record, config->record, error);
	if (err != RV_OK || station->rig[0] == '\0')
		return err;
	err = beside(path, station->rig, config->rig_path, error);
	if (err != RV_OK)
		return err;
	return load_rig(config, path, culprit, error);
}

enum rv_err rv_config_load(const char *path, struct rv_config **config, char culprit[RV_PATH_SIZE],
			   struct rv_error *error)
{
	struct rv_config *made = calloc(1, sizeof *made);

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the station");
	snprintf(culprit, RV_PATH_SIZE, "%s", path);
	enum rv_err err = fill(made, path, culprit, error);
	if (err != RV_OK) {
		rv_config_free(made);
		return err;
	}
	*config = made;
	return RV_OK;
}

struct rv_ground *rv_config_take_rig(struct rv_config *config)
{
	struct rv_ground *rig = config->rig;

	config->rig = NULL;
	return rig;
}

void rv_config_free(struct rv_config *config)
{
	if (!config)
		return;
	rv_ground_free(config->rig);
	free(config->text);
	free(config);
}
