/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/digest.h"

static void the_published_messages_have_their_digests(void **state)
{
	/* FIPS 180-2, appendix B.1 and B.2, and the empty message (from memory; sha256sum(1)
	 * agrees). */
	static const struct {
		const char *message, *digest;
	} cases[] = {
	    {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
	    {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
	    {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
	     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		char hex[RV_DIGEST_SIZE];
		rv_digest_of(cases[i].message, strlen(cases[i].message), hex);
		assert_string_equal(hex, cases[i].digest);
	}
}

static void pieces_make_the_same_digest_as_the_whole(void **state)
{
	char text[1000], whole[RV_DIGEST_SIZE], pieces[RV_DIGEST_SIZE];
	struct rv_digest digest;

	(void)state;
	for (size_t i = 0; i < sizeof text; i++)
		text[i] = (char)('a' + i % 23);
	rv_digest_of(text, sizeof text, whole);
	rv_digest_init(&digest);
	for (size_t at = 0, len = 1; at < sizeof text; at += len, len = len % 97 + 1) {
		if (len > sizeof text - at)
			len = sizeof text - at;
		rv_digest_add(&digest, text + at, len);
	}
	rv_digest_get(&digest, pieces);
	assert_string_equal(pieces, whole);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(the_published_messages_have_their_digests),
	    cmocka_unit_test(pieces_make_the_same_digest_as_the_whole),
	};

	return cmocka_run_group_tests_name("digest", tests, NULL, NULL);
}
