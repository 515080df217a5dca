/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/yaml.h"

#include <assert.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <yaml.h>

#undef rv_yaml_refuse
#undef rv_yaml_refuse_key

/* One piece of memory of the tree; all are released together. */
struct made {
	struct made *before;
	struct rv_yaml_node node;
	struct rv_yaml_node *last; /* entry, while the tree grows */
	char bytes[];		   /* text or key */
};

struct rv_yaml {
	struct made *made;
	const struct rv_yaml_node *root;
	int nodes;
};

/* What is being read. */
struct reading {
	struct rv_yaml *yaml;
	struct made *open[RV_YAML_DEPTH]; /* lists and maps that have not ended */
	int depth;
	struct made *key; /* a key that waits for its value */
	struct rv_error *error;
};

static enum rv_err refuse(struct rv_error *error, enum rv_err code, const char *tag, int line,
			  int column, const char *text)
{
	enum rv_err err = rv_err_at(error, code, line, column, "%s", text);

	if (error)
		snprintf(error->tag, sizeof error->tag, "%s", tag);
	return err;
}

enum rv_err rv_yaml_refuse(struct rv_error *error, const struct rv_yaml_node *node,
			   enum rv_err code, const char *tag, const char *format, ...)
{
	char text[sizeof error->text];
	va_list args;

	va_start(args, format);
	vsnprintf(text, sizeof text, format, args);
	va_end(args);
	return refuse(error, code, tag, node->line, node->column, text);
}

enum rv_err rv_yaml_refuse_key(struct rv_error *error, const struct rv_yaml_node *node,
			       enum rv_err code, const char *tag, const char *format, ...)
{
	char text[sizeof error->text];
	va_list args;

	va_start(args, format);
	vsnprintf(text, sizeof text, format, args);
	va_end(args);
	if (!node->key)
		return refuse(error, code, tag, node->line, node->column, text);
	return refuse(error, code, tag, node->key_line, node->key_column, text);
}

static enum rv_err refuse_mark(struct reading *r, enum rv_err code, const char *tag,
			       yaml_mark_t mark, const char *text)
{
	return refuse(r->error, code, tag, (int)mark.line + 1, (int)mark.column + 1, text);
}

static struct made *make(struct reading *r, yaml_mark_t mark, const char *text, size_t len)
{
	struct made *made = calloc(1, sizeof *made + len + 1);

	if (!made)
		return NULL;
	made->before = r->yaml->made;
	r->yaml->made = made;
	r->yaml->nodes++;
	if (text)
		memcpy(made->bytes, text, len);
	made->node.line = (int)mark.line + 1;
	made->node.column = (int)mark.column + 1;
	return made;
}

/* Puts a finished or opened value where it belongs. */
static void place(struct reading *r, struct made *value)
{
	if (r->depth == 0) {
		r->yaml->root = &value->node;
		return;
	}
	struct made *parent = r->open[r->depth - 1];
	if (r->key) {
		value->node.key = r->key->bytes;
		value->node.key_line = r->key->node.line;
		value->node.key_column = r->key->node.column;
		r->key = NULL;
	}
	if (parent->last)
		parent->last->next = &value->node;
	else
		parent->node.first = &value->node;
	parent->last = &value->node;
	parent->node.count++;
}

static bool wants_key(const struct reading *r)
{
	return r->depth > 0 && r->open[r->depth - 1]->node.kind == RV_YAML_MAP && !r->key;
}

static enum rv_err take_key(struct reading *r, const yaml_event_t *event, struct made *key)
{
	const struct rv_yaml_node *twin = rv_yaml_get(&r->open[r->depth - 1]->node, key->bytes);
	char text[sizeof r->error->text];

	if (twin) {
		snprintf(text, sizeof text,
			 "key \"%.100s\" stands twice, first in line %d; once is allowed",
			 key->bytes, twin->key_line);
		return refuse_mark(r, RV_ERR_SYNTAX, "key_twice", event->start_mark, text);
	}
	r->key = key;
	return RV_OK;
}

static enum rv_err take_word(struct reading *r, const yaml_event_t *event)
{
	const char *text = (const char *)event->data.scalar.value;
	size_t len = event->data.scalar.length;

