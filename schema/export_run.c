/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema/export_run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/convert.h"
#include "core/json.h"
#include "core/yaml.h"

enum { AMOUNT_SIZE = RV_NAME_SIZE + 32 };

static json_t *amount(double value, const char *unit)
{
	char text[AMOUNT_SIZE];

	snprintf(text, sizeof text, "%.17g%s%s", value, unit[0] ? " " : "", unit);
	return json_string(text);
}

static void put_amount(json_t *to, const char *key, double value, const char *unit)
{
	if (!isnan(value))
		json_object_set_new(to, key, amount(value, unit));
}

static void put_word(json_t *to, const char *key, const char *word)
{
	if (word && word[0])
		json_object_set_new(to, key, rv_json_text(word));
}

static void put_stated(json_t *to, const char *key, const struct rv_stated *stated,
		       const char *unit)
{
	bool relative = stated->ratio > 0.0 || isnan(stated->value);

	if (isnan(stated->ratio) && isnan(stated->value))
		return;
	json_object_set_new(
	    to, key,
	    json_pack("{s:o}", "standard",
		      relative ? amount(100.0 * stated->ratio, "%") : amount(stated->value, unit)));
}

/* How raw becomes a value: the table is in SI, but what one count was worth is worth knowing. */
static void put_way(json_t *to, const struct rv_channel *channel)
{
	double step = rv_convert_step(channel);

	if (channel->quantity == RV_SWITCH)
		return;
	if (!(step > 0.0))
		put_word(to, "unit", channel->unit);
	else if (channel->quantity == RV_PAYOUT)
		put_amount(to, "metres_per_count", step, "m");
	else
		put_amount(to, "scale", step, channel->unit);
}

static json_t *channel_json(const struct rv_channel *channel)
{
	const struct rv_calibration *calibration = &channel->calibration;
	json_t *made = json_object();

	put_word(made, "quantity", rv_station_quantity_name(channel->quantity));
	put_word(made, "cell", channel->cell);
	put_word(made, "winch", channel->winch);
	put_word(made, "load", channel->load);
	if (channel->quantity == RV_SWITCH)
		put_word(made, "motion", rv_station_motion_name(channel->motion));
	put_way(made, channel);
	put_amount(made, "capacity", channel->capacity,
		   channel->quantity == RV_TENSION ? channel->unit : "");
	put_amount(made, "tare", channel->tare_n, "N");
	put_stated(made, "gain_uncertainty", &calibration->gain, channel->unit);
	put_stated(made, "zero_uncertainty", &calibration->zero, channel->unit);
	put_stated(made, "drift_uncertainty", &calibration->drift, channel->unit);
	put_amount(made, "delay", calibration->delay_s, "s");
	return made;
}

/* name: of the station, from its file; the rest is what the run held. */
static json_t *station_json(const struct rv_store_run *run,
			    const struct rv_store_channels *channels, const char *name)
{
	json_t *made = json_object(), *list = json_object();

	for (int i = 0; i < channels->count; i++)
		json_object_set_new(list, channels->channel[i].declared.name,
				    channel_json(&channels->channel[i].declared));
	json_object_set_new(made, "station", rv_json_text(name));
	put_word(made, "unit", run->unit);
	if (run->simulated)
		json_object_set_new(made, "rehearsal", json_true());
	json_object_set_new(made, "channels", list);
	return made;
}

/* What a station file cannot say of a channel without its calibration file. */
static json_t *calibrations_json(const struct rv_store_channels *channels)
{
	json_t *made = json_object();

	for (int i = 0; i < channels->count; i++) {
		const struct rv_channel *channel = &channels->channel[i].declared;
		json_t *one = json_pack("{s:o}", "name", rv_json_text(channel->calibration.name));

		put_word(one, "due", channel->calibration.due);
		if (!isnan(channel->calibration.inverse_error_n))
			json_object_set_new(one, "inverse_error_n",
					    rv_json_real(channel->calibration.inverse_error_n));
		json_object_set_new(made, channel->name, one);
	}
	return made;
}

/* The name of the station as its file has it. */
static void say_station(const struct rv_text *text, char name[2 * RV_NAME_SIZE])
{
	struct rv_yaml *yaml = NULL;
	const struct rv_yaml_node *node = NULL;

	snprintf(name, 2 * RV_NAME_SIZE, "unknown");
	if (!text->len || rv_yaml_new(text->data, text->len, &yaml, NULL) != RV_OK)
		return;
	if (rv_yaml_root(yaml)->kind == RV_YAML_MAP)
		node = rv_yaml_get(rv_yaml_root(yaml), "station");
	if (node && node->kind == RV_YAML_WORD)
		snprintf(name, 2 * RV_NAME_SIZE, "%s", node->text);
	rv_yaml_free(yaml);
}

static enum rv_err marks_json(struct rv_store *store, const struct rv_store_run *run, json_t *list,
			      struct rv_error *error)
{
	struct rv_store_mark *marks = NULL;
	size_t count = 0;
	enum rv_err err = rv_store_marks(store, run->from_us, run->to_us, &marks, &count, error);

	for (size_t i = 0; err == RV_OK && i < count; i++)
		json_array_append_new(list, json_pack("{s:f, s:o, s:o, s:o}", "t_s",
						      (double)(marks[i].t_us - run->from_us) * 1e-6,
						      "text", rv_json_text(marks[i].text),
						      "travel_m", rv_json_real(marks[i].travel_m),
						      "by_whom", rv_json_text(marks[i].by_whom)));
	free(marks);
	return err;
}

enum rv_err rv_export_run_json(struct rv_store *store, const struct rv_store_run *run,
			       const struct rv_store_channels *channels, json_t **json,
			       struct rv_error *error)
{
	struct rv_text rig = {0}, station = {0};
	char name[2 * RV_NAME_SIZE];
	json_t *marks = json_array(), *made = NULL;
	enum rv_err err = rv_store_run_texts(store, run->number, &rig, &station, error);

	if (err == RV_OK)
		err = marks_json(store, run, marks, error);
	say_station(&station, name);
	if (err == RV_OK)
		made = json_pack("{s:I, s:o, s:o, s:I, s:I, s:o, s:o, s:o, s:O}", "number",
				 (json_int_t)run->number, "name", rv_json_text(run->name), "notes",
				 rv_json_text(run->notes), "start_us",
				 (json_int_t)rv_store_utc_us(store, run->from_us), "end_us",
				 (json_int_t)rv_store_utc_us(store, run->end_us), "rig",
				 rig.len ? json_stringn(rig.data, rig.len) : json_null(), "station",
				 station_json(run, channels, name), "calibrations",
				 calibrations_json(channels), "marks", marks);
	json_decref(marks);
	rv_text_free(&rig);
	rv_text_free(&station);
	if (err == RV_OK && !made)
		err = rv_err_set(error, RV_ERR_NOMEM, "no memory to export the run");
	if (err == RV_OK)
		*json = made;
	return err;
}
