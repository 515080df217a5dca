/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_yaml.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <yaml.h>

#include "core/text.h"
#include "core/units.h"

struct rv_rehearse_yaml {
	yaml_document_t document;
	struct rv_error *error;
	enum rv_err failed;
};

struct unit {
	const char *name;
	double si;
};

static const struct unit units_ratio[] = {{"", 1}, {"%", 0.01}, {NULL, 0}};
static const struct unit units_plain[] = {{"", 1}, {NULL, 0}};
static const struct unit units_length[] = {{"", 1}, {"m", 1}, {"mm", 1e-3}, {NULL, 0}};
static const struct unit units_time[] = {{"s", 1}, {"ms", 1e-3}, {"min", 60}, {NULL, 0}};
static const struct unit units_force[] = {{"N", 1},
					  {"daN", 10},
					  {"kN", 1e3},
					  {"kgf", RV_STANDARD_GRAVITY_MPS2},
					  {"tf", 1e3 * RV_STANDARD_GRAVITY_MPS2},
					  {"lbf", RV_POUND_KG *RV_STANDARD_GRAVITY_MPS2},
					  {NULL, 0}};
static const struct unit units_mass[] = {{"kg", 1}, {"t", 1e3}, {NULL, 0}};
static const struct unit units_speed[] = {{"", 1}, {"m/s", 1}, {NULL, 0}};
static const struct unit units_slope[] = {{"N/m", 1}, {"kN/m", 1e3}, {NULL, 0}};

static const struct {
	const struct unit *units;
	const char *allowed;
} measures[] = {
    [RV_REHEARSE_PLAIN] = {units_plain, "a plain number"},
    [RV_REHEARSE_WHOLE] = {units_plain, "a whole number"},
    [RV_REHEARSE_RATIO] = {units_ratio, "a number such as 2 %"},
    [RV_REHEARSE_LENGTH] = {units_length, "a length in m or mm"},
    [RV_REHEARSE_TIME] = {units_time, "a time with its unit: s, ms or min"},
    [RV_REHEARSE_FORCE] = {units_force, "a force with its unit: N, daN, kN, kgf, tf or lbf"},
    [RV_REHEARSE_MASS] = {units_mass, "a mass with its unit: kg or t"},
    [RV_REHEARSE_SPEED] = {units_speed, "a speed in m/s"},
    [RV_REHEARSE_SLOPE] = {units_slope, "a force for each metre: N/m or kN/m"},
};

enum rv_err rv_rehearse_yaml_open(const char *text, size_t len, struct rv_rehearse_yaml **yaml,
				  struct rv_error *error)
{
	struct rv_rehearse_yaml *made = calloc(1, sizeof *made);
	yaml_parser_t parser;

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory to read the scenario");
	made->error = error;
	if (!yaml_parser_initialize(&parser)) {
		free(made);
		return rv_err_set(error, RV_ERR_NOMEM, "no memory to read the scenario");
	}
	yaml_parser_set_input_string(&parser, (const unsigned char *)text, len);
	enum rv_err err = RV_OK;
	if (!yaml_parser_load(&parser, &made->document)) {
		err = rv_err_at(error, RV_ERR_SYNTAX, (int)parser.problem_mark.line + 1,
				(int)parser.problem_mark.column + 1, "no YAML: %s",
				parser.problem ? parser.problem : "cannot be read");
		free(made);
	} else if (!yaml_document_get_root_node(&made->document)) {
		err = rv_err_set(error, RV_ERR_MISSING, "the scenario is empty");
		rv_rehearse_yaml_close(made);
	} else {
		*yaml = made;
	}
	yaml_parser_delete(&parser);
	return err;
}

void rv_rehearse_yaml_close(struct rv_rehearse_yaml *yaml)
{
	if (!yaml)
		return;
	yaml_document_delete(&yaml->document);
	free(yaml);
}

enum rv_err rv_rehearse_yaml_failed(const struct rv_rehearse_yaml *yaml)
{
	return yaml->failed;
}

static const yaml_node_t *find(const struct rv_rehearse_yaml *yaml, int node)
{
	/* libyaml's own look-up takes the document unqualified, though it only reads it. */
	const yaml_node_t *start = yaml->document.nodes.start;
	return node > 0 ? &start[node - 1] : NULL;
}

void rv_rehearse_yaml_fault(struct rv_rehearse_yaml *yaml, int node, const char *format, ...)
{
	char text[sizeof yaml->error->text];
	const yaml_node_t *at = find(yaml, node);
	va_list args;

	if (yaml->failed != RV_OK)
		return;
	va_start(args, format);
	vsnprintf(text, sizeof text, format, args);
	va_end(args);
	yaml->failed = rv_err_at(yaml->error, RV_ERR_SYNTAX, at ? (int)at->start_mark.line + 1 : 0,
				 at ? (int)at->start_mark.column + 1 : 0, "%s", text);
}

int rv_rehearse_yaml_root(const struct rv_rehearse_yaml *yaml)
{
	return find(yaml, 1) ? 1 : 0;
}

static const char *scalar(const yaml_node_t *node)
{
	return node && node->type == YAML_SCALAR_NODE ? (const char *)node->data.scalar.value
						      : NULL;
}

static bool is_map(struct rv_rehearse_yaml *yaml, int node)
{
	const yaml_node_t *map = find(yaml, node);

	if (!map || yaml->failed != RV_OK)
		return false;
	if (map->type != YAML_MAPPING_NODE)
		rv_rehearse_yaml_fault(yaml, node, "keys with values are expected here");
	return yaml->failed == RV_OK;
}

