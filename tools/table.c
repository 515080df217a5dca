/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/table.h"

#include <stdarg.h>
#include <string.h>

static int letters(const char *text)
{
	int count = 0;

	for (; *text; text++)
		count += ((unsigned char)*text & 0xc0) != 0x80;
	return count;
}

static void add(struct rv_table *table, const char *text, size_t len)
{
	int column = (int)(table->count++ % (size_t)table->columns);
	size_t start = table->cells.len;

	rv_text_add_bytes(&table->cells, text, len);
	if (table->cells.failed)
		return;
	int width = letters(table->cells.data + start);
	if (width > table->width[column])
		table->width[column] = width;
	rv_text_add_bytes(&table->cells, "", 1);
}

void rv_table_init(struct rv_table *table, const char *heads)
{
	memset(table, 0, sizeof *table);
	table->columns = 1;
	for (const char *c = heads; *c; c++)
		table->columns += *c == '|';
	for (int i = 0; i < table->columns; i++) {
		size_t len = strcspn(heads, "|");
		table->right[i] = *heads == '>';
		add(table, heads + table->right[i], len - table->right[i]);
		heads += len + (heads[len] == '|');
	}
}

void rv_table_add(struct rv_table *table, const char *format, ...)
{
	char text[512];
	va_list args;

	va_start(args, format);
	vsnprintf(text, sizeof text, format, args);
	va_end(args);
	/* What a channel or a person is called may hold anything; a line stays a line. */
	for (char *c = text; *c; c++)
		if ((unsigned char)*c < ' ' || *c == 0x7f)
			*c = ' ';
	add(table, text, strlen(text));
}

/* Cells of a row that hold something; nothing is printed behind them. */
static int used_cells(const struct rv_table *table, const char *cell)
{
	int used = 0;

	for (int i = 0; i < table->columns; i++, cell += strlen(cell) + 1)
		if (*cell)
			used = i + 1;
	return used;
}

static const char *print_row(const struct rv_table *table, const char *cell, FILE *to)
{
	int used = used_cells(table, cell);

	for (int i = 0; i < table->columns; i++, cell += strlen(cell) + 1) {
		int blank = table->width[i] - letters(cell);
		bool last = i >= used - 1;
		if (i >= used)
			continue;
		if (table->right[i])
			fprintf(to, "%*s%s%s", blank, "", cell, last ? "" : "  ");
		else
			fprintf(to, "%s%*s", cell, last ? 0 : blank + 2, "");
	}
	fputc('\n', to);
	return cell;
}

void rv_table_print(const struct rv_table *table, int indent, FILE *to)
{
	const char *cell = table->cells.data;

	if (table->cells.failed) {
		fprintf(to, "(no memory for this table)\n");
		return;
	}
	for (size_t row = 0; row < table->count / (size_t)table->columns; row++) {
		fprintf(to, "%*s", indent, "");
		cell = print_row(table, cell, to);
	}
}

void rv_table_free(struct rv_table *table)
{
	rv_text_free(&table->cells);
}
