/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/import_beside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/rig_read.h"
#include "tools/station_file.h"
#include "tools/take_file.h"

#define RIG_MOST_MB 1

static enum rv_err take_rig(struct rv_import_beside *beside, const char *text, size_t len,
			    struct rv_error *error)
{
	enum rv_err err = rv_rig_read(text, len, &beside->rig, error);

	if (err != RV_OK)
		return err;
	beside->rig_text = calloc(len + 1, 1);
	if (!beside->rig_text)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory for the rig");
	memcpy(beside->rig_text, text, len);
	return RV_OK;
}

static enum rv_err read_rig(struct rv_import_beside *beside, const char *station_path,
			    const char *rig, const char **culprit, struct rv_error *error)
{
	char path[RV_PATH_SIZE] = "", *text = NULL;
	size_t len = 0;
	enum rv_err err = RV_OK;

	if (rig && strlen(rig) >= sizeof path)
		return rv_err_set(error, RV_ERR_RANGE, "the path of the rig is too long");
	if (rig)
		snprintf(path, sizeof path, "%s", rig);
	else if (beside->station.rig[0])
		err = rv_station_file_beside(station_path, beside->station.rig, path, error);
	if (err != RV_OK || path[0] == '\0')
		return err;
	*culprit = rig ? rig : beside->station.rig;
	err = rv_take_file(path, RIG_MOST_MB, &text, &len, error);
	if (err == RV_OK)
		err = take_rig(beside, text, len, error);
	free(text);
	return err;
}

enum rv_err rv_import_beside_read(struct rv_import_beside *beside, const char *station,
				  const char *rig, const struct rv_opt_list *maps,
				  const char **culprit, struct rv_error *error)
{
	const struct rv_import_whole *whole = &beside->whole;
	enum rv_err err;

	if (station) {
		*culprit = station;
		err = rv_station_file_read(station, &beside->station, &beside->station_text, error);
	} else {
		err =
		    rv_import_whole_station(whole, &beside->station, &beside->station_text, error);
	}
	if (err == RV_OK && !station && !rig && whole->rig)
		err = take_rig(beside, whole->rig, strlen(whole->rig), error);
	else if (err == RV_OK)
		err = read_rig(beside, station, rig, culprit, error);
	for (size_t i = 0; err == RV_OK && i < maps->count; i++) {
		*culprit = "--map";
		err = rv_import_map_read(maps->text[i], &beside->station, &beside->map[i], error);
	}
	return err;
}

/* A channel as the run keeps it: the number of the file, in SI.  The step of its instrument stays
 * with its calibration. */
static void take_channel(struct rv_channel *channel)
{
	struct rv_calibration *calibration = &channel->calibration;
	double step = fabs(calibration->conversion.a[1]);
	bool plain = channel->wire_unit[0] != '\0' || !(step > 0.0);

	calibration->conversion =
	    (struct rv_conversion){.a = {0.0, plain ? 1.0 : step}, .degree = 1};
	snprintf(calibration->name, sizeof calibration->name, "imported");
	channel->wire_unit[0] = '\0';
	channel->wraps_at = (double)NAN;
	channel->device = 0;
	memcpy(channel->field, channel->name, sizeof channel->field);
}

void rv_import_beside_use(struct rv_import_beside *beside, const struct rv_import_columns *columns,
			  double factor[RV_CHANNELS])
{
	struct rv_station *used = &beside->used;

	*used = beside->station;
	used->channels = used->alarms = 0;
	for (int i = 0; i < beside->station.channels; i++) {
		if (columns->channel < 0 && columns->column_of[i] < 0)
			continue;
		int at = used->channels++;
		beside->used_of[at] = i;
		factor[at] = columns->factor[i];
		used->channel[at] = beside->station.channel[i];
		take_channel(&used->channel[at]);
	}
}

void rv_import_beside_free(struct rv_import_beside *beside)
{
	free(beside->station_text);
	free(beside->rig_text);
	beside->station_text = beside->rig_text = NULL;
	rv_import_whole_free(&beside->whole);
}
