/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/plan_word.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { WORD = RV_PLAN_WORD };

const char *rv_plan_word_force(enum rv_force_unit unit, double force_n, char word[WORD])
{
	if (isnan(force_n))
		snprintf(word, WORD, "-");
	else
		snprintf(word, WORD, "%.*f", rv_units_force_places(unit),
			 force_n / rv_units_force_n(unit));
	return word;
}

const char *rv_plan_word_range(enum rv_force_unit unit, struct rv_span span, char word[WORD])
{
	char low[WORD], high[WORD];

	rv_plan_word_force(unit, span.low_n, low);
	rv_plan_word_force(unit, span.high_n, high);
	word[0] = '\0';
	if (strcmp(low, high) != 0)
		snprintf(word, WORD, "%.20s to %.20s", low, high);
	return word;
}

const char *rv_plan_word_ratio(double value, char word[WORD])
{
	snprintf(word, WORD, "%.2f", value);
	size_t len = strlen(word);
	while (len > 1 && word[len - 1] == '0')
		word[--len] = '\0';
	if (word[len - 1] == '.')
		word[--len] = '\0';
	snprintf(word + len, WORD - len, ":1");
	return word;
}

const char *rv_plan_word_percent(double use_ratio, char word[WORD])
{
	if (isnan(use_ratio))
		snprintf(word, WORD, "-");
	else
		snprintf(word, WORD, "%.0f %%", 100.0 * use_ratio);
	return word;
}
