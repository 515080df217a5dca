/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/station_value.h"

#include <stdio.h>
#include <string.h>

#include "core/calibration_read.h"
#include "core/stated.h"

/* A travel measured by tape or wheel, where nothing else is stated. */
#define TRAVEL_STANDARD_RATIO 0.03

enum rv_measure rv_station_value_measure(enum rv_quantity quantity)
{
	switch (quantity) {
	case RV_TENSION:
		return RV_MEASURE_FORCE;
	case RV_PAYOUT:
	case RV_TRAVEL:
		return RV_MEASURE_LENGTH;
	case RV_TURNS:
	case RV_SWITCH:
	case RV_OTHER:
		break;
	}
	return RV_MEASURE_NUMBER;
}

static const char *value_unit(enum rv_quantity quantity)
{
	static const char *const units[] = {
	    [RV_TENSION] = "N", [RV_PAYOUT] = "m", [RV_TURNS] = "turns",
	    [RV_TRAVEL] = "m",	[RV_SWITCH] = "",  [RV_OTHER] = ""};

	return units[quantity];
}

static void set_linear(struct rv_channel *channel, const char *way, double zero, double scale)
{
	struct rv_calibration *calibration = &channel->calibration;

	snprintf(calibration->name, sizeof calibration->name, "%s", way);
	calibration->conversion = (struct rv_conversion){.a = {-zero * scale, scale}, .degree = 1};
}

/* SI value of one of a unit, by reading "1 unit". */
static enum rv_err unit_si(const struct rv_yaml_node *node, const char *unit,
			   enum rv_quantity quantity, double *si, struct rv_error *error)
{
	char text[RV_NAME_SIZE + 4];
	struct rv_amount amount;
	struct rv_error told = {0};
	enum rv_measure measure = rv_station_value_measure(quantity);

	snprintf(text, sizeof text, "1 %s", unit);
	if (quantity == RV_TENSION)
		measure = RV_MEASURE_STAMPED;
	if (quantity == RV_TURNS && strcmp(unit, "turns") != 0)
		return rv_yaml_refuse(error, node, RV_ERR_UNKNOWN, "unit_unknown",
				      "unit \"%.40s\" is none of turns; allowed: turns", unit);
	if (quantity == RV_TURNS || quantity == RV_OTHER) {
		*si = 1.0;
		return RV_OK;
	}
	enum rv_err err = rv_quantity_read(text, measure, &amount, &told);
	if (err != RV_OK && strcmp(told.tag, "unit_ton") == 0)
		return rv_yaml_refuse(
		    error, node, err, told.tag,
		    "a bare ton has three meanings: metric (1000 kg), short (2000 lb) "
		    "and long (2240 lb); allowed: %s",
		    rv_quantity_units(measure));
	if (err != RV_OK)
		return rv_yaml_refuse(error, node, err, told.tag,
				      "unit \"%.40s\" is none of a %s channel; allowed: %s", unit,
				      rv_station_quantity_name(quantity),
				      rv_quantity_units(measure));
	*si = amount.value;
	return RV_OK;
}

static enum rv_err read_unit(const struct rv_yaml_node *node, struct rv_channel *channel,
			     struct rv_error *error)
{
	static const struct rv_form_key key =
	    RV_KEY_TEXT("unit", struct rv_channel, wire_unit, true);
	double si = 1.0;
	enum rv_err err = rv_form_value(node, &key, channel, error);

	if (err == RV_OK)
		err = unit_si(node, channel->wire_unit, channel->quantity, &si, error);
	if (err != RV_OK)
		return err;
	if (channel->quantity == RV_OTHER)
		memcpy(channel->unit, channel->wire_unit, sizeof channel->unit);
	set_linear(channel, "unit", 0.0, si);
	return RV_OK;
}

static enum rv_err read_scale(const struct rv_station_value *value, struct rv_channel *channel,
			      struct rv_error *error)
{
	static const struct rv_form_key zero_key = {.key = "zero", .kind = RV_FORM_AMOUNT};
	const struct rv_yaml_node *node = value->scale;
	const char *word, *unit;
	double scale, si = 1.0, zero = 0.0;
	enum rv_err err =
	    rv_form_word(node, "the value of one count, such as 12.5 N", &word, error);

