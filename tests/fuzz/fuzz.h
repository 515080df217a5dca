/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a fuzz target is: fuzz_NAME.c reads one text the way reeve does and aborts where something
 * comes out that must not.  tools/fuzz links it with clang's fuzzing engine for long campaigns; the
 * test suite links it with replay.c, which feeds it files and a few changes of each.  The functions
 * named LLVMFuzzer... are the engine's.
 */
#ifndef RV_TESTS_FUZZ_FUZZ_H
#define RV_TESTS_FUZZ_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The target.  Returns 0. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Changes the text in place; max bytes of room.  Returns its new size. */
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max, unsigned seed);

/* Changes without regard to what the bytes mean; the engine's, or replay.c's. */
size_t LLVMFuzzerMutate(uint8_t *data, size_t size, size_t max);

/* Says what is wrong and aborts, unless it holds. */
void rv_fuzz_must(bool holds, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* A number that is of the text and nothing else, for choosing what is done with it. */
uint64_t rv_fuzz_hash(const uint8_t *data, size_t size);

#endif
