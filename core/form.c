/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/form.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "core/text.h"

enum { KEYS = 64, LISTED = 300 };

const char *rv_form_hint(const char *word, const char *const *words, size_t count, char *buffer,
			 size_t size)
{
	const char *near = rv_text_nearest(word, words, count);

	buffer[0] = '\0';
	if (near)
		snprintf(buffer, size, ", did you mean %s?", near);
	return buffer;
}

/* "a, b, c" cut at the buffer's end. */
static const char *list_words(const char *const *words, size_t count, char *buffer, size_t size)
{
	size_t len = 0;

	buffer[0] = '\0';
	for (size_t i = 0; i < count && len + 1 < size; i++) {
		int added = snprintf(buffer + len, size - len, "%s%s", i ? ", " : "", words[i]);
		len += added > 0 ? (size_t)added : 0;
	}
	return buffer;
}

static size_t words_count(const char *const *words)
{
	size_t count = 0;

	while (words[count])
		count++;
	return count;
}

static const char *kind_name(const struct rv_yaml_node *node)
{
	static const char *const names[] = {"a word", "a list", "a map"};

	return rv_yaml_is_blank(node) ? "nothing" : names[node->kind];
}

enum rv_err rv_form_word(const struct rv_yaml_node *node, const char *needed, const char **word,
			 struct rv_error *error)
{
	if (node->kind != RV_YAML_WORD || rv_yaml_is_blank(node))
		return rv_yaml_refuse(error, node, RV_ERR_SYNTAX, "value_kind",
				      "%s%s%s%s stands here; %s is needed",
				      node->key ? "at \"" : "", node->key ? node->key : "",
				      node->key ? "\" " : "", kind_name(node), needed);
	*word = node->text;
	return RV_OK;
}

static bool is_plain(const char *text)
{
	for (const unsigned char *c = (const unsigned char *)text; *c; c++)
		if (*c < 0x20 || *c == 0x7f)
			return false;
	return true;
}

enum rv_err rv_form_name(const struct rv_yaml_node *entry, char *name, struct rv_error *error)
{
	size_t len = strlen(entry->key);

	if (len == 0 || len >= RV_NAME_SIZE || !is_plain(entry->key) || entry->key[0] == ' ' ||
	    entry->key[len - 1] == ' ')
		return rv_yaml_refuse_key(
		    error, entry, RV_ERR_RANGE, "name_form",
		    "\"%.80s\" cannot be a name; a name has 1 to %d bytes, no "
		    "control characters and no blanks at its ends",
		    entry->key, RV_NAME_SIZE - 1);
	memcpy(name, entry->key, len + 1);
	return RV_OK;
}

enum rv_err rv_form_entries(const struct rv_yaml_node *node, const char *what, int most,
			    struct rv_error *error)
{
	if (node->kind != RV_YAML_MAP)
		return rv_yaml_refuse(error, node, RV_ERR_SYNTAX, "value_kind",
				      "%s stands here; %s are a map of names", kind_name(node),
				      what);
	if (node->count <= most)
		return RV_OK;
	const struct rv_yaml_node *entry = node->first;
	for (int i = 0; i < most; i++)
		entry = entry->next;
	return rv_yaml_refuse_key(error, entry, RV_ERR_RANGE, "too_many",
				  "%d %s are declared; at most %d are allowed", node->count, what,
				  most);
}

static enum rv_err read_text(const struct rv_yaml_node *node, const struct rv_form_key *key,
			     char *into, struct rv_error *error)
{
	const char *word;
	enum rv_err err = rv_form_word(node, "a text", &word, error);

	if (err != RV_OK)
		return err;
	if (!is_plain(word) || rv_text_copy(into, key->size, word) != RV_OK)
		return rv_yaml_refuse(error, node, RV_ERR_RANGE, "value_range",
				      "\"%s\" has %zu bytes; 1 to %zu without control characters "
				      "are allowed",
				      key->key, strlen(word), key->size - 1);
	return RV_OK;
}

static bool is_too_small(const struct rv_form_key *key, double value)
{
	return value > 0.0 && value < rv_quantity_least(key->measure);
}