	if (err != RV_OK)
		return err;
	if (rv_quantity_split(word, &scale, &unit) != RV_OK || fabs(scale) <= 0.0 ||
	    *unit == '\0' || strlen(unit) >= sizeof channel->unit)
		return rv_yaml_refuse(error, node, RV_ERR_SYNTAX, "number",
				      "scale is \"%.40s\"; the value of one count with its unit is "
				      "needed, not 0, such as 12.5 N",
				      word);
	err = unit_si(node, unit, channel->quantity, &si, error);
	if (err == RV_OK && value->zero)
		err = rv_form_value(value->zero, &zero_key, &zero, error);
	if (err != RV_OK)
		return err;
	if (channel->quantity == RV_OTHER)
		snprintf(channel->unit, sizeof channel->unit, "%s", unit);
	set_linear(channel, "scale", zero, scale * si);
	return RV_OK;
}

static enum rv_err read_metres(const struct rv_yaml_node *node, struct rv_channel *channel,
			       struct rv_error *error)
{
	static const struct rv_form_key key = {.key = "metres_per_count",
					       .kind = RV_FORM_AMOUNT,
					       .measure = RV_MEASURE_LENGTH,
					       .limit = RV_FORM_WITHIN,
					       .low = -100.0,
					       .high = 100.0};
	double metres = 0.0;
	enum rv_err err = rv_form_value(node, &key, &metres, error);

	if (err != RV_OK)
		return err;
	if (fabs(metres) <= 0.0)
		return rv_yaml_refuse(error, node, RV_ERR_RANGE, "value_range",
				      "metres_per_count is 0; it may be negative, not 0");
	set_linear(channel, "scale", 0.0, metres);
	return RV_OK;
}

static enum rv_err load_file(const struct rv_yaml_node *node, const char *name, double capacity_n,
			     const struct rv_station_outside *outside,
			     struct rv_calibration_file *file, struct rv_error *error)
{
	struct rv_text text = {0};
	struct rv_error told = {0};
	enum rv_err err;

	if (!outside->load)
		return rv_yaml_refuse(error, node, RV_ERR_REFUSED, "calibration_file",
				      "calibration files cannot be read here");
	err = outside->load(outside->context, name, &text, &told);
	if (err == RV_OK && text.failed)
		err = rv_err_set(&told, RV_ERR_NOMEM, "no memory left while reading");
	if (err != RV_OK) {
		rv_text_free(&text);
		return rv_yaml_refuse(error, node, err, "calibration_file", "calibration: %s",
				      told.text);
	}
	err = rv_calibration_read(text.data ? text.data : "", text.len, capacity_n, file, &told);
	rv_text_free(&text);
	if (err != RV_OK)
		return rv_yaml_refuse(error, node, err, "calibration_file",
				      "calibration: %.80s:%d:%d: %.250s", name, told.line,
				      told.column, told.text);
	return RV_OK;
}

static enum rv_err read_calibration(const struct rv_yaml_node *node,
				    const struct rv_station_outside *outside,
				    struct rv_channel *channel, struct rv_error *error)
{
	static const struct rv_form_key key =
	    RV_KEY_TEXT("calibration", struct rv_channel, calibration.file, true);
	struct rv_calibration_file file;
	enum rv_err err = rv_form_value(node, &key, channel, error);

	if (err == RV_OK)
		err = load_file(node, channel->calibration.file, channel->capacity, outside, &file,
				error);
	if (err != RV_OK)
		return err;
	file.calibration.delay_s = channel->calibration.delay_s;
	memcpy(file.calibration.file, channel->calibration.file, sizeof file.calibration.file);
	channel->calibration = file.calibration;
	if (strcmp(file.unit_of_reading, "count") != 0)
		memcpy(channel->wire_unit, file.unit_of_reading, sizeof channel->wire_unit);
	return RV_OK;
}

/* One uncertainty that the station states: it wins over the calibration file's. */
static enum rv_err read_stated(const struct rv_yaml_node *node, struct rv_channel *channel,
			       struct rv_stated *stated, struct rv_error *error)
{
	struct rv_calibration *calibration = &channel->calibration;
	struct rv_stated from_file = *stated;

