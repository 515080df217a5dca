/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

json_t *rv_json_real(double value)
{
	return isfinite(value) ? json_real(value) : json_null();
}

json_t *rv_json_text(const char *text)
{
	if (!text)
		return json_null();
	json_t *made = json_string(text);
	if (made)
		return made;
	char *plain = strdup(text);
	for (char *c = plain; c && *c; c++)
		if ((unsigned char)*c >= 0x80)
			*c = '?';
	made = plain ? json_string(plain) : NULL;
	free(plain);
	return made;
}

static int add(const char *bytes, size_t len, void *text)
{
	rv_text_add_bytes(text, bytes, len);
	return 0;
}

void rv_json_write(const json_t *value, struct rv_text *text)
{
	if (json_dump_callback(value, add, text, JSON_COMPACT | JSON_REAL_PRECISION(17)) != 0)
		text->failed = true;
}
