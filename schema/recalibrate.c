/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/recalibrate.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "core/calibration_read.h"
#include "core/form.h"
#include "core/stated.h"
#include "core/yaml.h"

static int find(const struct rv_store_channels *channels, const char *name)
{
	for (int i = 0; i < channels->count; i++)
		if (strcmp(channels->channel[i].declared.name, name) == 0)
			return i;
	return -1;
}

static enum rv_err refuse_unknown(const struct rv_store_channels *channels, const char *name,
				  long long run, struct rv_error *error)
{
	const char *names[RV_CHANNELS];
	struct rv_text list = {0};
	char hint[2 * RV_NAME_SIZE];

	for (int i = 0; i < channels->count; i++) {
		names[i] = channels->channel[i].declared.name;
		rv_text_add(&list, "%s%s", i ? ", " : "", names[i]);
	}
	(void)rv_form_hint(name, names, (size_t)channels->count, hint, sizeof hint);
	enum rv_err err = rv_err_refuse(error, "name_unknown",
					"run %lld has no channel \"%.60s\"%s (it has %.200s)", run,
					name, hint, list.data ? list.data : "none");
	rv_text_free(&list);
	return err;
}

/* A key that the station states itself, or, of a channel without a calibration file, whatever is
 * known: it can be from nowhere else. */
static void keep_stated(const struct rv_yaml_node *node, const char *key, bool had_file,
			const struct rv_stated *frozen, struct rv_stated *stated)
{
	if (rv_stated_is_given(frozen) && (!had_file || (node && rv_yaml_get(node, key))))
		*stated = *frozen;
}

static void keep(const struct rv_yaml_node *station, const struct rv_channel *channel,
		 struct rv_calibration *made)
{
	const struct rv_calibration *frozen = &channel->calibration;
	const struct rv_yaml_node *node =
	    station && station->kind == RV_YAML_MAP ? rv_yaml_get(station, "channels") : NULL;
	bool had_file = frozen->file[0] != '\0';

	node = node && node->kind == RV_YAML_MAP ? rv_yaml_get(node, channel->name) : NULL;
	if (node && node->kind != RV_YAML_MAP)
		node = NULL;
	keep_stated(node, "gain_uncertainty", had_file, &frozen->gain, &made->gain);
	keep_stated(node, "zero_uncertainty", had_file, &frozen->zero, &made->zero);
	keep_stated(node, "drift_uncertainty", had_file, &frozen->drift, &made->drift);
	made->delay_s = frozen->delay_s;
}

static enum rv_err replace(const struct rv_yaml_node *station, const struct rv_recalibration *by,
			   struct rv_channel *channel, struct rv_error *error)
{
	struct rv_calibration_file file;
	struct rv_error told = {0};

	if (channel->quantity != RV_TENSION)
		return rv_err_refuse(error, "calibration_channel",
				     "channel \"%s\" is no tension: a calibration file turns a "
				     "cell's readings into force",
				     channel->name);
	if (!isnan(channel->wraps_at))
		return rv_err_refuse(error, "calibration_channel",
				     "channel \"%s\" is a counter that rolls over: its readings "
				     "cannot be valued anew",
				     channel->name);
	enum rv_err err = rv_calibration_read(by->text, by->len, channel->capacity, &file, &told);
	if (err == RV_ERR_NOMEM)
		return rv_err_set(error, err, "no memory for %.200s", by->path);
	if (err != RV_OK)
		return rv_err_refuse(error, "calibration_file", "%.120s:%d:%d: %.250s", by->path,
				     told.line, told.column, told.text);
	keep(station, channel, &file.calibration);
	snprintf(file.calibration.file, sizeof file.calibration.file, "%s", by->path);
	channel->calibration = file.calibration;
	return RV_OK;
}

enum rv_err rv_recalibrate(struct rv_store *store, const struct rv_store_run *run,
			   const struct rv_recalibration *list, int count,
			   struct rv_store_channels *channels, struct rv_error *error)
{
	struct rv_text text = {0};
	struct rv_yaml *yaml = NULL;

	if (count == 0)
		return RV_OK;
	enum rv_err err = rv_store_run_texts(store, run->number, NULL, &text, error);
	/* A station that cannot be read as YAML states nothing. */
	if (err == RV_OK && text.len > 0 && rv_yaml_new(text.data, text.len, &yaml, NULL) != RV_OK)
		yaml = NULL;
	for (int i = 0; err == RV_OK && i < count; i++) {
		int at = find(channels, list[i].channel);

		err = at < 0
			  ? refuse_unknown(channels, list[i].channel, (long long)run->number, error)
			  : replace(yaml ? rv_yaml_root(yaml) : NULL, &list[i],
				    &channels->channel[at].declared, error);
	}
	rv_yaml_free(yaml);
	rv_text_free(&text);
	return err;
}

void rv_recalibrate_cursor(const struct rv_recalibration *list, int count,
			   const struct rv_store_channels *channels, struct rv_store_cursor *cursor)
{
	for (int i = 0; i < count; i++) {
		int at = find(channels, list[i].channel);

		if (at >= 0)
			rv_store_cursor_convert_by(
			    cursor, at, &channels->channel[at].declared.calibration.conversion);
	}
}
