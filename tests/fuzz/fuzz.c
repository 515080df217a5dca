/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/fuzz/fuzz.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

void rv_fuzz_must(bool holds, const char *format, ...)
{
	va_list args;

	if (holds)
		return;
	va_start(args, format);
	fputs("must hold: ", stderr);
	vfprintf(stderr, format, args);
	fputc('\n', stderr);
	va_end(args);
	abort();
}

/* FNV-1a, 64 bits (constants from memory, not re-read). */
uint64_t rv_fuzz_hash(const uint8_t *data, size_t size)
{
	uint64_t hash = 0xcbf29ce484222325u;

	for (size_t i = 0; i < size; i++)
		hash = (hash ^ data[i]) * 0x100000001b3u;
	return hash ^ hash >> 29;
}
