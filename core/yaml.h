/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A YAML text in memory as a tree whose every node knows its line and column.
 *
 * Thin layer over libyaml's events.  Taken: one document of maps, lists and words.  Refused with
 * the place: a key named twice, a key that is no word, anchors, aliases, tags, a second document,
 * texts above RV_YAML_BYTES, and trees deeper than RV_YAML_DEPTH or larger than RV_YAML_NODES.
 * Words are never guessed into numbers or truths here.
 */
#ifndef RV_CORE_YAML_H
#define RV_CORE_YAML_H

#include <stddef.h>

#include "core/err.h"

enum { RV_YAML_BYTES = 1 << 20, RV_YAML_DEPTH = 12, RV_YAML_NODES = 20000 };

enum rv_yaml_kind { RV_YAML_WORD, RV_YAML_LIST, RV_YAML_MAP };

/* Lines and columns count from 1; columns count characters. */
struct rv_yaml_node {
	enum rv_yaml_kind kind;
	int line, column;	  /* where the value begins */
	bool quoted;		  /* a word in quotes or a block of text: never empty by omission */
	const char *text;	  /* of a word, UTF-8, zero-terminated; NULL otherwise */
	const char *key;	  /* in a map: the key of this entry; NULL otherwise */
	int key_line, key_column; /* where the key begins */
	int count;		  /* entries of a list or map */
	const struct rv_yaml_node *first; /* entry */
	const struct rv_yaml_node *next;  /* in the same list or map */
};

struct rv_yaml;

/* Reads len bytes (UTF-8).  Release with rv_yaml_free.  RV_ERR_SYNTAX, RV_ERR_RANGE, RV_ERR_NOMEM;
 * the error has a place and a tag. */
enum rv_err rv_yaml_new(const char *text, size_t len, struct rv_yaml **yaml,
			struct rv_error *error);
void rv_yaml_free(struct rv_yaml *yaml);

/* Lives as long as the tree. */
const struct rv_yaml_node *rv_yaml_root(const struct rv_yaml *yaml);

/* The entry of a map with that key, or NULL. */
const struct rv_yaml_node *rv_yaml_get(const struct rv_yaml_node *map, const char *key);

/* A word that says nothing: empty, ~ or null without quotes. */
bool rv_yaml_is_blank(const struct rv_yaml_node *node);

/* Fills *error (if there is one) for the place of a node's value, and returns code. */
enum rv_err rv_yaml_refuse(struct rv_error *error, const struct rv_yaml_node *node,
			   enum rv_err code, const char *tag, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

/* The same for the place of its key. */
enum rv_err rv_yaml_refuse_key(struct rv_error *error, const struct rv_yaml_node *node,
			       enum rv_err code, const char *tag, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

#ifdef __clang_analyzer__ /* as in core/err.h */
#define rv_yaml_refuse(error, node, code, ...) \
	((void)rv_yaml_refuse(error, node, code, __VA_ARGS__), code)
#define rv_yaml_refuse_key(error, node, code, ...) \
	((void)rv_yaml_refuse_key(error, node, code, __VA_ARGS__), code)
#endif

#endif
