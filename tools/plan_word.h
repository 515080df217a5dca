/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Single figures of a plan as people read them.  Each is written into word and returned.
 */
#ifndef RV_TOOLS_PLAN_WORD_H
#define RV_TOOLS_PLAN_WORD_H

#include "core/plan_result.h"
#include "core/units.h"

enum { RV_PLAN_WORD = 48 };

/* A force without its unit: columns name it in their head.  "-" for NaN. */
const char *rv_plan_word_force(enum rv_force_unit unit, double force_n, char word[RV_PLAN_WORD]);

/* "23.35 to 23.84", or nothing when both print the same. */
const char *rv_plan_word_range(enum rv_force_unit unit, struct rv_span span,
			       char word[RV_PLAN_WORD]);

/* "4.52:1", without needless zeros. */
const char *rv_plan_word_ratio(double value, char word[RV_PLAN_WORD]);

/* "85 %"; "-" for NaN. */
const char *rv_plan_word_percent(double use_ratio, char word[RV_PLAN_WORD]);

#endif
