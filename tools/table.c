/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/table.h"

#include <stdarg.h>
#include <string.h>

/* What no column is folded below: "part 1, lead line", "133.36 to 136.37". */
enum { NARROW = 17 };

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

void rv_table_fit(struct rv_table *table, int letters)
{
	int sum = -2;

	for (int i = 0; i < table->columns; i++)
		sum += table->width[i] + 2;
	for (; sum > letters; sum--) {
		int widest = -1;

		for (int i = 0; i < table->columns; i++)
			if (!table->right[i] && table->width[i] > NARROW &&
			    (widest < 0 || table->width[i] > table->width[widest]))
				widest = i;
		if (widest < 0)
			return;
		table->width[widest]--;
	}
}

/* Bytes of a cell that go on one line of that width: up to a blank, if there is one. */
static size_t fits(const char *cell, int width)
{
	size_t len = 0, blank = 0;
	int count = 0;

	if (letters(cell) <= width)
		return strlen(cell);
	for (; count < width; count++) {
		len++;
		while (((unsigned char)cell[len] & 0xc0) == 0x80)
			len++;
		if (cell[len] == ' ')
			blank = len;
	}
	return blank > 0 ? blank : len;
}

/* One line of what is left of a row; returns whether something is left then. */
static bool print_line(const struct rv_table *table, const char *cell[], FILE *to)
{
	int used = 0;
	bool more = false;

	for (int i = 0; i < table->columns; i++)
		if (*cell[i])
			used = i + 1;
	for (int i = 0; i < used; i++) {
		size_t len = fits(cell[i], table->width[i]);
		int blank = table->width[i] - letters(cell[i]) + letters(cell[i] + len);

		fprintf(to, "%*s", table->right[i] ? blank : 0, "");
		fwrite(cell[i], 1, len, to);
		if (i < used - 1)
			fprintf(to, "%*s", table->right[i] ? 2 : blank + 2, "");
		cell[i] += len;
		cell[i] += *cell[i] == ' ';
		more = more || *cell[i];
	}
	fputc('\n', to);
	return more;
}

/* Nothing is printed behind the last cell that holds something. */
static const char *print_row(const struct rv_table *table, const char *cell, int indent, FILE *to)
{
	const char *rest[RV_TABLE_COLUMNS];
	bool more = true;

	for (int i = 0; i < table->columns; i++, cell += strlen(cell) + 1)
		rest[i] = cell;
	while (more) {
		fprintf(to, "%*s", indent, "");
		more = print_line(table, rest, to);
	}
	return cell;
}

void rv_table_print(const struct rv_table *table, int indent, FILE *to)
{
	const char *cell = table->cells.data;

	if (table->cells.failed) {
		fprintf(to, "(no memory for this table)\n");
		return;
	}
	for (size_t row = 0; row < table->count / (size_t)table->columns; row++)
		cell = print_row(table, cell, indent, to);
}

void rv_table_free(struct rv_table *table)
{
	rv_text_free(&table->cells);
}
