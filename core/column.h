/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A column of text in a picture, and the sentences that every picture of a plan carries.
 */
#ifndef RV_CORE_COLUMN_H
#define RV_CORE_COLUMN_H

#include "core/plan_result.h"
#include "core/svg.h"
#include "core/units.h"

enum rv_column_style { RV_COLUMN_PLAIN, RV_COLUMN_STRONG, RV_COLUMN_TITLE };

struct rv_column {
	struct rv_text *svg; /* NULL = only measured */
	double x, y, w;	     /* y: where the column ends so far */
	enum rv_column_style style; /* of the line being put */
};

/* As many lines as the words need. */
void rv_column_put(struct rv_column *column, enum rv_column_style style, const char *words);

void rv_column_weakest(struct rv_column *column, const struct rv_plan *plan,
		       enum rv_force_unit unit);
void rv_column_not_rated(struct rv_column *column, const struct rv_plan *plan);

/* How far to stay clear; where: words that follow, such as where it is drawn. */
void rv_column_clear(struct rv_column *column, const struct rv_plan *plan, const char *where);

extern const char rv_column_caution[];

#endif
