/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/json.h"

#include <math.h>

json_t *rv_json_real(double value)
{
	return isfinite(value) ? json_real(value) : json_null();
}

json_t *rv_json_text(const char *text)
{
	return text ? json_string(text) : json_null();
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
