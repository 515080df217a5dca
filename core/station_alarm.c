/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/station_alarm.h"

#include <stdio.h>
#include <string.h>

#include "core/station_value.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

enum { CONDITIONS = 5 };

struct form {
	struct rv_alarm_rule rule;
	const struct rv_yaml_node *channel, *component, *deadband, *condition[CONDITIONS];
	char what[RV_NAME_SIZE + 16];
};

static const char *const levels[] = {"warning", "danger", NULL};

static enum rv_err read_form(const struct rv_yaml_node *entry, struct form *form,
			     struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_NODE("channel", struct form, channel, false),
	    RV_KEY_NODE("component", struct form, component, false),
	    RV_KEY_NODE("above", struct form, condition[RV_ALARM_ABOVE], false),
	    RV_KEY_NODE("below", struct form, condition[RV_ALARM_BELOW], false),
	    RV_KEY_NODE("rises_faster", struct form, condition[RV_ALARM_RISES_FASTER], false),
	    RV_KEY_NODE("falls_faster", struct form, condition[RV_ALARM_FALLS_FASTER], false),
	    RV_KEY_NODE("speed_above", struct form, condition[RV_ALARM_SPEED_ABOVE], false),
	    RV_KEY_NODE("deadband", struct form, deadband, false),
	    RV_KEY_AMOUNT("delay", struct form, rule.delay_s, RV_MEASURE_TIME,
			  RV_FORM_NOT_NEGATIVE),
	    RV_KEY_AMOUNT("clear_delay", struct form, rule.clear_delay_s, RV_MEASURE_TIME,
			  RV_FORM_NOT_NEGATIVE),
	    RV_KEY_TRUTH("latch", struct form, rule.latch),
	    {.key = "level",
	     .kind = RV_FORM_WORD,
	     .offset = offsetof(struct form, rule.level),
	     .required = true,
	     .words = levels},
	    RV_KEY_TEXT("action", struct form, rule.action, false),
	};

	snprintf(form->what, sizeof form->what, "alarm \"%.63s\"", entry->key);
	enum rv_err err = rv_form_read(entry, form->what, keys, COUNT(keys), form, error);
	return err == RV_OK ? rv_form_name(entry, form->rule.name, error) : err;
}

/* The alarms that are always there have names of their own. */
static enum rv_err check_name(const struct rv_yaml_node *entry, const struct rv_station *station,
			      struct rv_error *error)
{
	static const char *const endings[] = {
	    " lost", " frozen", " out of range", " zeroed", " failed", " tension lost", " creeps"};
	bool is_taken = strcmp(entry->key, "record") == 0;

	for (size_t i = 0; i < COUNT(endings); i++) {
		size_t len = strlen(entry->key), end = strlen(endings[i]);
		if (len <= end || strcmp(entry->key + len - end, endings[i]) != 0)
			continue;
		char name[RV_NAME_SIZE];
		snprintf(name, sizeof name, "%.*s", (int)(len - end), entry->key);
		is_taken |= rv_station_find_channel(station, name) >= 0 ||
			    rv_station_find_device(station, name) >= 0;
	}
	if (!is_taken)
		return RV_OK;
	return rv_yaml_refuse_key(error, entry, RV_ERR_REFUSED, "name_reserved",
				  "an alarm \"%s\" is always there; choose another name",
				  entry->key);
}

static enum rv_err read_condition(struct form *form, const struct rv_yaml_node *entry,
				  const struct rv_yaml_node **node, struct rv_error *error)
{
	int found = 0;

	for (int i = 0; i < CONDITIONS; i++) {
		if (!form->condition[i])
			continue;
		found++;
		form->rule.condition = (enum rv_alarm_condition)i;
		*node = form->condition[i];
	}
	if (found == 1)
		return RV_OK;
	return rv_yaml_refuse_key(
	    error, entry, found ? RV_ERR_REFUSED : RV_ERR_MISSING, "condition",
	    "%s has %d conditions; exactly one of above, below, rises_faster, "
	    "falls_faster and speed_above is needed",
	    form->what, found);
}

static bool is_rate(enum rv_alarm_condition condition)
{
	return condition == RV_ALARM_RISES_FASTER || condition == RV_ALARM_FALLS_FASTER ||
	       condition == RV_ALARM_SPEED_ABOVE;
}

