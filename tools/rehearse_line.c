/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_line.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A place for a number: {name:form}. */
struct place {
	const struct rv_rehearse_field *field;
	int index;
	char form[16];
};

static enum rv_err read_place(const struct rv_rehearse_instrument *instrument, const char *text,
			      size_t len, struct place *place, struct rv_error *error)
{
	size_t name = 0;

	while (name < len && text[name] != ':')
		name++;
	size_t form = name < len ? len - name - 1 : 0;
	for (int i = 0; i < instrument->fields && form < sizeof place->form; i++) {
		const struct rv_rehearse_field *field = &instrument->field[i];
		if (strlen(field->name) != name || strncmp(field->name, text, name) != 0)
			continue;
		place->field = field;
		place->index = i;
		memcpy(place->form, text + len - form, form);
		place->form[form] = '\0';
		return RV_OK;
	}
	return rv_err_set(error, RV_ERR_UNKNOWN, "the line names \"%.*s\", which is no field",
			  (int)len, text);
}

static enum rv_err put_number(const struct place *place, double number, char *to, size_t room,
			      struct rv_error *error)
{
	const char *form = place->form;
	bool sign = *form == '+';
	char *end;

	long width = strtol(form + sign, &end, 10);
	long places = *end == '.' ? strtol(end + 1, &end, 10) : 0;
	if (*end || width < 0 || width > 30 || places < 0 || places > 9)
		return rv_err_set(error, RV_ERR_UNKNOWN,
				  "\"%s\" is no form of a number; write 8.1 or +8.1", form);
	snprintf(to, room, sign ? "%+*.*f" : "%*.*f", (int)width, (int)places, number);
	return RV_OK;
}

enum rv_err rv_rehearse_line_compose(const struct rv_rehearse_instrument *instrument,
				     const double *shown, const char *other_unit,
				     char line[RV_REHEARSE_LINE], struct rv_error *error)
{
	size_t at = 0;

	for (const char *from = instrument->line; *from && at + 64 < RV_REHEARSE_LINE;) {
		const char *end = *from == '{' ? strchr(from, '}') : NULL;
		if (!end) {
			line[at++] = *from++;
			continue;
		}
		struct place place;
		enum rv_err err =
		    read_place(instrument, from + 1, (size_t)(end - from - 1), &place, error);
		if (err != RV_OK)
			return err;
		bool other = other_unit && place.field->unit[0];
		double number = shown[place.index];
		if (other)
			number *= place.field->per_count / rv_rehearse_script_unit(other_unit);
		if (strcmp(place.form, "unit") == 0)
			snprintf(line + at, 64, "%s", other ? other_unit : place.field->unit);
		else
			err = put_number(&place, number, line + at, 64, error);
		if (err != RV_OK)
			return err;
		at += strlen(line + at);
		from = end + 1;
	}
	line[at] = '\0';
	return RV_OK;
}