static bool is_within(const struct rv_form_key *key, double value)
{
	switch (key->limit) {
	case RV_FORM_ANY:
		return true;
	case RV_FORM_POSITIVE:
		return value > 0.0 && !is_too_small(key, value);
	case RV_FORM_NOT_NEGATIVE:
		return value >= 0.0;
	case RV_FORM_WITHIN:
		return value >= key->low && value <= key->high;
	case RV_FORM_ABOVE_UP_TO:
		return value > key->low && value <= key->high && !is_too_small(key, value);
	}
	return false;
}

static enum rv_err check_limit(const struct rv_yaml_node *node, const struct rv_form_key *key,
			       double value, struct rv_error *error)
{
	char allowed[80] = "";

	if (is_within(key, value))
		return RV_OK;
	if ((key->limit == RV_FORM_POSITIVE || key->limit == RV_FORM_ABOVE_UP_TO) &&
	    is_too_small(key, value))
		snprintf(allowed, sizeof allowed, "from %.6g%s up", rv_quantity_least(key->measure),
			 rv_quantity_si(key->measure));
	else if (key->limit == RV_FORM_POSITIVE)
		snprintf(allowed, sizeof allowed, "above 0");
	else if (key->limit == RV_FORM_NOT_NEGATIVE)
		snprintf(allowed, sizeof allowed, "0 or above");
	else if (key->limit == RV_FORM_WITHIN)
		snprintf(allowed, sizeof allowed, "%.6g to %.6g%s", key->low, key->high,
			 rv_quantity_si(key->measure));
	else
		snprintf(allowed, sizeof allowed, "above %.6g, up to %.6g%s", key->low, key->high,
			 rv_quantity_si(key->measure));
	return rv_yaml_refuse(error, node, RV_ERR_RANGE, key->tag ? key->tag : "value_range",
			      "%s is %.60s; allowed: %s", key->key, node->text, allowed);
}

static enum rv_err read_amount(const struct rv_yaml_node *node, const struct rv_form_key *key,
			       struct rv_amount *amount, struct rv_error *error)
{
	const char *word;
	struct rv_error told = {0};
	enum rv_err err = rv_form_word(node, "a number", &word, error);

	if (err != RV_OK)
		return err;
	err = rv_quantity_read(word, key->measure, amount, &told);
	if (err != RV_OK)
		return rv_yaml_refuse(error, node, err, told.tag, "%s: %s", key->key, told.text);
	return check_limit(node, key, amount->value, error);
}

static enum rv_err read_range(const struct rv_yaml_node *node, const struct rv_form_key *key,
			      struct rv_range *range, struct rv_error *error)
{
	struct rv_amount low, high;
	bool is_pair = node->kind == RV_YAML_LIST;

	if (is_pair && node->count != 2)
		return rv_yaml_refuse(error, node, RV_ERR_SYNTAX, "value_kind",
				      "%s is a list of %d; one value or [low, high] is needed",
				      key->key, node->count);
	enum rv_err err = read_amount(is_pair ? node->first : node, key, &low, error);
	if (err != RV_OK)
		return err;
	high = low;
	if (is_pair)
		err = read_amount(node->first->next, key, &high, error);
	if (err != RV_OK)
		return err;
	if (low.value > high.value)
		return rv_yaml_refuse(error, node, RV_ERR_RANGE, "range_order",
				      "%s begins with the larger value; write [low, high]",
				      key->key);
	*range = (struct rv_range){low.value, 0.5 * (low.value + high.value), high.value};
	return RV_OK;
}

static enum rv_err read_whole(const struct rv_yaml_node *node, const struct rv_form_key *key,
			      int *into, struct rv_error *error)
{
	const char *word;
	int64_t value = 0;
	enum rv_err err = rv_form_word(node, "a whole number", &word, error);

	if (err != RV_OK)
		return err;
	if (rv_text_to_int64(word, &value) != RV_OK || value < INT_MIN || value > INT_MAX)
		return rv_yaml_refuse(error, node, RV_ERR_SYNTAX, "number",
				      "%s: \"%.60s\" is no whole number", key->key, word);
	err = check_limit(node, key, (double)value, error);
	if (err != RV_OK)
		return err;
	*into = (int)value;
	return RV_OK;
}