/* How the limit of a channel's alarm is written. */
static enum rv_measure limit_measure(const struct rv_channel *channel,
				     enum rv_alarm_condition condition)
{
	enum rv_measure measure = rv_station_value_measure(channel->quantity);

	if (!is_rate(condition))
		return measure;
	return measure == RV_MEASURE_FORCE    ? RV_MEASURE_FORCE_RATE
	       : measure == RV_MEASURE_LENGTH ? RV_MEASURE_SPEED
					      : RV_MEASURE_NUMBER;
}

static enum rv_err read_limit(const struct rv_yaml_node *node, enum rv_measure measure,
			      bool is_signed, double *limit, struct rv_error *error)
{
	const struct rv_form_key key = {.key = node->key,
					.kind = RV_FORM_AMOUNT,
					.measure = measure,
					.limit = is_signed ? RV_FORM_ANY : RV_FORM_POSITIVE};

	return rv_form_value(node, &key, limit, error);
}

/* The deadband: a share in % (of a component's limit, or of this alarm's), or an amount. */
static enum rv_err read_deadband(const struct form *form, enum rv_measure measure, double whole,
				 double *deadband, struct rv_error *error)
{
	const struct rv_yaml_node *node = form->deadband;
	bool is_share = node->kind == RV_YAML_WORD && strchr(node->text, '%');
	const struct rv_form_key key = {.key = "deadband",
					.kind = RV_FORM_AMOUNT,
					.measure = is_share ? RV_MEASURE_PERCENT : measure,
					.limit = RV_FORM_NOT_NEGATIVE};
	double read = 0.0;
	enum rv_err err = rv_form_value(node, &key, &read, error);

	if (err == RV_OK)
		*deadband = is_share ? read * whole : read;
	return err;
}

static enum rv_err read_component(struct form *form, const struct rv_yaml_node *limit,
				  struct rv_error *error)
{
	static const struct rv_form_key key =
	    RV_KEY_TEXT("component", struct rv_alarm_rule, component, true);
	enum rv_err err = rv_form_value(form->component, &key, &form->rule, error);

	if (err != RV_OK)
		return err;
	if (form->rule.condition != RV_ALARM_ABOVE)
		return rv_yaml_refuse_key(
		    error, limit, RV_ERR_REFUSED, "key_misplaced",
		    "%s watches a component; it takes \"above\" in %% of its limit", form->what);
	err = read_limit(limit, RV_MEASURE_PERCENT, false, &form->rule.limit, error);
	if (err == RV_OK && form->deadband)
		err = read_deadband(form, RV_MEASURE_PERCENT, 1.0, &form->rule.deadband, error);
	return err;
}

static enum rv_err read_channel(struct form *form, const struct rv_yaml_node *limit,
				const struct rv_station *station, struct rv_error *error)
{
	struct rv_alarm_rule *rule = &form->rule;
	enum rv_err err = rv_station_part_channel(station, form->channel, &rule->channel, error);

	if (err != RV_OK)
		return err;
	const struct rv_channel *channel = &station->channel[rule->channel];
	bool is_speed = rule->condition == RV_ALARM_SPEED_ABOVE;
	bool has_speed = channel->quantity == RV_PAYOUT || channel->quantity == RV_TRAVEL;
	if (channel->quantity == RV_SWITCH || (is_speed && !has_speed))
		return rv_yaml_refuse_key(error, limit, RV_ERR_REFUSED, "key_misplaced",
					  "%s: \"%s\" has no meaning for %s", form->what,
					  limit->key, rv_station_quantity_name(channel->quantity));
	enum rv_measure measure = limit_measure(channel, rule->condition);
	bool is_signed = !is_rate(rule->condition) && channel->quantity != RV_TENSION;
	err = read_limit(limit, measure, is_signed, &rule->limit, error);
	if (err == RV_OK && form->deadband)
		err = read_deadband(form, measure, fabs(rule->limit), &rule->deadband, error);
	return err;
}

enum rv_err rv_station_alarm_read(const struct rv_yaml_node *entry, struct rv_station_draft *draft,
				  struct rv_error *error)
{
	struct rv_station *station = &draft->station;
	struct form form = {.rule = {.channel = -1, .deadband = RV_NOT_GIVEN}};
	const struct rv_yaml_node *limit = NULL;

