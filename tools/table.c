/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/table.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { GAP = 2 };

struct rv_table {
	char align[RV_TABLE_COLUMNS + 1];
	int rows;
	int used[RV_TABLE_ROWS];
	char text[RV_TABLE_ROWS][RV_TABLE_COLUMNS][RV_TABLE_SIZE];
};

struct rv_table *rv_table_new(const char *align)
{
	struct rv_table *table = calloc(1, sizeof *table);

	if (table)
		snprintf(table->align, sizeof table->align, "%s", align);
	return table;
}

void rv_table_free(struct rv_table *table)
{
	free(table);
}

void rv_table_row(struct rv_table *table)
{
	if (table->rows < RV_TABLE_ROWS)
		table->rows++;
	table->used[table->rows - 1] = 0;
}

void rv_table_add(struct rv_table *table, const char *format, ...)
{
	int row = table->rows - 1;
	va_list args;

	if (row < 0 || table->used[row] == (int)strlen(table->align))
		return;
	va_start(args, format);
	vsnprintf(table->text[row][table->used[row]++], RV_TABLE_SIZE, format, args);
	va_end(args);
}

/* Characters, not bytes: bytes that go on with one begin with 10. */
static int width_of(const char *text)
{
	int width = 0;

	for (; *text; text++)
		width += ((unsigned char)*text & 0xC0) != 0x80;
	return width;
}

static int column_width(const struct rv_table *table, int column)
{
	int widest = 0;

	for (int r = 0; r < table->rows; r++) {
		int width = width_of(table->text[r][column]);

		if (column < table->used[r] && width > widest)
			widest = width;
	}
	return widest;
}

void rv_table_print(const struct rv_table *table, int indent)
{
	int width[RV_TABLE_COLUMNS];

	for (int c = 0; c < RV_TABLE_COLUMNS; c++)
		width[c] = column_width(table, c);
	for (int r = 0; r < table->rows; r++) {
		int owed = indent; /* blanks before the next text */

		for (int c = 0; c < table->used[r]; c++) {
			const char *text = table->text[r][c];
			int pad = width[c] - width_of(text);
			bool right = table->align[c] == 'r';

			if (*text)
				printf("%*s%s", owed + (right ? pad : 0), "", text);
			owed = *text ? GAP + (right ? 0 : pad) : owed + width[c] + GAP;
		}
		printf("\n");
	}
}
