/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/plan_notes.h"

#include <string.h>

enum { WIDTH = 80, INDENT = 2 };

/* Letters of UTF-8. */
static int letters(const char *text, size_t len)
{
	int count = 0;

	for (size_t i = 0; i < len; i++)
		count += ((unsigned char)text[i] & 0xc0) != 0x80;
	return count;
}

/* A word; a number and what follows it, such as its unit, are one. */
static size_t word_len(const char *text)
{
	size_t len = strcspn(text, " ");

	if (len > 0 && text[len] == ' ' && text[len - 1] >= '0' && text[len - 1] <= '9')
		len += 1 + strcspn(text + len + 1, " ");
	return len;
}

void rv_plan_notes_wrap(const char *head, const char *text, int indent, FILE *to)
{
	int at = letters(head, strlen(head));
	bool first = true;

	fputs(head, to);
	while (*text) {
		size_t len = word_len(text);
		int width = letters(text, len);

		if (!first && at + 1 + width > WIDTH) {
			fprintf(to, "\n%*s", indent, "");
			at = indent;
		} else if (!first) {
			fputc(' ', to);
			at++;
		}
		fwrite(text, 1, len, to);
		at += width;
		first = false;
		text += len + (text[len] == ' ');
	}
	fputc('\n', to);
}

static const char *head_of(const struct rv_plan_note *note)
{
	if (strcmp(note->code, "keep_clear") == 0 || strcmp(note->code, "bight") == 0)
		return "Keep clear: ";
	return strcmp(note->code, "friction") == 0 ? "Friction: " : "Caution: ";
}

static void print_some(const struct rv_plan *plan, const char *head, FILE *to)
{
	bool any = false;

	for (int i = 0; i < plan->notes; i++) {
		if (strcmp(head_of(&plan->note[i]), head) != 0)
			continue;
		if (!any)
			fputc('\n', to);
		any = true;
		rv_plan_notes_wrap(head, plan->note[i].text, INDENT, to);
	}
}

void rv_plan_notes_print(const struct rv_plan *plan, FILE *to)
{
	print_some(plan, "Keep clear: ", to);
	print_some(plan, "Caution: ", to);
	print_some(plan, "Friction: ", to);
}
