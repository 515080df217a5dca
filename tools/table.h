/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Aligned columns on a terminal.  Widths are counted in letters of UTF-8, so that a degree sign does
 * not shift a line.
 */
#ifndef RV_TOOLS_TABLE_H
#define RV_TOOLS_TABLE_H

#include <stdio.h>

#include "core/text.h"

enum { RV_TABLE_COLUMNS = 12 };

struct rv_table {
	int columns;
	bool right[RV_TABLE_COLUMNS]; /* numbers: to the right */
	int width[RV_TABLE_COLUMNS];
	struct rv_text cells; /* each closed by a zero byte */
	size_t count;
};

/* heads: the heading of each column, separated by '|'; one that begins with '>' is set to the
 * right. */
void rv_table_init(struct rv_table *table, const char *heads);

/* The next cell of the row under way. */
void rv_table_add(struct rv_table *table, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Folds what is widest of the columns set to the left until a row takes no more than so many letters;
 * none gets narrower than a part's name or a range takes, so a row may stay wider. */
void rv_table_fit(struct rv_table *table, int letters);

/* All rows, each indented by that many blanks. */
void rv_table_print(const struct rv_table *table, int indent, FILE *to);
void rv_table_free(struct rv_table *table);

#endif
