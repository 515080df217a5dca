/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A search of a library as JSON; SI units throughout.
 *
 *	{"resists_n", "winch": {"name", "rated_n"},
 *	 "does": [{"file", "rig", "line_pull_n", "line_pull_high_n", "rated_on_layer_n", "layer",
 *	           "weakest": {"name", "use_ratio"}, "velocity_ratio", "line_needed_m", "line_left_m",
 *	           "keep_clear_m", "blocks", "missing",
 *	           "gear": [{"kind", "name", "at_hand", "sheaves", "carries_n"}],
 *	           "not_rated": [names], "notes": [{"code", "text"}]}],
 *	 "does_not": [{"file", "rig", "code", "text"}]}
 *
 * "does" stands best first; at_hand is the name of what is at hand for a piece, null = to be found.
 */
#ifndef RV_CORE_SUGGEST_JSON_H
#define RV_CORE_SUGGEST_JSON_H

#include "core/json.h"
#include "core/suggest.h"

/* One rig of the library that does, or one that does not. */
json_t *rv_suggest_json_does(const char *file, const struct rv_suggest *reach);
json_t *rv_suggest_json_does_not(const char *file, const char *rig, const char *code,
			       const char *text);

/* The whole; takes both lists over. */
json_t *rv_suggest_json(const struct rv_rig *hand, double resists_n, json_t *does, json_t *does_not);

#endif