static enum rv_err read_choice(const struct rv_yaml_node *node, const struct rv_form_key *key,
			       int *into, struct rv_error *error)
{
	size_t count = words_count(key->words);
	const char *word;
	char list[LISTED], hint[RV_NAME_SIZE + 32];
	enum rv_err err = rv_form_word(node, "a word", &word, error);

	if (err != RV_OK)
		return err;
	for (size_t i = 0; i < count; i++)
		if (strcmp(word, key->words[i]) == 0) {
			*into = key->first + (int)i;
			return RV_OK;
		}
	return rv_yaml_refuse(
	    error, node, RV_ERR_UNKNOWN, "word_unknown", "%s is \"%.60s\"%s allowed: %s", key->key,
	    word, *rv_form_hint(word, key->words, count, hint, sizeof hint) ? hint : ";",
	    list_words(key->words, count, list, sizeof list));
}

static enum rv_err read_truth(const struct rv_yaml_node *node, const struct rv_form_key *key,
			      bool *into, struct rv_error *error)
{
	const char *word;
	enum rv_err err = rv_form_word(node, "true or false", &word, error);

	if (err != RV_OK)
		return err;
	bool is_true = strcmp(word, "true") == 0;
	if (!is_true && strcmp(word, "false") != 0)
		return rv_yaml_refuse(error, node, RV_ERR_UNKNOWN, "word_unknown",
				      "%s is \"%.60s\"; allowed: true, false", key->key, word);
	*into = is_true;
	return RV_OK;
}

enum rv_err rv_form_value(const struct rv_yaml_node *node, const struct rv_form_key *key,
			  void *into, struct rv_error *error)
{
	void *field = (char *)into + key->offset;
	struct rv_amount amount;
	enum rv_err err;

	switch (key->kind) {
	case RV_FORM_TEXT:
		return read_text(node, key, field, error);
	case RV_FORM_AMOUNT:
		err = read_amount(node, key, &amount, error);
		if (err == RV_OK) {
			*(double *)field = amount.value;
			if (key->as_mass && amount.as_mass)
				*((bool *)((char *)into + key->as_mass)) = true;
		}
		return err;
	case RV_FORM_RANGE:
		return read_range(node, key, field, error);
	case RV_FORM_WHOLE:
		return read_whole(node, key, field, error);
	case RV_FORM_WORD:
		return read_choice(node, key, field, error);
	case RV_FORM_TRUTH:
		return read_truth(node, key, field, error);
	case RV_FORM_NODE:
		if (rv_yaml_is_blank(node))
			return rv_yaml_refuse(error, node, RV_ERR_MISSING, "value_kind",
					      "nothing stands at \"%s\"", key->key);
		*(const struct rv_yaml_node **)field = node;
		return RV_OK;
	}
	return RV_ERR_SYNTAX;
}

static enum rv_err refuse_key(const struct rv_yaml_node *entry, const char *what,
			      const struct rv_form_key *keys, size_t count, struct rv_error *error)
{
	const char *words[KEYS];
	char list[LISTED], hint[RV_NAME_SIZE + 32];

	for (size_t i = 0; i < count && i < KEYS; i++)
		words[i] = keys[i].key;
	return rv_yaml_refuse_key(error, entry, RV_ERR_UNKNOWN, "key_unknown",
				  "%s has no key \"%.60s\"%s allowed: %s", what, entry->key,
				  *rv_form_hint(entry->key, words, count, hint, sizeof hint) ? hint
											     : ";",
				  list_words(words, count, list, sizeof list));
}

enum rv_err rv_form_read(const struct rv_yaml_node *map, const char *what,
			 const struct rv_form_key *keys, size_t count, void *into,
			 struct rv_error *error)
{
	if (map->kind != RV_YAML_MAP)
		return rv_yaml_refuse(error, map, RV_ERR_SYNTAX, "value_kind",
				      "%s is %s; a map of keys is needed", what, kind_name(map));
	for (const struct rv_yaml_node *entry = map->first; entry; entry = entry->next) {
		size_t i = 0;
		while (i < count && strcmp(entry->key, keys[i].key) != 0)
			i++;
		if (i == count)
			return refuse_key(entry, what, keys, count, error);
		enum rv_err err = rv_form_value(entry, &keys[i], into, error);
		if (err != RV_OK)
			return err;
	}
	for (size_t i = 0; i < count; i++)
		if (keys[i].required && !rv_yaml_get(map, keys[i].key))
			return rv_yaml_refuse_key(error, map, RV_ERR_MISSING, "key_missing",
						  "%s lacks \"%s\"", what, keys[i].key);
	return RV_OK;
}
