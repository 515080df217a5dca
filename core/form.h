/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The keys of a YAML map read into the fields of a struct, by a table.
 *
 * One entry per key says what stands there and where it goes.  A key that is not in the table is
 * refused with the nearest one offered; so are a missing key that must be there, a value of the
 * wrong kind, a number outside its limits.  Fields whose key is absent are left as they were.
 */
#ifndef RV_CORE_FORM_H
#define RV_CORE_FORM_H

#include <stddef.h>

#include "core/quantity.h"
#include "core/rig.h"
#include "core/yaml.h"

enum rv_form_kind {
	RV_FORM_TEXT,	/* char[size]: any word of 1 to size - 1 bytes without control characters */
	RV_FORM_AMOUNT, /* double: a quantity of .measure in SI */
	RV_FORM_RANGE,	/* struct rv_range: one quantity or [low, high] */
	RV_FORM_WHOLE,	/* int */
	RV_FORM_WORD,	/* int or enum: index of the word in .words */
	RV_FORM_TRUTH,	/* bool: true or false */
	RV_FORM_NODE,	/* const struct rv_yaml_node *: the caller reads it */
};

enum rv_form_limit {
	RV_FORM_ANY,
	RV_FORM_POSITIVE,	/* > 0, and no less than rv_quantity_least */
	RV_FORM_NOT_NEGATIVE,	/* >= 0 */
	RV_FORM_WITHIN,		/* low <= value <= high */
	RV_FORM_ABOVE_UP_TO,	/* low < value <= high */
};

struct rv_form_key {
	const char *key;
	enum rv_form_kind kind;
	size_t offset;
	bool required;
	size_t size;		   /* TEXT */
	enum rv_measure measure;   /* AMOUNT, RANGE */
	size_t as_mass;		   /* AMOUNT: offset of a bool set when stamped as mass; 0 = none */
	const char *const *words;  /* WORD: ends with NULL */
	int first;		   /* WORD: value of the first word */
	enum rv_form_limit limit;  /* AMOUNT, RANGE, WHOLE */
	double low, high;	   /* WITHIN, ABOVE_UP_TO */
	const char *tag;	   /* of the error when outside; NULL = "value_range" */
};

#define RV_KEY_AMOUNT(name, type, field, in, bound) \
	{.key = name, .kind = RV_FORM_AMOUNT, .offset = offsetof(type, field), .measure = in, \
	 .limit = bound}
#define RV_KEY_RANGE(name, type, field, in, bound) \
	{.key = name, .kind = RV_FORM_RANGE, .offset = offsetof(type, field), .measure = in, \
	 .limit = bound}
#define RV_KEY_STAMPED(name, type, field, flag) \
	{.key = name, .kind = RV_FORM_AMOUNT, .offset = offsetof(type, field), \
	 .measure = RV_MEASURE_STAMPED, .as_mass = offsetof(type, flag), .limit = RV_FORM_POSITIVE}
#define RV_KEY_WHOLE(name, type, field, least, most) \
	{.key = name, .kind = RV_FORM_WHOLE, .offset = offsetof(type, field), \
	 .limit = RV_FORM_WITHIN, .low = least, .high = most}
#define RV_KEY_WORD(name, type, field, list, begin) \
	{.key = name, .kind = RV_FORM_WORD, .offset = offsetof(type, field), .words = list, \
	 .first = begin}
#define RV_KEY_TRUTH(name, type, field) \
	{.key = name, .kind = RV_FORM_TRUTH, .offset = offsetof(type, field)}
#define RV_KEY_TEXT(name, type, field, must) \
	{.key = name, .kind = RV_FORM_TEXT, .offset = offsetof(type, field), \
	 .size = sizeof(((type *)0)->field), .required = must}
#define RV_KEY_NODE(name, type, field, must) \
	{.key = name, .kind = RV_FORM_NODE, .offset = offsetof(type, field), .required = must}

/* Reads a map.  what names it for people ("block corner block").  The error has place and tag. */
enum rv_err rv_form_read(const struct rv_yaml_node *map, const char *what,
			 const struct rv_form_key *keys, size_t count, void *into,
			 struct rv_error *error);

/* Reads one value by one entry of a table, as if it stood under the entry's key. */
enum rv_err rv_form_value(const struct rv_yaml_node *node, const struct rv_form_key *key,
			  void *into, struct rv_error *error);

/* A name that a person gave (the key of an entry): 1 to RV_NAME_SIZE - 1 bytes, no control
 * characters, no blanks at its ends. */
enum rv_err rv_form_name(const struct rv_yaml_node *entry, char *name, struct rv_error *error);

/* The word of a node, or an error that says what is needed instead of a list, a map or nothing. */
enum rv_err rv_form_word(const struct rv_yaml_node *node, const char *needed, const char **word,
			 struct rv_error *error);

/* Checks that a node is a map with 1 to most entries; what in plural ("devices"). */
enum rv_err rv_form_entries(const struct rv_yaml_node *node, const char *what, int most,
			    struct rv_error *error);

/* ", did you mean X?" for the nearest of the words, or "".  Returns buffer. */
const char *rv_form_hint(const char *word, const char *const *words, size_t count, char *buffer,
			 size_t size);

#endif
