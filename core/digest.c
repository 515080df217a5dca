/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/digest.h"

void rv_digest_init(struct rv_digest *digest)
{
	sha256_init(&digest->inside);
}

void rv_digest_add(struct rv_digest *digest, const void *bytes, size_t len)
{
	sha256_update(&digest->inside, len, bytes);
}

void rv_digest_get(struct rv_digest *digest, char hex[RV_DIGEST_SIZE])
{
	static const char digits[] = "0123456789abcdef";
	uint8_t bytes[SHA256_DIGEST_SIZE];

	sha256_digest(&digest->inside, sizeof bytes, bytes);
	for (size_t i = 0; i < sizeof bytes; i++) {
		hex[2 * i] = digits[bytes[i] >> 4];
		hex[2 * i + 1] = digits[bytes[i] & 15];
	}
	hex[2 * sizeof bytes] = '\0';
}

void rv_digest_of(const void *bytes, size_t len, char hex[RV_DIGEST_SIZE])
{
	struct rv_digest digest;

	rv_digest_init(&digest);
	rv_digest_add(&digest, bytes, len);
	rv_digest_get(&digest, hex);
}
