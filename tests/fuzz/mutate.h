/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Changes to a text of keys and values that a reader may still understand: other numbers, names
 * swapped, keys added, lines copied, dropped and moved.
 */
#ifndef RV_TESTS_FUZZ_MUTATE_H
#define RV_TESTS_FUZZ_MUTATE_H

#include <stddef.h>
#include <stdint.h>

/* phrases: "key: value" and the like, to be added within braces; closed by NULL. */
size_t rv_mutate_text(uint8_t *data, size_t size, size_t max, unsigned seed,
		      const char *const *phrases);

/* A line of b put into a, beneath the heading it has in b where a has that too.  Returns the size of
 * what is in out. */
size_t rv_mutate_cross(const uint8_t *a, size_t a_size, const uint8_t *b, size_t b_size, uint8_t *out,
		       size_t max, unsigned seed);

#endif
