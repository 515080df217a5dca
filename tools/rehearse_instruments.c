/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_instruments.h"

#include <stdio.h>
#include <string.h>

#include "core/text.h"
#include "tools/rehearse_line.h"

static const char *const links[] = {"modbus-tcp", "modbus-rtu", "serial-text", NULL};
static const char *const spaces[] = {"coil", "discrete", "holding", "input", NULL};
static const char *const types[] = {"int16",   "uint16", "int32",   "uint32",
				    "float32", "int64",	 "float64", NULL};
static const char *const orders[] = {"abcd", "badc", "cdab", "dcba", NULL};

static const struct {
	const char *word;
	enum rv_rehearse_shown shows;
	bool takes_cell;
} shown[] = {
    {"cell", RV_REHEARSE_SHOWS_CELL, true},	 {"payout", RV_REHEARSE_SHOWS_PAYOUT, false},
    {"travel", RV_REHEARSE_SHOWS_TRAVEL, false}, {"hauling", RV_REHEARSE_SHOWS_HAULING, false},
    {"paying", RV_REHEARSE_SHOWS_PAYING, false}, {"alive", RV_REHEARSE_SHOWS_ALIVE, true},
    {"number", RV_REHEARSE_SHOWS_NUMBER, false}, {"written", RV_REHEARSE_SHOWS_WRITTEN, false},
};

static int find_cell(const struct rv_rehearse_scenario *scenario, const char *name)
{
	for (int i = 0; i < scenario->cells; i++)
		if (strcmp(scenario->cell[i].name, name) == 0)
			return i;
	return -1;
}

/* "cell lead", "payout", ... */
static void read_shows(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node,
		       const struct rv_rehearse_scenario *scenario, struct rv_rehearse_field *field)
{
	const char *text = rv_rehearse_yaml_text(yaml, node);
	size_t word = strcspn(text, " ");
	const char *name = text[word] ? text + word + 1 : "";

	for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++) {
		if (strlen(shown[i].word) != word || strncmp(shown[i].word, text, word) != 0)
			continue;
		field->shows = shown[i].shows;
		field->cell = find_cell(scenario, name);
		bool needs_cell = shown[i].shows == RV_REHEARSE_SHOWS_CELL;
		if ((*name && !shown[i].takes_cell) || ((*name || needs_cell) && field->cell < 0))
			rv_rehearse_yaml_fault(yaml, node, "there is no cell \"%s\"", name);
		return;
	}
	rv_rehearse_yaml_fault(yaml, node,
			       "\"%s\" cannot be shown; allowed: cell NAME, payout, travel, "
			       "hauling, paying, alive, alive NAME, number, written",
			       text);
}

static void read_scale(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		       struct rv_rehearse_field *field)
{
	const struct rv_yaml_node *unit = rv_rehearse_yaml_get(yaml, map, "unit");
	const struct rv_yaml_node *count = rv_rehearse_yaml_get(yaml, map, "per_count");
	bool measures = field->shows <= RV_REHEARSE_SHOWS_TRAVEL;

	field->per_count = 1;
	if (unit && count)
		rv_rehearse_yaml_fault(yaml, count, "either unit or per_count, not both");
	if (measures && !unit && !count)
		rv_rehearse_yaml_fault(yaml, map, "unit or per_count is missing here");
	if (unit) {
		const char *name = rv_rehearse_yaml_text(yaml, unit);
		field->per_count = rv_rehearse_script_unit(name);
		if (!(field->per_count > 0))
			rv_rehearse_yaml_fault(yaml, unit, "there is no unit \"%s\"", name);
		snprintf(field->unit, sizeof field->unit, "%s", name);
	}
	rv_rehearse_yaml_number(yaml, count, RV_REHEARSE_PLAIN, &field->per_count);
	if (count && !(field->per_count > 0) && !(field->per_count < 0))
		rv_rehearse_yaml_fault(yaml, count, "per_count must not be 0");
	rv_rehearse_yaml_number(yaml, rv_rehearse_yaml_get(yaml, map, "zero"), RV_REHEARSE_PLAIN,
				&field->zero);
	rv_rehearse_yaml_number(yaml, rv_rehearse_yaml_get(yaml, map, "wraps_at"),
				RV_REHEARSE_PLAIN, &field->wraps_at);
	const struct rv_yaml_node *number = rv_rehearse_yaml_get(yaml, map, "number");
	rv_rehearse_yaml_number(yaml, number, RV_REHEARSE_PLAIN, &field->number);
	if (!number && field->shows == RV_REHEARSE_SHOWS_NUMBER)
		rv_rehearse_yaml_fault(yaml, map, "\"number\" is missing here");
}

