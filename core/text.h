/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bounded text building and strict numbers.
 *
 * Numbers are read whole or refused: no leading blanks, no trailing rubbish, always a decimal
 * point, never a locale, and never an infinity or a NaN.
 */
#ifndef RV_CORE_TEXT_H
#define RV_CORE_TEXT_H

#include <stddef.h>
#include <stdint.h>

#include "core/err.h"

/* Size of every name in a rig or a station, with its closing zero. */
enum { RV_NAME_SIZE = 64 };

/* A growing text.  Start with {0}; release with rv_text_free. */
struct rv_text {
	char *data; /* zero-terminated once anything was added; NULL before */
	size_t len;
	size_t room;
	bool failed; /* memory was refused: later additions do nothing */
};

void rv_text_add(struct rv_text *text, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void rv_text_add_bytes(struct rv_text *text, const char *bytes, size_t len);
void rv_text_clear(struct rv_text *text);
void rv_text_free(struct rv_text *text);

/* Copies name into a field of size bytes.  RV_ERR_RANGE if it is empty or too long. */
enum rv_err rv_text_copy(char *to, size_t size, const char *from);

/* The whole of text as a number.  RV_ERR_SYNTAX or RV_ERR_RANGE otherwise. */
enum rv_err rv_text_to_double(const char *text, double *value);
enum rv_err rv_text_to_int64(const char *text, int64_t *value);

/* Number of single-letter edits (insert, drop, change, swap of neighbours) between two words; for
 * offering the nearest known word.  Words above 63 letters count as far apart. */
int rv_text_distance(const char *a, const char *b);

/* The word of list (count entries) nearest to word, or NULL if none is near enough to be a slip of
 * the pen: at most one edit in three letters. */
const char *rv_text_nearest(const char *word, const char *const *list, size_t count);

#endif