	if (event->data.scalar.anchor || event->data.scalar.tag)
		return refuse_mark(r, RV_ERR_SYNTAX, "yaml_feature", event->start_mark,
				   "an anchor (&) or tag (!) stands here; write the value itself");
	if (strlen(text) != len)
		return refuse_mark(r, RV_ERR_SYNTAX, "syntax", event->start_mark,
				   "a zero byte stands in this word; only text is allowed");
	struct made *word = make(r, event->start_mark, text, len);
	if (!word)
		return rv_err_set(r->error, RV_ERR_NOMEM, "no memory left while reading");
	word->node.kind = RV_YAML_WORD;
	word->node.text = word->bytes;
	word->node.quoted = event->data.scalar.style != YAML_PLAIN_SCALAR_STYLE;
	if (wants_key(r))
		return take_key(r, event, word);
	place(r, word);
	return RV_OK;
}

static enum rv_err take_start(struct reading *r, const yaml_event_t *event, enum rv_yaml_kind kind)
{
	bool marked = kind == RV_YAML_MAP
			  ? event->data.mapping_start.anchor || event->data.mapping_start.tag
			  : event->data.sequence_start.anchor || event->data.sequence_start.tag;

	if (marked)
		return refuse_mark(r, RV_ERR_SYNTAX, "yaml_feature", event->start_mark,
				   "an anchor (&) or tag (!) stands here; write the value itself");
	if (wants_key(r))
		return refuse_mark(r, RV_ERR_SYNTAX, "syntax", event->start_mark,
				   "a list or map stands where a key is needed; keys are words");
	if (r->depth == RV_YAML_DEPTH)
		return refuse_mark(r, RV_ERR_RANGE, "too_deep", event->start_mark,
				   "nested more than 12 deep");
	struct made *made = make(r, event->start_mark, NULL, 0);
	if (!made)
		return rv_err_set(r->error, RV_ERR_NOMEM, "no memory left while reading");
	made->node.kind = kind;
	place(r, made);
	r->open[r->depth++] = made;
	return RV_OK;
}

static enum rv_err take(struct reading *r, const yaml_event_t *event)
{
	if (r->yaml->nodes > RV_YAML_NODES)
		return refuse_mark(r, RV_ERR_RANGE, "too_many", event->start_mark,
				   "more than 20000 words stand before this place");
	switch (event->type) {
	case YAML_SCALAR_EVENT:
		return take_word(r, event);
	case YAML_SEQUENCE_START_EVENT:
		return take_start(r, event, RV_YAML_LIST);
	case YAML_MAPPING_START_EVENT:
		return take_start(r, event, RV_YAML_MAP);
	case YAML_SEQUENCE_END_EVENT:
	case YAML_MAPPING_END_EVENT:
		assert(r->depth > 0); /* the parser ends only what it began */
		r->depth--;
		return RV_OK;
	case YAML_ALIAS_EVENT:
		return refuse_mark(r, RV_ERR_SYNTAX, "yaml_feature", event->start_mark,
				   "an alias (*) stands here; write the value itself");
	case YAML_DOCUMENT_START_EVENT:
		if (r->yaml->root)
			return refuse_mark(r, RV_ERR_SYNTAX, "syntax", event->start_mark,
					   "a second document begins here; a file holds one");
		return RV_OK;
	case YAML_NO_EVENT:
	case YAML_STREAM_START_EVENT:
	case YAML_STREAM_END_EVENT:
	case YAML_DOCUMENT_END_EVENT:
		break;
	}
	return RV_OK;
}

/* The place of a byte, for faults that libyaml tells by offset only. */
static yaml_mark_t mark_of(const char *text, size_t len, size_t offset)
{
	yaml_mark_t mark = {.index = offset};

	for (size_t i = 0; i < offset && i < len; i++) {
		if (text[i] == '\n') {
			mark.line++;
			mark.column = 0;
		} else if ((text[i] & 0xc0) != 0x80) {
			mark.column++;
		}
	}
	return mark;
}