/* "input 8" */
static void read_place(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node,
		       struct rv_rehearse_field *field)
{
	const char *text = rv_rehearse_yaml_text(yaml, node);
	size_t word = strcspn(text, " ");
	int64_t address = -1;

	for (int i = 0; spaces[i]; i++)
		if (strlen(spaces[i]) == word && strncmp(spaces[i], text, word) == 0 &&
		    text[word] && rv_text_to_int64(text + word + 1, &address) == RV_OK)
			field->space = (enum rv_rehearse_space)i;
	if (address < 0 || address > 65535)
		rv_rehearse_yaml_fault(yaml, node,
				       "found \"%s\", expected coil, discrete, holding or input "
				       "and an address from 0 to 65535",
				       text);
	field->address = (int)address;
}

static void read_register(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
			  const struct rv_rehearse_scenario *scenario,
			  struct rv_rehearse_field *field)
{
	static const char *const known[] = {"at",	"type",	  "order",     "bit",
					    "shows",	"unit",	  "per_count", "zero",
					    "wraps_at", "number", NULL};
	const struct rv_yaml_node *at = rv_rehearse_yaml_need(yaml, map, "at");
	const struct rv_yaml_node *type = rv_rehearse_yaml_get(yaml, map, "type");
	const struct rv_yaml_node *order = rv_rehearse_yaml_get(yaml, map, "order");
	double bit = -1;

	rv_rehearse_yaml_keys(yaml, map, known);
	read_place(yaml, at, field);
	read_shows(yaml, rv_rehearse_yaml_need(yaml, map, "shows"), scenario, field);
	read_scale(yaml, map, field);
	rv_rehearse_yaml_number(yaml, rv_rehearse_yaml_get(yaml, map, "bit"), RV_REHEARSE_WHOLE,
				&bit);
	field->bit = (int)bit;
	if (bit > 15)
		rv_rehearse_yaml_fault(yaml, map, "a register has bits 0 to 15");
	field->type = RV_REHEARSE_UINT16;
	if (type)
		field->type = (enum rv_rehearse_type)rv_rehearse_yaml_word(yaml, type, types);
	if (order)
		field->order = (enum rv_rehearse_order)rv_rehearse_yaml_word(yaml, order, orders);
}

static void read_registers(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *list,
			   const struct rv_rehearse_scenario *scenario,
			   struct rv_rehearse_instrument *instrument)
{
	int count = rv_rehearse_yaml_count(yaml, list);

	if (count > RV_REHEARSE_FIELDS) {
		rv_rehearse_yaml_fault(yaml, list, "at most %d registers", RV_REHEARSE_FIELDS);
		return;
	}
	for (int i = 0; i < count; i++)
		read_register(yaml, rv_rehearse_yaml_at(list, i), scenario, &instrument->field[i]);
	instrument->fields = count;
}

static void read_fields(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
			const struct rv_rehearse_scenario *scenario,
			struct rv_rehearse_instrument *instrument)
{
	static const char *const known[] = {"shows",	"unit",	  "per_count", "zero",
					    "wraps_at", "number", NULL};
	int count = rv_rehearse_yaml_count(yaml, map);

	if (count > RV_REHEARSE_FIELDS) {
		rv_rehearse_yaml_fault(yaml, map, "at most %d fields", RV_REHEARSE_FIELDS);
		return;
	}
	for (int i = 0; i < count; i++) {
		struct rv_rehearse_field *field = &instrument->field[i];
		const struct rv_yaml_node *node = rv_rehearse_yaml_at(map, i);
		snprintf(field->name, sizeof field->name, "%s", rv_rehearse_yaml_at(map, i)->key);
		rv_rehearse_yaml_keys(yaml, node, known);
		read_shows(yaml, rv_rehearse_yaml_need(yaml, node, "shows"), scenario, field);
		read_scale(yaml, node, field);
	}
	instrument->fields = count;
}

/* Are all the template's places fields? */
static void try_line(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node,
		     const struct rv_rehearse_instrument *instrument)
{
	const double nothing[RV_REHEARSE_FIELDS] = {0};
	char line[RV_REHEARSE_LINE];
	struct rv_error error = {0};

	if (rv_rehearse_line_compose(instrument, nothing, NULL, line, &error) != RV_OK)
		rv_rehearse_yaml_fault(yaml, node, "%s", error.text);
}

static void read_text(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		      const struct rv_rehearse_scenario *scenario,
		      struct rv_rehearse_instrument *instrument)
{
	static const char *const known[] = {"link", "wire",   "refresh", "asked",
					    "line", "fields", NULL};
	const struct rv_yaml_node *line = rv_rehearse_yaml_need(yaml, map, "line");
	const char *text = rv_rehearse_yaml_text(yaml, line);
	const struct rv_yaml_node *ask = rv_rehearse_yaml_get(yaml, map, "asked");