	enum rv_err err = read_form(entry, &form, error);
	if (err == RV_OK)
		err = check_name(entry, station, error);
	if (err == RV_OK)
		err = read_condition(&form, entry, &limit, error);
	if (err != RV_OK)
		return err;
	if (!form.channel == !form.component)
		return rv_yaml_refuse_key(error, entry, RV_ERR_REFUSED, "alarm_subject",
					  "%s needs \"channel\" or \"component\", one of both",
					  form.what);
	err = form.channel ? read_channel(&form, limit, station, error)
			   : read_component(&form, limit, error);
	if (err != RV_OK)
		return err;
	form.rule.line = entry->key_line;
	station->alarm[station->alarms++] = form.rule;
	return RV_OK;
}

struct output {
	struct rv_output output;
	const struct rv_yaml_node *device;
	int rest; /* 0 energised, 1 released */
	char what[RV_NAME_SIZE + 16];
};

static enum rv_err read_output(const struct rv_yaml_node *entry, struct output *form,
			       struct rv_error *error)
{
	static const char *const kinds[] = {"sound", "light", NULL};
	static const char *const rests[] = {"energised", "released", NULL};
	static const struct rv_form_key keys[] = {
	    RV_KEY_NODE("device", struct output, device, true),
	    {.key = "coil",
	     .kind = RV_FORM_WHOLE,
	     .offset = offsetof(struct output, output.coil),
	     .required = true,
	     .limit = RV_FORM_WITHIN,
	     .low = 0.0,
	     .high = 65535.0},
	    {.key = "when",
	     .kind = RV_FORM_WORD,
	     .offset = offsetof(struct output, output.when),
	     .required = true,
	     .words = levels},
	    {.key = "kind",
	     .kind = RV_FORM_WORD,
	     .offset = offsetof(struct output, output.kind),
	     .required = true,
	     .words = kinds},
	    RV_KEY_WORD("rest", struct output, rest, rests, 0),
	};

	snprintf(form->what, sizeof form->what, "output \"%.63s\"", entry->key);
	enum rv_err err = rv_form_read(entry, form->what, keys, COUNT(keys), form, error);
	return err == RV_OK ? rv_form_name(entry, form->output.name, error) : err;
}

static enum rv_err check_output(const struct output *form, const struct rv_yaml_node *entry,
				const struct rv_station *station, struct rv_error *error)
{
	const struct rv_device *device = &station->device[form->output.device];

	if (device->link == RV_LINK_SERIAL_TEXT)
		return rv_yaml_refuse(
		    error, form->device, RV_ERR_REFUSED, "output_device",
		    "%s: device \"%s\" is serial-text; a coil needs modbus-tcp or "
		    "modbus-rtu",
		    form->what, device->name);
	if (!rv_station_may_write(station, form->output.device))
		return rv_yaml_refuse(
		    error, form->device, RV_ERR_REFUSED, "output_device",
		    "%s: device \"%s\" carries a measured channel; put the output "
		    "on another device, or allow it with \"write: true\" there",
		    form->what, device->name);
	for (int i = 0; i < station->outputs; i++)
		if (station->output[i].device == form->output.device &&
		    station->output[i].coil == form->output.coil)
			return rv_yaml_refuse(
			    error, rv_yaml_get(entry, "coil"), RV_ERR_REFUSED, "coil_twice",
			    "output \"%s\" drives this coil already", station->output[i].name);
	return RV_OK;
}

enum rv_err rv_station_output_read(const struct rv_yaml_node *entry, struct rv_station_draft *draft,
				   struct rv_error *error)
{
	struct rv_station *station = &draft->station;
	struct output form = {.output = {.device = -1}, .rest = 1};

	enum rv_err err = read_output(entry, &form, error);
	if (err == RV_OK)
		err = rv_station_part_device(station, form.device, &form.output.device, error);
	if (err == RV_OK)
		err = check_output(&form, entry, station, error);
	if (err != RV_OK)
		return err;
	form.output.rest_energised = form.rest == 0;
	form.output.line = entry->key_line;
	station->output[station->outputs++] = form.output;
	return RV_OK;
}