/* Value of the first pair from the given one on that has this key, or 0. */
static int look_up(const struct rv_rehearse_yaml *yaml, const yaml_node_t *map, const char *key,
		   const yaml_node_pair_t *from)
{
	for (const yaml_node_pair_t *pair = from; pair < map->data.mapping.pairs.top; pair++) {
		const char *name = scalar(find(yaml, pair->key));
		if (name && strcmp(name, key) == 0)
			return pair->value;
	}
	return 0;
}

static bool is_listed(const char *word, const char *const *list)
{
	for (; *list; list++)
		if (strcmp(word, *list) == 0)
			return true;
	return false;
}

static size_t length_of(const char *const *list)
{
	size_t count = 0;
	while (list[count])
		count++;
	return count;
}

void rv_rehearse_yaml_keys(struct rv_rehearse_yaml *yaml, int map, const char *const *known)
{
	if (!is_map(yaml, map))
		return;
	const yaml_node_t *node = find(yaml, map);
	for (const yaml_node_pair_t *pair = node->data.mapping.pairs.start;
	     pair < node->data.mapping.pairs.top; pair++) {
		const char *name = scalar(find(yaml, pair->key));
		if (!name) {
			rv_rehearse_yaml_fault(yaml, pair->key, "a key must be a word");
		} else if (!is_listed(name, known)) {
			const char *near = rv_text_nearest(name, known, length_of(known));
			rv_rehearse_yaml_fault(
			    yaml, pair->key, "unknown key \"%s\"%s%s", name,
			    near ? "; nearest: " : "; first allowed: ", near ? near : known[0]);
		} else if (look_up(yaml, node, name, pair + 1)) {
			rv_rehearse_yaml_fault(yaml, pair->key, "key \"%s\" stands twice", name);
		}
	}
}

int rv_rehearse_yaml_get(struct rv_rehearse_yaml *yaml, int map, const char *key)
{
	if (!is_map(yaml, map))
		return 0;
	const yaml_node_t *node = find(yaml, map);
	return look_up(yaml, node, key, node->data.mapping.pairs.start);
}

int rv_rehearse_yaml_need(struct rv_rehearse_yaml *yaml, int map, const char *key)
{
	int value = rv_rehearse_yaml_get(yaml, map, key);

	if (!value)
		rv_rehearse_yaml_fault(yaml, map, "\"%s\" is missing here", key);
	return value;
}

int rv_rehearse_yaml_count(struct rv_rehearse_yaml *yaml, int node)
{
	const yaml_node_t *at = find(yaml, node);

	if (!at || yaml->failed != RV_OK)
		return 0;
	if (at->type == YAML_SEQUENCE_NODE)
		return (int)(at->data.sequence.items.top - at->data.sequence.items.start);
	if (at->type == YAML_MAPPING_NODE)
		return (int)(at->data.mapping.pairs.top - at->data.mapping.pairs.start);
	rv_rehearse_yaml_fault(yaml, node, "a list is expected here");
	return 0;
}

int rv_rehearse_yaml_at(struct rv_rehearse_yaml *yaml, int node, int index)
{
	const yaml_node_t *at = find(yaml, node);

	if (!at || at->type == YAML_SCALAR_NODE)
		return 0;
	if (at->type == YAML_SEQUENCE_NODE)
		return at->data.sequence.items.start[index];
	return at->data.mapping.pairs.start[index].value;
}

const char *rv_rehearse_yaml_key(struct rv_rehearse_yaml *yaml, int map, int index)
{
	const char *name = NULL;

	if (is_map(yaml, map))
		name = scalar(find(yaml, find(yaml, map)->data.mapping.pairs.start[index].key));
	return name ? name : "";
}

const char *rv_rehearse_yaml_text(struct rv_rehearse_yaml *yaml, int node)
{
	const char *text = scalar(find(yaml, node));

	if (node && !text)
		rv_rehearse_yaml_fault(yaml, node, "one word or number is expected here");
	return text && yaml->failed == RV_OK ? text : "";
}

void rv_rehearse_yaml_number(struct rv_rehearse_yaml *yaml, int node,
			     enum rv_rehearse_measure measure, double *value)
{
	char number[64];
	const char *text = rv_rehearse_yaml_text(yaml, node);
	size_t digits = strspn(text, "+-.0123456789eE");
	double read = 0;

	if (!node || yaml->failed != RV_OK)
		return;
	const char *name = text + digits + strspn(text + digits, " ");
	const struct unit *unit = measures[measure].units;
	while (unit->name && strcmp(unit->name, name) != 0)
		unit++;
	bool good = unit->name && digits < sizeof number;
	if (good) {
		memcpy(number, text, digits);
		number[digits] = '\0';
		good = rv_text_to_double(number, &read) == RV_OK;
	}
	if (good && measure == RV_REHEARSE_WHOLE)
		good = !(floor(read) < read) && fabs(read) < 1e15;
	if (good)
		*value = read * unit->si;
	else
		rv_rehearse_yaml_fault(yaml, node, "found \"%s\", expected %s", text,
				       measures[measure].allowed);
}

void rv_rehearse_yaml_flag(struct rv_rehearse_yaml *yaml, int node, bool *value)
{
	static const char *const words[] = {"false", "true", NULL};

	if (node && yaml->failed == RV_OK)
		*value = rv_rehearse_yaml_word(yaml, node, words) == 1;
}

int rv_rehearse_yaml_word(struct rv_rehearse_yaml *yaml, int node, const char *const *words)
{
	const char *text = rv_rehearse_yaml_text(yaml, node);

	for (int i = 0; words[i]; i++)
		if (strcmp(words[i], text) == 0)
			return i;
	const char *near = rv_text_nearest(text, words, length_of(words));
	rv_rehearse_yaml_fault(
	    yaml, node, "found \"%s\"%s%s", text,
	    near ? "; nearest word: " : "; allowed, among others: ", near ? near : words[0]);
	return 0;
}
