/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A plan as JSON: SI units in the names, null for what has no meaning or is not known.
 */
#ifndef RV_CORE_PLAN_JSON_H
#define RV_CORE_PLAN_JSON_H

#include "core/json.h"
#include "core/plan.h"

enum { RV_PLAN_JSON_CODE = 40 };

/* New reference; NULL when memory was refused. */
json_t *rv_plan_json(const struct rv_plan *plan);

/* {"refused":{"code","text","line","column"}}; code falls back to a word for the kind of error. */
json_t *rv_plan_json_refused(const struct rv_error *error);

/* The code told to people and programs for an error: its tag, else a word for its kind. */
void rv_plan_json_code(const struct rv_error *error, char code[RV_PLAN_JSON_CODE]);

/* Codes are told in capitals: LINE_SLACK. */
void rv_plan_json_capitals(const char *word, char code[RV_PLAN_JSON_CODE]);

#endif
