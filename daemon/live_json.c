/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/live_json.h"

#include <math.h>
#include <string.h>

#include "core/utc.h"
#include "daemon/clock.h"

const char *rv_live_json_state(enum rv_danger state)
{
	static const char *const names[] = {"normal", "warning", "danger"};

	return names[state];
}

const char *rv_live_json_data(enum rv_data data)
{
	static const char *const names[] = {"all", "some", "none"};

	return names[data];
}

static json_t *utc(int64_t us)
{
	char text[RV_UTC_SIZE];

	rv_utc_text(us, text);
	return json_string(text);
}

/* The name of the channel's SI unit: its own where it is neither a force nor a length. */
static const char *channel_unit(const struct rv_channel *channel)
{
	return channel->unit[0] ? channel->unit : NULL;
}

static json_t *channels(const struct rv_live *live, const struct rv_station *station)
{
	json_t *list = json_array();

	for (int i = 0; i < station->channels; i++) {
		const struct rv_channel *channel = &station->channel[i];
		const struct rv_live_channel *now = &live->channel[i];
		const char *cause = rv_sample_cause_name(now->cause);

		json_array_append_new(
		    list,
		    json_pack("{s:s,s:s,s:o,s:s?,s:o,s:s,s:s?,s:o,s:o,s:o}", "name", channel->name,
			      "quantity", rv_station_quantity_name(channel->quantity), "value",
			      rv_json_real(now->quality == RV_BAD ? (double)NAN : now->value),
			      "unit", channel_unit(channel), "raw", rv_json_real(now->raw),
			      "quality", rv_sample_quality_name(now->quality), "cause",
			      cause[0] ? cause : NULL, "age_s", rv_json_real(now->age_s), "rate_hz",
			      rv_json_real(now->rate_hz), "peak", rv_json_real(now->peak)));
	}
	return list;
}

/* The line that ends on this winch, or -1. */
static int rope_of_winch(const struct rv_rig *rig, int winch)
{
	for (int i = 0; i < rig->ropes; i++)
		for (int j = 0; j < rig->rope[i].steps; j++)
			if (rig->rope[i].path[j].kind == RV_STEP_WINCH &&
			    rig->rope[i].path[j].index == winch)
				return i;
	return -1;
}

static json_t *lines(const struct rv_live *live, const struct rv_rig *rig)
{
	json_t *list = json_array();

	for (int i = 0; rig && i < rig->winches; i++) {
		const struct rv_live_rope *now = &live->winch[i];
		int rope = rope_of_winch(rig, i);

		json_array_append_new(list, json_pack("{s:s?,s:s,s:o,s:o,s:s?,s:o}", "name",
						      rope < 0 ? NULL : rig->rope[rope].name,
						      "winch", rig->winch[i].name, "payout_m",
						      rv_json_real(now->payout_m), "speed_mps",
						      rv_json_real(now->speed_mps), "motion",
						      rv_station_motion_name(now->motion), "left_m",
						      rv_json_real(now->left_m)));
	}
	return list;
}

static void add_load(json_t *object, const struct rv_live_load *load)
{
	bool known = isfinite(load->load.nominal_n);

	json_object_set_new(object, "load_n", rv_json_real(load->load.nominal_n));
	json_object_set_new(object, "low_n", rv_json_real(load->load.low_n));
	json_object_set_new(object, "high_n", rv_json_real(load->load.high_n));
	json_object_set_new(object, "source",
			    !known ? json_null()
				   : json_string(load->is_measured ? "measured" : "predicted"));
}

static json_t *component(const struct rv_live *live, const struct rv_ground *ground, int index)
{
	const struct rv_component *part = rv_predictor_component(ground->predictor, index);
	const struct rv_live_load *load = &live->component[index];
	json_t *object = json_pack("{s:s,s:s}", "name", part->name, "kind", part->kind);

	if (!object)
		return NULL;
	add_load(object, load);
	json_object_set_new(object, "limit_n", rv_json_real(part->limit_n));
	json_object_set_new(object, "use_ratio",
			    rv_json_real(load->load.nominal_n / part->limit_n));
	json_object_set_new(object, "use_worst_ratio",
			    rv_json_real(load->load.high_n / part->limit_n));
	return object;
}

