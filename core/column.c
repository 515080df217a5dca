/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/column.h"

#include <math.h>
#include <stdio.h>

#include "core/card.h"
#include "core/clear.h"

const char rv_column_caution[] =
    "reeve advises; it is no safety device and no load limiter. A loaded line that parts can kill: "
    "stay out of the bight of every redirect and out of the line's plane.";

static const struct {
	struct rv_svg_type type;
	double step;
} styles[] = {
    [RV_COLUMN_PLAIN] = {{14.0, false, RV_SVG_START, NULL}, 19.0},
    [RV_COLUMN_STRONG] = {{15.0, true, RV_SVG_START, NULL}, 22.0},
    [RV_COLUMN_TITLE] = {{20.0, true, RV_SVG_START, NULL}, 26.0},
};

static void put_line(void *context, const char *line)
{
	struct rv_column *column = context;

	column->y += styles[column->style].step;
	if (column->svg)
		rv_svg_words(column->svg, (struct rv_svg_point){column->x, column->y},
			     styles[column->style].type, line);
}

void rv_column_put(struct rv_column *column, enum rv_column_style style, const char *words)
{
	column->style = style;
	(void)rv_svg_wrap(words, styles[style].type, column->w, put_line, column);
}

void rv_column_weakest(struct rv_column *column, const struct rv_plan *plan,
		       enum rv_force_unit unit)
{
	char words[500], limit[40];
	int i = plan->weakest, worst = plan->weakest_worst;

	if (i < 0) {
		rv_column_put(column, RV_COLUMN_STRONG,
			      "No part is rated: nothing can be said of what gives "
			      "first.");
		return;
	}
	rv_card_force(plan->component[i].limit_n, unit, limit, sizeof limit);
	snprintf(words, sizeof words, "First to reach its limit: %s (%s), at %.0f %% of %s.",
		 plan->component[i].name, plan->component[i].kind, 100.0 * plan->use_ratio[i],
		 limit);
	rv_column_put(column, RV_COLUMN_STRONG, words);
	if (worst >= 0 && (worst != i || lround(100.0 * plan->use_worst_ratio[worst]) !=
					     lround(100.0 * plan->use_ratio[i]))) {
		snprintf(words, sizeof words,
			 "At the worst of the declared efficiencies: %s (%s), at %.0f %%.",
			 plan->component[worst].name, plan->component[worst].kind,
			 100.0 * plan->use_worst_ratio[worst]);
		rv_column_put(column, RV_COLUMN_PLAIN, words);
	}
}

void rv_column_not_rated(struct rv_column *column, const struct rv_plan *plan)
{
	struct rv_text words = {0};

	for (int i = 0; i < plan->components; i++)
		if (isnan(plan->component[i].limit_n))
			rv_text_add(&words, "%s%s (%s)",
				    words.len ? ", " : "Not rated, not watched: ",
				    plan->component[i].name, plan->component[i].kind);
	if (words.len) {
		rv_text_add(&words, ".");
		rv_column_put(column, RV_COLUMN_PLAIN, words.data);
	}
	rv_text_free(&words);
}

void rv_column_clear(struct rv_column *column, const struct rv_plan *plan, const char *where)
{
	char words[400];

	if (isnan(plan->clear.keep_m))
		return;
	snprintf(words, sizeof words, "Keep clear by %.0f m while the line is loaded%s. Rule: %s.",
		 ceil(plan->clear.keep_m), where, rv_clear_rule(plan->clear.rule));
	rv_column_put(column, RV_COLUMN_STRONG, words);
}