	rv_rehearse_yaml_keys(yaml, map, known);
	if (strlen(text) >= sizeof instrument->line)
		rv_rehearse_yaml_fault(yaml, line, "the line is too long");
	snprintf(instrument->line, sizeof instrument->line, "%s", text);
	if (ask) {
		text = rv_rehearse_yaml_text(yaml, ask);
		if (strlen(text) >= sizeof instrument->ask || !*text)
			rv_rehearse_yaml_fault(yaml, ask, "1 to %zu letters are expected",
					       sizeof instrument->ask - 1);
		snprintf(instrument->ask, sizeof instrument->ask, "%s", text);
		instrument->ask_len = (int)strlen(instrument->ask);
	}
	read_fields(yaml, rv_rehearse_yaml_need(yaml, map, "fields"), scenario, instrument);
	if (rv_rehearse_yaml_failed(yaml) == RV_OK)
		try_line(yaml, line, instrument);
}

static void read_modbus(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
			const struct rv_rehearse_scenario *scenario,
			struct rv_rehearse_instrument *instrument)
{
	static const char *const tcp[] = {"link", "port", "unit", "refresh", "registers", NULL};
	static const char *const rtu[] = {"link", "wire", "unit", "refresh", "registers", NULL};
	double unit = 1;
	const struct rv_yaml_node *node = rv_rehearse_yaml_get(yaml, map, "unit");

	rv_rehearse_yaml_keys(yaml, map, instrument->link == RV_REHEARSE_TCP ? tcp : rtu);
	rv_rehearse_yaml_number(yaml, node, RV_REHEARSE_WHOLE, &unit);
	if (unit < 1 || unit > 247)
		rv_rehearse_yaml_fault(yaml, node, "a Modbus unit is 1 to 247");
	instrument->unit = (int)unit;
	read_registers(yaml, rv_rehearse_yaml_need(yaml, map, "registers"), scenario, instrument);
}

static void read_wire(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		      struct rv_rehearse_instrument *instrument)
{
	const struct rv_yaml_node *wire = rv_rehearse_yaml_need(yaml, map, "wire");
	const char *name = rv_rehearse_yaml_text(yaml, wire);

	if (!*name || strchr(name, '/') || name[0] == '.' ||
	    strlen(name) >= sizeof instrument->wire)
		rv_rehearse_yaml_fault(yaml, wire, "a wire is named by a plain file name");
	snprintf(instrument->wire, sizeof instrument->wire, "%s", name);
}

static void read_port(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
		      struct rv_rehearse_instrument *instrument)
{
	const struct rv_yaml_node *node = rv_rehearse_yaml_need(yaml, map, "port");
	double port = 0;

	rv_rehearse_yaml_number(yaml, node, RV_REHEARSE_WHOLE, &port);
	if (port < 1 || port > 65535)
		rv_rehearse_yaml_fault(yaml, node, "a port is 1 to 65535");
	instrument->port = (int)port;
}

static void read_instrument(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
			    const struct rv_rehearse_scenario *scenario,
			    struct rv_rehearse_instrument *instrument)
{
	const struct rv_yaml_node *link = rv_rehearse_yaml_need(yaml, map, "link");
	const struct rv_yaml_node *refresh = rv_rehearse_yaml_need(yaml, map, "refresh");

	instrument->link = (enum rv_rehearse_link)rv_rehearse_yaml_word(yaml, link, links);
	rv_rehearse_yaml_number(yaml, refresh, RV_REHEARSE_TIME, &instrument->refresh_s);
	if (!(instrument->refresh_s >= 0.001))
		rv_rehearse_yaml_fault(yaml, refresh, "at least 1 ms");
	if (instrument->link == RV_REHEARSE_TCP)
		read_port(yaml, map, instrument);
	else
		read_wire(yaml, map, instrument);
	if (instrument->link == RV_REHEARSE_TEXT)
		read_text(yaml, map, scenario, instrument);
	else
		read_modbus(yaml, map, scenario, instrument);
}

void rv_rehearse_instruments_read(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
				  struct rv_rehearse_scenario *scenario)
{
	int count = rv_rehearse_yaml_count(yaml, map);

	if (count > RV_REHEARSE_INSTRUMENTS) {
		rv_rehearse_yaml_fault(yaml, map, "at most %d instruments",
				       RV_REHEARSE_INSTRUMENTS);
		return;
	}
	for (int i = 0; i < count; i++) {
		struct rv_rehearse_instrument *instrument = &scenario->instrument[i];
		snprintf(instrument->name, sizeof instrument->name, "%s",
			 rv_rehearse_yaml_at(map, i)->key);
		read_instrument(yaml, rv_rehearse_yaml_at(map, i), scenario, instrument);
	}
	scenario->instruments = count;
}