static void add_components(json_t *root, const struct rv_live *live, const struct rv_ground *ground)
{
	json_t *list = json_array(), *not_rated = json_array(), *weakest = NULL;
	int count = ground && ground->predictor ? rv_predictor_components(ground->predictor) : 0;

	for (int i = 0; i < count; i++) {
		const struct rv_component *part = rv_predictor_component(ground->predictor, i);
		json_array_append_new(list, component(live, ground, i));
		if (isnan(part->limit_n))
			json_array_append_new(not_rated, json_string(part->name));
	}
	if (live->weakest >= 0 && live->weakest < count)
		weakest = component(live, ground, live->weakest);
	json_object_set_new(root, "components", list);
	json_object_set_new(root, "weakest", weakest ? weakest : json_null());
	json_object_set_new(root, "not_rated", not_rated);
}

static json_t *cells(const struct rv_live *live, const struct rv_station *station,
		     const struct rv_rig *rig)
{
	json_t *list = json_array();

	for (int i = 0; rig && i < rig->cells; i++) {
		const struct rv_live_cell *now = &live->cell[i];
		bool read = now->channel >= 0 && now->channel < station->channels;

		json_array_append_new(
		    list, json_pack("{s:s,s:s?,s:o,s:o,s:o,s:o}", "name", rig->cell[i].name,
				    "channel", read ? station->channel[now->channel].name : NULL,
				    "measured_n", rv_json_real(now->measured_n), "predicted_n",
				    rv_json_real(now->predicted.nominal_n), "low_n",
				    rv_json_real(now->predicted.low_n), "high_n",
				    rv_json_real(now->predicted.high_n)));
	}
	return list;
}

static json_t *legs(const struct rv_live *live, const struct rv_ground *ground)
{
	json_t *list = json_array();
	int count = ground && ground->predictor ? rv_predictor_legs(ground->predictor) : 0;

	for (int i = 0; i < count; i++) {
		const struct rv_leg *leg = rv_predictor_leg(ground->predictor, i);
		json_t *object = json_pack("{s:s,s:i}", "line", ground->rig.rope[leg->rope].name,
					   "leg", leg->leg);
		if (object)
			add_load(object, &live->leg[i]);
		json_array_append_new(list, object);
	}
	return list;
}

static json_t *pull(const struct rv_live *live, const struct rv_rig *rig)
{
	const char *near = NULL, *far = NULL;

	if (!live->pull.under_way)
		return json_null();
	if (rig && live->pull.near_cell >= 0 && live->pull.near_cell < rig->cells)
		near = rig->cell[live->pull.near_cell].name;
	if (rig && live->pull.far_cell >= 0 && live->pull.far_cell < rig->cells)
		far = rig->cell[live->pull.far_cell].name;
	return json_pack("{s:s?,s:o,s:o,s:o,s:o,s:o,s:s?,s:s?}", "direction",
			 rv_station_motion_name(live->pull.direction), "log_ratio",
			 rv_json_real(live->pull.log_ratio), "efficiency_ratio",
			 rv_json_real(live->pull.efficiency_ratio), "scatter_ratio",
			 rv_json_real(live->pull.scatter_ratio), "seconds",
			 rv_json_real(live->pull.seconds), "sheaves_effective",
			 rv_json_real(live->pull.sheaves_effective), "near", near, "far", far);
}

