/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/fuzz/mutate.h"

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/fuzz/fuzz.h"

enum { STACKED = 5, LONGEST = 256 };

/* The text under change. */
struct draft {
	uint8_t *data;
	size_t size, max;
	uint64_t dice;
	const char *const *phrases;
};

struct span {
	size_t at, len; /* len 0 = there is none */
};

/* xorshift64* (constants from memory, not re-read). */
static size_t roll(struct draft *draft, size_t sides)
{
	draft->dice ^= draft->dice >> 12;
	draft->dice ^= draft->dice << 25;
	draft->dice ^= draft->dice >> 27;
	return sides ? (size_t)((draft->dice * 0x2545f4914f6cdd1du) >> 33) % sides : 0;
}

static void replace(struct draft *draft, struct span span, const char *with, size_t len)
{
	size_t after = draft->size - span.at - span.len;

	if (draft->size - span.len + len > draft->max)
		return;
	memmove(draft->data + span.at + len, draft->data + span.at + span.len, after);
	memcpy(draft->data + span.at, with, len);
	draft->size += len - span.len;
}

static bool is_number(uint8_t c)
{
	return isdigit(c) || c == '.' || c == '-' || c == '+';
}

static bool is_word(uint8_t c)
{
	return isalnum(c) || c == '_' || c >= 0x80;
}

/* The first span of that kind from a place chosen at random, round the end if need be. */
static struct span find(struct draft *draft, bool (*is)(uint8_t c))
{
	size_t from = roll(draft, draft->size);

	for (size_t i = 0; i < draft->size; i++) {
		size_t at = (from + i) % draft->size, len = 0;

		if (!is(draft->data[at]) || (at > 0 && is(draft->data[at - 1])))
			continue;
		while (at + len < draft->size && is(draft->data[at + len]))
			len++;
		return (struct span){at, len};
	}
	return (struct span){0};
}

static struct span find_line(struct draft *draft)
{
	size_t at = roll(draft, draft->size), len = 0;

	while (at > 0 && draft->data[at - 1] != '\n')
		at--;
	while (at + len < draft->size && draft->data[at + len] != '\n')
		len++;
	return (struct span){at, at + len < draft->size ? len + 1 : len};
}

/* ---- numbers ---- */

static void other_number(struct draft *draft)
{
	static const char *const numbers[] = {
	    "0",    "-0",   "1",      "-1",	"0.5",	  "2",	    "1e308",  "-1e308",
	    "1e9",  "1e12", "1e-12",  "1e-300", "5e-324", "1e15",   "-1e15",  "nan",
	    ".nan", "inf",  "-.inf",  "90",	"180",	  "360",    "1e400",  "0.98",
	    "12",   "1e-9", "999999", "48",	"[1, 1]", "[2, 1]", "[0, 0]", "-0.0001",
	};
	struct span span = find(draft, is_number);

	if (span.len == 0)
		return;
	const char *with = numbers[roll(draft, sizeof numbers / sizeof numbers[0])];
	replace(draft, span, with, strlen(with));
}

static void changed_number(struct draft *draft)
{
	static const double factors[] = {-1.0, 0.5,  2.0,	 10.0, 0.1,	    1e3,
					 1e-3, 1.01, 1.0 + 1e-9, 1e6,  1.0 + 1e-14, 0.99};
	struct span span = find(draft, is_number);
	char text[LONGEST];

	if (span.len == 0 || span.len >= sizeof text)
		return;
	memcpy(text, draft->data + span.at, span.len);
	text[span.len] = '\0';
	double value = strtod(text, NULL);
	double factor = factors[roll(draft, sizeof factors / sizeof factors[0])];
	double shift = roll(draft, 3) == 0 ? (double)roll(draft, 41) - 20.0 : 0.0;
	int len = roll(draft, 6) == 0
		      ? snprintf(text, sizeof text, "[%.6g, %.6g]", value * 0.9, value * factor)
		      : snprintf(text, sizeof text, "%.15g", value * factor + shift);
	replace(draft, span, text, (size_t)len);
}

/* ---- words and keys ---- */

static void other_word(struct draft *draft)
{
	struct span from = find(draft, is_word), to = find(draft, is_word);
	char text[LONGEST];

	if (from.len == 0 || from.len > sizeof text)
		return;
	memcpy(text, draft->data + from.at, from.len);
	replace(draft, to, text, from.len);
}

static bool is_brace(uint8_t c)
{
	return c == '}';
}

static void add_phrase(struct draft *draft)
{
	struct span span = find(draft, is_brace);
	size_t count = 0;
	char text[LONGEST];

	while (draft->phrases[count])
		count++;
	if (span.len == 0 || count == 0)
		return;
	int len = snprintf(text, sizeof text, ", %s", draft->phrases[roll(draft, count)]);
	replace(draft, (struct span){span.at, 0}, text, (size_t)len);
}

