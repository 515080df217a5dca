/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/mark_word.h"

#include <stddef.h>
#include <string.h>

static const struct {
	const char *text;
	enum rv_mark_word word;
} words[] = {
    {"hauling in", RV_MARK_HAULING},	 {"hauling", RV_MARK_HAULING},
    {"haul start", RV_MARK_HAULING},	 {"paying out", RV_MARK_PAYING_OUT},
    {"pay start", RV_MARK_PAYING_OUT},	 {"stopped", RV_MARK_STOPPED},
    {"stop", RV_MARK_STOPPED},		 {"haul stop", RV_MARK_STOPPED},
    {"pay stop", RV_MARK_STOPPED},	 {"cells exchanged", RV_MARK_EXCHANGED},
    {"rigged anew", RV_MARK_RIGGED_ANEW},
};

static char plain(char c)
{
	if (c >= 'A' && c <= 'Z')
		return (char)(c - 'A' + 'a');
	return c == '-' || c == '\t' ? ' ' : c;
}

enum rv_mark_word rv_mark_word(const char *text)
{
	char smooth[32];
	size_t len = 0;

	for (; *text; text++) {
		char c = plain(*text);

		if (c == ' ' && (len == 0 || smooth[len - 1] == ' '))
			continue;
		if (len == sizeof smooth - 1)
			return RV_MARK_NOTE;
		smooth[len++] = c;
	}
	while (len > 0 && (smooth[len - 1] == ' ' || smooth[len - 1] == '.'))
		len--;
	smooth[len] = '\0';
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
		if (strcmp(smooth, words[i].text) == 0)
			return words[i].word;
	return RV_MARK_NOTE;
}
