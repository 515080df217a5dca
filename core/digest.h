/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * SHA-256 (FIPS 180-4) of bytes in memory or in pieces, by Nettle: the library that the daemon's HTTP
 * library rests on already.
 */
#ifndef RV_CORE_DIGEST_H
#define RV_CORE_DIGEST_H

#include <stddef.h>

#include <nettle/sha2.h>

enum { RV_DIGEST_SIZE = 65 };

struct rv_digest {
	struct sha256_ctx inside;
};

void rv_digest_init(struct rv_digest *digest);
void rv_digest_add(struct rv_digest *digest, const void *bytes, size_t len);

/* 64 digits of 0-9 and a-f.  The digest begins anew. */
void rv_digest_get(struct rv_digest *digest, char hex[RV_DIGEST_SIZE]);

/* All in one. */
void rv_digest_of(const void *bytes, size_t len, char hex[RV_DIGEST_SIZE]);

#endif