static const char *about(const struct rv_station *station, const char *name)
{
	for (int i = 0; i < station->alarms; i++) {
		const struct rv_alarm_rule *rule = &station->alarm[i];
		if (strcmp(rule->name, name) != 0)
			continue;
		bool of_part = rule->component[0] != '\0';
		bool of_tension =
		    rule->channel >= 0 && station->channel[rule->channel].quantity == RV_TENSION;
		return of_part || (of_tension && rule->condition == RV_ALARM_ABOVE) ? "limit"
										    : "other";
	}
	return "always";
}

json_t *rv_live_json_alarms(const struct rv_live *live, const struct rv_station *station)
{
	json_t *list = json_array();

	for (int i = 0; i < live->alarms && i < RV_LIVE_ALARMS; i++) {
		const struct rv_live_alarm *alarm = &live->alarm[i];

		json_array_append_new(
		    list, json_pack("{s:o,s:s,s:s,s:b,s:s,s:o,s:o,s:o}", "name",
				    rv_json_text(alarm->name), "level",
				    rv_station_level_name(alarm->level), "state",
				    rv_alarm_state_name(alarm->state), "data", (int)alarm->is_data,
				    "about", about(station, alarm->name), "since_utc",
				    utc(alarm->since_us), "text", rv_json_text(alarm->text),
				    "action", rv_json_text(alarm->action)));
	}
	return list;
}

static json_t *geometry(const struct rv_live *live)
{
	static const char *const states[] = {"as laid", "follows", "kept"};

	return json_pack("{s:s,s:o,s:o}", "state", states[live->geometry.state], "line_in_m",
			 rv_json_real(live->geometry.line_in_m), "text",
			 rv_json_text(live->geometry.text));
}

static json_t *run(const struct rv_live *live)
{
	if (live->run.number == 0)
		return json_null();
	return json_pack("{s:I,s:o,s:o}", "number", (json_int_t)live->run.number, "name",
			 rv_json_text(live->run.name), "started_utc", utc(live->run.started_us));
}

static json_t *record(const struct rv_live *live, const struct rv_station *station)
{
	const char *slash = strrchr(station->record, '/');
	double since_s = (double)NAN;

	if (live->record.last_commit_mono_ns > 0)
		since_s = (double)(live->mono_ns - live->record.last_commit_mono_ns) * 1e-9;
	return json_pack("{s:s,s:I,s:I,s:o,s:b}", "file", slash ? slash + 1 : station->record,
			 "readings", (json_int_t)live->record.readings, "lost",
			 (json_int_t)live->record.lost, "last_commit_s", rv_json_real(since_s),
			 "failing", (int)live->record.failing);
}

json_t *rv_live_json(const struct rv_live *live, const struct rv_station *station,
		     const struct rv_ground *ground)
{
	const struct rv_rig *rig = ground ? &ground->rig : NULL;
	json_t *root = json_pack(
	    "{s:s,s:s,s:f,s:o,s:b,s:b,s:s,s:s,s:s,s:s,s:i}", "boot", rv_clock_boot(), "start",
	    rv_clock_start(), "mono_s", (double)live->mono_ns * 1e-9, "utc",
	    utc(rv_clock_mono_to_utc_us(live->mono_ns)), "clock_trusted", (int)live->clock_trusted,
	    "simulated", (int)live->simulated, "state", rv_live_json_state(live->state), "data",
	    rv_live_json_data(live->data), "unit", rv_units_force_name(station->unit), "station",
	    station->name, "rig_number", live->rig_number);

	if (!root)
		return NULL;
	json_object_set_new(root, "channels", channels(live, station));
	json_object_set_new(root, "lines", lines(live, rig));
	add_components(root, live, ground);
	json_object_set_new(root, "geometry", geometry(live));
	json_object_set_new(root, "cells", cells(live, station, rig));
	json_object_set_new(root, "legs", legs(live, ground));
	json_object_set_new(root, "pull", pull(live, rig));
	json_object_set_new(root, "alarms", rv_live_json_alarms(live, station));
	json_object_set_new(root, "run", run(live));
	json_object_set_new(root, "record", record(live, station));
	return root;
}
