/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/rehearse_yaml.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/text.h"
#include "core/units.h"

struct rv_rehearse_yaml {
	struct rv_yaml *tree;
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

	if (!made)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory to read the scenario");
	made->error = error;
	enum rv_err err = rv_yaml_new(text, len, &made->tree, error);
	if (err == RV_OK)
		*yaml = made;
	else
		free(made);
	return err;
}

void rv_rehearse_yaml_close(struct rv_rehearse_yaml *yaml)
{
	if (!yaml)
		return;
	rv_yaml_free(yaml->tree);
	free(yaml);
}

enum rv_err rv_rehearse_yaml_failed(const struct rv_rehearse_yaml *yaml)
{
	return yaml->failed;
}

void rv_rehearse_yaml_fault(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node,
			    const char *format, ...)
{
	char text[sizeof yaml->error->text];
	va_list args;

	if (yaml->failed != RV_OK)
		return;
	va_start(args, format);
	vsnprintf(text, sizeof text, format, args);
	va_end(args);
	yaml->failed = rv_err_at(yaml->error, RV_ERR_SYNTAX, node ? node->line : 0,
				 node ? node->column : 0, "%s", text);
}

const struct rv_yaml_node *rv_rehearse_yaml_root(const struct rv_rehearse_yaml *yaml)
{
	return rv_yaml_root(yaml->tree);
}

static bool is_map(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map)
{
	if (!map || yaml->failed != RV_OK)
		return false;
	if (map->kind != RV_YAML_MAP)
		rv_rehearse_yaml_fault(yaml, map, "keys with values are expected here");
	return yaml->failed == RV_OK;
}

static size_t length_of(const char *const *list)
{
	size_t count = 0;

	while (list[count])
		count++;
	return count;
}

/* Says which word was found and which are allowed, the nearest first. */
static void fault_word(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node,
		       const char *word, const char *const *list)
{
	const char *near = rv_text_nearest(word, list, length_of(list));
	struct rv_text allowed = {0};

	for (; *list; list++)
		rv_text_add(&allowed, "%s%s", allowed.len ? ", " : "", *list);
	rv_rehearse_yaml_fault(yaml, node, "found \"%s\"%s%s; allowed here: %s", word,
			       near ? ", did you mean " : "", near ? near : "",
			       allowed.data ? allowed.data : "nothing");
	rv_text_free(&allowed);
}

static int find_word(const char *word, const char *const *list)
{
	for (int i = 0; list[i]; i++)
		if (strcmp(list[i], word) == 0)
			return i;
	return -1;
}

void rv_rehearse_yaml_keys(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map,
			   const char *const *known)
{
	if (!is_map(yaml, map))
		return;
	for (const struct rv_yaml_node *entry = map->first; entry; entry = entry->next) {
		struct rv_yaml_node key = {.line = entry->key_line, .column = entry->key_column};
		if (find_word(entry->key, known) < 0)
			fault_word(yaml, &key, entry->key, known);
	}
}

const struct rv_yaml_node *rv_rehearse_yaml_get(struct rv_rehearse_yaml *yaml,
						const struct rv_yaml_node *map, const char *key)
{
	return is_map(yaml, map) ? rv_yaml_get(map, key) : NULL;
}

const struct rv_yaml_node *rv_rehearse_yaml_need(struct rv_rehearse_yaml *yaml,
						 const struct rv_yaml_node *map, const char *key)
{
	const struct rv_yaml_node *value = rv_rehearse_yaml_get(yaml, map, key);

	if (!value)
		rv_rehearse_yaml_fault(yaml, map, "\"%s\" is missing here", key);
	return value;
}

int rv_rehearse_yaml_count(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node)
{
	if (!node || yaml->failed != RV_OK)
		return 0;
	if (node->kind == RV_YAML_WORD)
		rv_rehearse_yaml_fault(yaml, node, "a list is expected here");
	return node->count;
}

const struct rv_yaml_node *rv_rehearse_yaml_at(const struct rv_yaml_node *node, int index)
{
	const struct rv_yaml_node *entry = node->first;

	while (index-- > 0)
		entry = entry->next;
	return entry;
}

const char *rv_rehearse_yaml_text(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node)
{
	if (node && node->kind != RV_YAML_WORD)
		rv_rehearse_yaml_fault(yaml, node, "one word or number is expected here");
	return node && node->text && yaml->failed == RV_OK ? node->text : "";
}

void rv_rehearse_yaml_number(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node,
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

void rv_rehearse_yaml_flag(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node,
			   bool *value)
{
	static const char *const words[] = {"false", "true", NULL};

	if (node && yaml->failed == RV_OK)
		*value = rv_rehearse_yaml_word(yaml, node, words) == 1;
}

int rv_rehearse_yaml_word(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node,
			  const char *const *words)
{
	const char *text = rv_rehearse_yaml_text(yaml, node);
	int index = find_word(text, words);

	if (index < 0)
		fault_word(yaml, node, text, words);
	return index < 0 ? 0 : index;
}
