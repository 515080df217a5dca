/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/line_match.h"

#define PCRE2_CODE_UNIT_WIDTH 8
#include <pcre2.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/vitals.h"

/* Enough for any sane line; a pattern that needs more is cut off and the line counts as garbled. */
enum { MATCH_LIMIT = 100000, DEPTH_LIMIT = 1000 };

/* Groups by number; 0 = none. */
struct field {
	const struct rv_channel *channel;
	int value, alive, status, unit;
	struct rv_vitals vitals;
};

struct rv_line_match {
	pcre2_code *code;
	pcre2_match_data *data;
	pcre2_match_context *context;
	int count;
	struct field field[RV_CHANNELS];
};

static int find_group(const struct rv_line_match *match, const char *name)
{
	int number = pcre2_substring_number_from_name(match->code, (PCRE2_SPTR)name);

	return number > 0 ? number : 0;
}

static enum rv_err find_groups(const struct rv_line_match *match, struct field *field,
			       struct rv_error *error)
{
	const struct rv_channel *channel = field->channel;
	const char *lacking = NULL;
	char unit[RV_NAME_SIZE + 8];

	field->value = find_group(match, channel->field);
	if (!field->value)
		lacking = channel->field;
	if (channel->alive.used && !(field->alive = find_group(match, channel->alive.field)))
		lacking = channel->alive.field;
	if (channel->good_when.field[0] &&
	    !(field->status = find_group(match, channel->good_when.field)))
		lacking = channel->good_when.field;
	if (lacking)
		return rv_err_set(error, RV_ERR_UNKNOWN,
				  "channel %s: its device's `line` has no group (?<%s>...)",
				  channel->name, lacking);
	snprintf(unit, sizeof unit, "%s_unit", channel->field);
	field->unit = find_group(match, unit);
	if (!field->unit)
		field->unit = find_group(match, "unit");
	return RV_OK;
}

static enum rv_err compile(struct rv_line_match *match, const struct rv_device *device,
			   struct rv_error *error)
{
	int code;
	PCRE2_SIZE at;

	match->code =
	    pcre2_compile((PCRE2_SPTR)device->pattern, PCRE2_ZERO_TERMINATED,
			  PCRE2_DOLLAR_ENDONLY | PCRE2_NEVER_BACKSLASH_C, &code, &at, NULL);
	if (!match->code) {
		char why[128];
		pcre2_get_error_message(code, (PCRE2_UCHAR *)why, sizeof why);
		return rv_err_set(error, RV_ERR_SYNTAX, "device %s: line: %s at letter %zu",
				  device->name, why, at + 1);
	}
	match->data = pcre2_match_data_create_from_pattern(match->code, NULL);
	match->context = pcre2_match_context_create(NULL);
	if (!match->data || !match->context)
		return rv_err_set(error, RV_ERR_NOMEM, "%s: no memory", device->name);
	pcre2_set_match_limit(match->context, MATCH_LIMIT);
	pcre2_set_depth_limit(match->context, DEPTH_LIMIT);
	return RV_OK;
}

enum rv_err rv_line_match_new(const struct rv_station *station, int device,
			      struct rv_line_match **match, struct rv_error *error)
{
	struct rv_line_match *made = calloc(1, sizeof *made);

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory");
	enum rv_err err = compile(made, &station->device[device], error);
	for (int i = 0; i < station->channels && err == RV_OK; i++) {
		if (station->channel[i].device != device)
			continue;
		struct field *field = &made->field[made->count++];
		field->channel = &station->channel[i];
		err = find_groups(made, field, error);
	}
	if (err != RV_OK) {
		rv_line_match_free(made);
		return err;
	}
	*match = made;
	return RV_OK;
}

void rv_line_match_free(struct rv_line_match *match)
{
	if (!match)
		return;
	pcre2_match_context_free(match->context);
	pcre2_match_data_free(match->data);
	pcre2_code_free(match->code);
	free(match);
}

static struct rv_vitals_piece group(const struct rv_line_match *match, const char *line, int number)
{
	const PCRE2_SIZE *pairs = pcre2_get_ovector_pointer(match->data);
	const PCRE2_SIZE *ends = pairs + 2 * (ptrdiff_t)number;
	struct rv_vitals_piece piece = {0};

	if (number > 0 && ends[0] != PCRE2_UNSET)
		piece = (struct rv_vitals_piece){line + ends[0], ends[1] - ends[0]};
	return piece;
}

/* A count when the channel has no unit on the wire and the text is whole, else a number. */
static bool read_number(const struct rv_channel *channel, struct rv_vitals_piece piece,
			struct rv_raw *raw)
{
	char text[RV_NAME_SIZE];

	if (piece.len == 0 || piece.len >= sizeof text || memchr(piece.bytes, '\0', piece.len))
		return false;
	memcpy(text, piece.bytes, piece.len);
	text[piece.len] = '\0';
	if (!channel->wire_unit[0] && rv_text_to_int64(text, &raw->count) == RV_OK) {
		raw->kind = RV_RAW_INT;
		return true;
	}
	if (rv_text_to_double(text, &raw->real) != RV_OK)
		return false;
	raw->kind = RV_RAW_REAL;
	return true;
}

enum rv_err rv_line_match_read(struct rv_line_match *match, const char *line, size_t len,
			       int64_t mono_ns, struct rv_value *values, int *count)
{
	if (pcre2_match(match->code, (PCRE2_SPTR)line, len, 0, 0, match->data, match->context) < 0)
		return RV_ERR_SYNTAX;
	for (int i = 0; i < match->count; i++) {
		struct field *field = &match->field[i];
		struct rv_vitals_piece number = group(match, line, field->value);
		struct rv_vitals_seen seen = {
		    .alive = group(match, line, field->alive),
		    .status = group(match, line, field->status),
		    .unit = group(match, line, field->unit),
		    .is_number = true,
		};
		values[i] = (struct rv_value){.raw = {.kind = RV_RAW_NONE}};
		if (!number.bytes)
			continue;
		seen.is_number = read_number(field->channel, number, &values[i].raw);
		rv_vitals_judge(&field->vitals, field->channel, &seen, mono_ns, &values[i]);
	}
	*count = match->count;
	return RV_OK;
}