	if (!node)
		return RV_OK;
	enum rv_err err = rv_stated_read(node, rv_station_value_measure(channel->quantity),
					 channel->capacity, stated, error);
	if (err != RV_OK || !rv_stated_is_given(&from_file))
		return err;
	size_t len = strlen(calibration->overrides);
	snprintf(calibration->overrides + len, sizeof calibration->overrides - len, "%s%s",
		 len ? ", " : "", node->key);
	return RV_OK;
}

static enum rv_err read_capacity(const struct rv_yaml_node *node, struct rv_channel *channel,
				 struct rv_error *error)
{
	static const struct rv_form_key force =
	    RV_KEY_STAMPED("capacity", struct rv_channel, capacity, capacity_as_mass);
	static const struct rv_form_key number = {.key = "capacity",
						  .kind = RV_FORM_AMOUNT,
						  .offset = offsetof(struct rv_channel, capacity),
						  .limit = RV_FORM_POSITIVE};

	if (!node)
		return RV_OK;
	return rv_form_value(node, channel->quantity == RV_TENSION ? &force : &number, channel,
			     error);
}

static enum rv_err read_way(const struct rv_yaml_node *entry, const char *what,
			    const struct rv_station_value *value,
			    const struct rv_station_outside *outside, struct rv_channel *channel,
			    struct rv_error *error)
{
	int ways =
	    !!value->unit + !!value->scale + !!value->metres_per_count + !!value->calibration;

	if (ways == 0 && outside->for_import) {
		set_linear(channel, "imported", 0.0, 1.0);
		return RV_OK;
	}
	if (ways != 1)
		return rv_yaml_refuse_key(
		    error, entry, ways ? RV_ERR_REFUSED : RV_ERR_MISSING, "conversion",
		    "%s %s how raw becomes a value; exactly one of %s is needed", what,
		    ways ? "says in more than one way" : "does not say",
		    channel->quantity == RV_PAYOUT    ? "metres_per_count and unit"
		    : channel->quantity == RV_TENSION ? "unit, scale and calibration"
						      : "unit and scale");
	if (value->zero && !value->scale)
		return rv_yaml_refuse_key(error, value->zero, RV_ERR_REFUSED, "key_misplaced",
					  "%s: zero (raw) goes with scale", what);
	if (value->unit)
		return read_unit(value->unit, channel, error);
	if (value->scale)
		return read_scale(value, channel, error);
	if (value->metres_per_count)
		return read_metres(value->metres_per_count, channel, error);
	return read_calibration(value->calibration, outside, channel, error);
}

enum rv_err rv_station_value_read(const struct rv_yaml_node *entry, const char *what,
				  const struct rv_station_value *value,
				  const struct rv_station_outside *outside,
				  struct rv_channel *channel, struct rv_error *error)
{
	struct rv_calibration *calibration = &channel->calibration;
	enum rv_err err;

	snprintf(channel->unit, sizeof channel->unit, "%s", value_unit(channel->quantity));
	calibration->gain = calibration->zero = calibration->drift = RV_STATED_NOTHING;
	channel->travel_uncertainty = RV_STATED_NOTHING;
	if (channel->quantity == RV_TRAVEL)
		channel->travel_uncertainty.ratio = TRAVEL_STANDARD_RATIO;
	err = read_capacity(value->capacity, channel, error);
	if (err != RV_OK)
		return err;
	if (channel->quantity == RV_SWITCH)
		set_linear(channel, "unit", 0.0, 1.0);
	else
		err = read_way(entry, what, value, outside, channel, error);
	if (err == RV_OK)
		err = read_stated(value->gain, channel, &calibration->gain, error);
	if (err == RV_OK)
		err = read_stated(value->zero_uncertainty, channel, &calibration->zero, error);
	if (err == RV_OK)
		err = read_stated(value->drift, channel, &calibration->drift, error);
	if (err == RV_OK && value->travel_uncertainty)
		err = rv_stated_read(value->travel_uncertainty, RV_MEASURE_LENGTH,
				     channel->capacity, &channel->travel_uncertainty, error);
	return err;
}
