/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/text.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool make_room(struct rv_text *text, size_t more)
{
	if (text->failed)
		return false;
	if (text->len + more + 1 <= text->room)
		return true;
	size_t room = text->room ? text->room : 256;
	while (room < text->len + more + 1)
		room *= 2;
	char *data = realloc(text->data, room);
	if (!data) {
		text->failed = true;
		return false;
	}
	text->data = data;
	text->room = room;
	return true;
}

void rv_text_add(struct rv_text *text, const char *format, ...)
{
	va_list args, again;

	va_start(args, format);
	va_copy(again, args);
	int len = vsnprintf(NULL, 0, format, args);
	va_end(args);
	if (len >= 0 && make_room(text, (size_t)len)) {
		vsnprintf(text->data + text->len, (size_t)len + 1, format, again);
		text->len += (size_t)len;
	}
	va_end(again);
}

void rv_text_add_bytes(struct rv_text *text, const char *bytes, size_t len)
{
	if (!make_room(text, len))
		return;
	memcpy(text->data + text->len, bytes, len);
	text->len += len;
	text->data[text->len] = '\0';
}

void rv_text_clear(struct rv_text *text)
{
	text->len = 0;
	text->failed = false;
	if (text->data)
		text->data[0] = '\0';
}

void rv_text_free(struct rv_text *text)
{
	free(text->data);
	*text = (struct rv_text){0};
}

enum rv_err rv_text_copy(char *to, size_t size, const char *from)
{
	size_t len = strlen(from);

	if (len == 0 || len >= size)
		return RV_ERR_RANGE;
	memcpy(to, from, len + 1);
	return RV_OK;
}

/* strtod also takes blanks, hexadecimal, "inf" and "nan": let only decimal digits through. */
static bool is_decimal(const char *text)
{
	if (*text == '\0')
		return false;
	for (const char *c = text; *c; c++)
		if (!isdigit((unsigned char)*c) && !strchr("+-.eE", *c))
			return false;
	return true;
}

/* The common case without strtod: at most 15 digits and a power of ten up to 22 are both exact in a
 * double, so that one multiplication or division rounds once and correctly (W. D. Clinger, "How to
 * Read Floating Point Numbers Accurately", PLDI 1990; from memory, not re-read). */
static bool read_short(const char *text, double *value)
{
	static const double tens[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,	1e6,  1e7,
				      1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
	const char *c = text + (*text == '-' || *text == '+');
	int64_t digits = 0;
	int count = 0, places = -1;

	for (; *c; c++) {
		if (*c == '.' && places < 0) {
			places = 0;
			continue;
		}
		if (!isdigit((unsigned char)*c) || ++count > 15)
			return false;
		digits = 10 * digits + (*c - '0');
		places += places >= 0;
	}
	if (count == 0)
		return false;
	double read = (double)digits / tens[places > 0 ? places : 0];
	*value = *text == '-' ? -read : read;
	return true;
}

enum rv_err rv_text_to_double(const char *text, double *value)
{
	char *end = NULL;

	if (read_short(text, value))
		return RV_OK;
	if (!is_decimal(text))
		return RV_ERR_SYNTAX;
	errno = 0;
	double read = strtod(text, &end);
	if (end == text || *end != '\0')
		return RV_ERR_SYNTAX;
	if (!isfinite(read))
		return RV_ERR_RANGE;
	*value = read;
	return RV_OK;
}

enum rv_err rv_text_to_int64(const char *text, int64_t *value)
{
	char *end = NULL;

	if (!is_decimal(text) || strpbrk(text, ".eE"))
		return RV_ERR_SYNTAX;
	errno = 0;
	long long read = strtoll(text, &end, 10);
	if (end == text || *end != '\0')
		return RV_ERR_SYNTAX;
	if (errno == ERANGE)
		return RV_ERR_RANGE;
	*value = read;
	return RV_OK;
}

enum { WORD = 63 };

static int smaller(int a, int b)
{
	return a < b ? a : b;
}

/* Optimal string alignment distance, three rows at a time. */
int rv_text_distance(const char *a, const char *b)
{
	int rows[3][WORD + 1];
	size_t na = strlen(a), nb = strlen(b);

	if (na > WORD || nb > WORD)
		return WORD + 1;
	int *before = rows[0], *last = rows[1], *now = rows[2];
	for (size_t j = 0; j <= nb; j++)
		last[j] = (int)j;
	for (size_t i = 1; i <= na; i++) {
		now[0] = (int)i;
		for (size_t j = 1; j <= nb; j++) {
			int change = last[j - 1] + (a[i - 1] != b[j - 1]);
			now[j] = smaller(change, smaller(last[j], now[j - 1]) + 1);
			if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
				now[j] = smaller(now[j], before[j - 2] + 1);
		}
		int *spare = before;
		before = last;
		last = now;
		now = spare;
	}
	return last[nb];
}

const char *rv_text_nearest(const char *word, const char *const *list, size_t count)
{
	const char *best = NULL;
	int least = strlen(word) < 6 ? 1 : (int)(strlen(word) / 3);

	for (size_t i = 0; i < count; i++) {
		int distance = rv_text_distance(word, list[i]);
		if (distance <= least && (!best || distance < least)) {
			best = list[i];
			least = distance;
		}
	}
	return best;
}
