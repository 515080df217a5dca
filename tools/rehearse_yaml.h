/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reads what a scenario file says, strictly: unknown or doubled keys, bad numbers and missing
 * units are refused with line and column.
 *
 * The first fault sticks: after it every call does nothing, so a reader may take all its keys in
 * a row and look at rv_rehearse_yaml_failed once.  A node that is not there is NULL.
 */
#ifndef RV_TOOLS_REHEARSE_YAML_H
#define RV_TOOLS_REHEARSE_YAML_H

#include <stdbool.h>
#include <stddef.h>

#include "core/err.h"
#include "core/yaml.h"

struct rv_rehearse_yaml;

/* What a number is, and so which units it may carry. */
enum rv_rehearse_measure {
	RV_REHEARSE_PLAIN,
	RV_REHEARSE_WHOLE,  /* a whole number */
	RV_REHEARSE_RATIO,  /* "2 %", or plain */
	RV_REHEARSE_LENGTH, /* m when plain; m mm */
	RV_REHEARSE_TIME,   /* always with a unit: s ms min */
	RV_REHEARSE_FORCE,  /* always with a unit: N daN kN kgf tf lbf */
	RV_REHEARSE_MASS,   /* always with a unit: kg t */
	RV_REHEARSE_SPEED,  /* m/s when plain */
	RV_REHEARSE_SLOPE,  /* N/m, kN/m */
};

enum rv_err rv_rehearse_yaml_open(const char *text, size_t len, struct rv_rehearse_yaml **yaml,
				  struct rv_error *error);
void rv_rehearse_yaml_close(struct rv_rehearse_yaml *yaml);

/* The first fault, or RV_OK. */
enum rv_err rv_rehearse_yaml_failed(const struct rv_rehearse_yaml *yaml);

/* Puts a fault at a node. */
void rv_rehearse_yaml_fault(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

const struct rv_yaml_node *rv_rehearse_yaml_root(const struct rv_rehearse_yaml *yaml);

/* The map may hold these keys, each once.  List ends with NULL. */
void rv_rehearse_yaml_keys(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map, const char *const *known);

const struct rv_yaml_node *rv_rehearse_yaml_get(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map, const char *key);
const struct rv_yaml_node *rv_rehearse_yaml_need(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *map, const char *key);

/* Entries of a list or map, and entry i. */
int rv_rehearse_yaml_count(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node);
const struct rv_yaml_node *rv_rehearse_yaml_at(const struct rv_yaml_node *node, int index);

/* The text of a scalar; "" after a fault. */
const char *rv_rehearse_yaml_text(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node);

/* A number in SI.  Sets *value only when the node is there and good. */
void rv_rehearse_yaml_number(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node,
			     enum rv_rehearse_measure measure, double *value);

/* true or false. */
void rv_rehearse_yaml_flag(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node, bool *value);

/* Index of the scalar in a list of words that ends with NULL; a fault otherwise. */
int rv_rehearse_yaml_word(struct rv_rehearse_yaml *yaml, const struct rv_yaml_node *node, const char *const *words);

#endif
