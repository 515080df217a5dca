/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Aligned columns on a terminal.  Texts are UTF-8; a column is as wide as its widest text, counted
 * in characters.
 */
#ifndef RV_TOOLS_TABLE_H
#define RV_TOOLS_TABLE_H

#include <stdbool.h>

enum { RV_TABLE_COLUMNS = 8, RV_TABLE_ROWS = 300, RV_TABLE_SIZE = 144 };

struct rv_table;

/* align: a letter for each column, 'l' or 'r' aligned.  NULL when memory was refused. */
struct rv_table *rv_table_new(const char *align);
void rv_table_free(struct rv_table *table);

/* Begins a row; beyond RV_TABLE_ROWS the last one is begun anew. */
void rv_table_row(struct rv_table *table);

/* The next text of the row; what does not fit is cut. */
void rv_table_add(struct rv_table *table, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Prints all rows on stdout, each indented by that many blanks, without blanks at line ends. */
void rv_table_print(const struct rv_table *table, int indent);

#endif