/* One value of a map or list left out, up to its comma. */
static void drop_value(struct draft *draft)
{
	size_t from = roll(draft, draft->size);
	const uint8_t *comma = memchr(draft->data + from, ',', draft->size - from);

	if (!comma)
		return;
	size_t at = (size_t)(comma - draft->data), len = 1;
	while (at + len < draft->size && !strchr(",}]\n", draft->data[at + len]))
		len++;
	replace(draft, (struct span){at, len}, "", 0);
}

/* ---- lines ---- */

static void drop_line(struct draft *draft)
{
	replace(draft, find_line(draft), "", 0);
}

/* Under another name, since names stand once. */
static void copy_line(struct draft *draft)
{
	struct span span = find_line(draft);
	char text[LONGEST];
	size_t name = 0;

	if (span.len == 0 || span.len + 1 >= sizeof text)
		return;
	memcpy(text, draft->data + span.at, span.len);
	while (name < span.len && (text[name] == ' ' || is_word((uint8_t)text[name])))
		name++;
	memmove(text + name + 1, text + name, span.len - name);
	text[name] = (char)('0' + (int)roll(draft, 10));
	replace(draft, (struct span){span.at, 0}, text, span.len + 1);
}

static void move_line(struct draft *draft)
{
	struct span span = find_line(draft);
	char text[LONGEST];

	if (span.len == 0 || span.len > sizeof text)
		return;
	memcpy(text, draft->data + span.at, span.len);
	replace(draft, span, "", 0);
	if (draft->size > 0)
		replace(draft, (struct span){find_line(draft).at, 0}, text, span.len);
}

static void change_bytes(struct draft *draft)
{
	draft->size = LLVMFuzzerMutate(draft->data, draft->size, draft->max);
}

size_t rv_mutate_text(uint8_t *data, size_t size, size_t max, unsigned seed,
		      const char *const *phrases)
{
	static void (*const ways[])(struct draft * draft) = {
	    changed_number, changed_number, changed_number, other_number, other_number,
	    other_word,	    other_word,	    add_phrase,	    add_phrase,	  drop_value,
	    drop_line,	    copy_line,	    move_line,	    change_bytes,
	};
	struct draft draft = {data, size, max, seed * 0x9e3779b97f4a7c15u + 1, phrases};

	for (size_t left = 1 + roll(&draft, STACKED); left > 0 && draft.size > 0; left--)
		ways[roll(&draft, sizeof ways / sizeof ways[0])](&draft);
	return draft.size > 0 ? draft.size : LLVMFuzzerMutate(data, 0, max);
}

/* ---- two texts ---- */

/* Where the first line begins that is the heading over this place. */
static struct span heading(const uint8_t *data, size_t at)
{
	while (at > 0) {
		size_t end = at;

		while (at > 0 && data[at - 1] != '\n')
			at--;
		if (end > at && isalpha(data[at]))
			return (struct span){at, end - at};
		at -= at > 0;
	}
	return (struct span){0};
}

/* The end of the line in data that reads like that; 0 = there is none. */
static size_t after_line(const uint8_t *data, size_t size, const uint8_t *line, size_t len)
{
	for (size_t at = 0; at + len < size; at++)
		if ((at == 0 || data[at - 1] == '\n') && data[at + len] == '\n' &&
		    memcmp(data + at, line, len) == 0)
			return at + len + 1;
	return 0;
}

static void put_line(struct draft *to, struct draft *from)
{
	struct span span = find_line(from), over = heading(from->data, span.at);
	char line[LONGEST];

	if (span.len == 0 || span.len > sizeof line)
		return;
	memcpy(line, from->data + span.at, span.len);
	size_t at = over.len ? after_line(to->data, to->size, from->data + over.at, over.len) : 0;
	replace(to, (struct span){at ? at : find_line(to).at, 0}, line, span.len);
}

size_t rv_mutate_cross(const uint8_t *a, size_t a_size, const uint8_t *b, size_t b_size,
		       uint8_t *out, size_t max, unsigned seed)
{
	uint64_t dice = seed * 0x9e3779b97f4a7c15u + 1;
	struct draft to = {out, a_size < max ? a_size : max, max, dice, NULL};
	struct draft from = {malloc(b_size + 1), b_size, b_size, dice ^ 0xffff, NULL};

	memcpy(out, a, to.size);
	if (!from.data)
		return to.size;
	memcpy(from.data, b, b_size);
	for (size_t left = 1 + roll(&from, STACKED); left > 0 && b_size > 0 && to.size > 0; left--)
		put_line(&to, &from);
	free(from.data);
	return to.size;
}
