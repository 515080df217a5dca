/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/pattern.h"

#define PCRE2_CODE_UNIT_WIDTH 8
#include <pcre2.h>

static pcre2_code *compile(const char *pattern, int *number, size_t *offset)
{
	return pcre2_compile((PCRE2_SPTR)pattern, PCRE2_ZERO_TERMINATED, 0, number, offset, NULL);
}

enum rv_err rv_pattern_check(const char *pattern, struct rv_error *error)
{
	unsigned char reason[160] = "";
	int number = 0;
	size_t offset = 0;
	uint32_t names = 0;
	pcre2_code *code = compile(pattern, &number, &offset);

	if (!code) {
		pcre2_get_error_message(number, reason, sizeof reason);
		return rv_err_set(error, RV_ERR_SYNTAX,
				  "the pattern is faulty at character %zu: %s", offset + 1,
				  (const char *)reason);
	}
	pcre2_pattern_info(code, PCRE2_INFO_NAMECOUNT, &names);
	pcre2_code_free(code);
	if (names == 0)
		return rv_err_set(error, RV_ERR_MISSING,
				  "the pattern has no named group; a value is taken from one, such "
				  "as (?<force>[-+.\\d]+)");
	return RV_OK;
}

bool rv_pattern_has_group(const char *pattern, const char *name)
{
	int number = 0;
	size_t offset = 0;
	pcre2_code *code = compile(pattern, &number, &offset);

	if (!code)
		return false;
	bool has_group = pcre2_substring_number_from_name(code, (PCRE2_SPTR)name) > 0;
	pcre2_code_free(code);
	return has_group;
}