/* True if the indentation of this line (from 0) holds a tab. */
static bool is_tabbed(const char *text, size_t len, size_t line)
{
	size_t i = 0;

	for (; i < len && line > 0; i++)
		line -= text[i] == '\n';
	for (; i < len && (text[i] == ' ' || text[i] == '\t'); i++)
		if (text[i] == '\t')
			return true;
	return false;
}

static enum rv_err refuse_parser(struct reading *r, const yaml_parser_t *parser, const char *text,
				 size_t len)
{
	yaml_mark_t mark = parser->problem_mark;
	char what[sizeof r->error->text];

	if (parser->error == YAML_MEMORY_ERROR)
		return rv_err_set(r->error, RV_ERR_NOMEM, "no memory left while reading");
	if (parser->error == YAML_READER_ERROR) {
		mark = mark_of(text, len, parser->problem_offset);
		snprintf(what, sizeof what, "this is not plain UTF-8 text: %s", parser->problem);
	} else if (is_tabbed(text, len, mark.line)) {
		snprintf(what, sizeof what, "a tab stands here; indent with blanks");
	} else {
		snprintf(what, sizeof what, "this is not YAML: %s%s%s", parser->problem,
			 parser->context ? " " : "", parser->context ? parser->context : "");
	}
	return refuse_mark(r, RV_ERR_SYNTAX, "syntax", mark, what);
}

static enum rv_err read_all(struct reading *r, yaml_parser_t *parser, const char *text, size_t len)
{
	enum rv_err err = RV_OK;
	bool is_over = false;

	while (err == RV_OK && !is_over) {
		yaml_event_t event;
		if (!yaml_parser_parse(parser, &event))
			return refuse_parser(r, parser, text, len);
		is_over = event.type == YAML_STREAM_END_EVENT;
		err = take(r, &event);
		yaml_event_delete(&event);
	}
	if (err == RV_OK && !r->yaml->root)
		return refuse(r->error, RV_ERR_MISSING, "empty", 1, 1,
			      "the file is empty; a map of keys is needed");
	return err;
}

enum rv_err rv_yaml_new(const char *text, size_t len, struct rv_yaml **yaml, struct rv_error *error)
{
	yaml_parser_t parser;
	struct reading r = {.error = error};

	if (len > RV_YAML_BYTES)
		return refuse(error, RV_ERR_RANGE, "too_long", 1, 1,
			      "the file is longer than 1 MiB");
	const char *zero = memchr(text, '\0', len);
	if (zero) {
		yaml_mark_t mark = mark_of(text, len, (size_t)(zero - text));
		return refuse_mark(&r, RV_ERR_SYNTAX, "syntax", mark,
				   "a zero byte stands here; only text is allowed");
	}
	r.yaml = calloc(1, sizeof *r.yaml);
	if (!r.yaml || !yaml_parser_initialize(&parser)) {
		free(r.yaml);
		return rv_err_set(error, RV_ERR_NOMEM, "no memory left while reading");
	}
	yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
	yaml_parser_set_input_string(&parser, (const unsigned char *)text, len);
	enum rv_err err = read_all(&r, &parser, text, len);
	yaml_parser_delete(&parser);
	if (err != RV_OK) {
		rv_yaml_free(r.yaml);
		return err;
	}
	*yaml = r.yaml;
	return RV_OK;
}

void rv_yaml_free(struct rv_yaml *yaml)
{
	if (!yaml)
		return;
	while (yaml->made) {
		struct made *before = yaml->made->before;
		free(yaml->made);
		yaml->made = before;
	}
	free(yaml);
}

const struct rv_yaml_node *rv_yaml_root(const struct rv_yaml *yaml)
{
	return yaml->root;
}

const struct rv_yaml_node *rv_yaml_get(const struct rv_yaml_node *map, const char *key)
{
	if (map->kind != RV_YAML_MAP)
		return NULL;
	for (const struct rv_yaml_node *entry = map->first; entry; entry = entry->next)
		if (strcmp(entry->key, key) == 0)
			return entry;
	return NULL;
}

bool rv_yaml_is_blank(const struct rv_yaml_node *node)
{
	if (node->kind != RV_YAML_WORD || node->quoted)
		return false;
	return node->text[0] == '\0' || strcmp(node->text, "~") == 0 ||
	       strcmp(node->text, "null") == 0;
}
