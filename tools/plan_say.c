/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/plan_say.h"

#include <stdio.h>

#include "core/plan_json.h"
#include "core/text.h"
#include "tools/cmd.h"

void rv_plan_say_json(json_t *value)
{
	struct rv_text text = {0};

	rv_json_write(value, &text);
	printf("%s\n", text.data ? text.data : "");
	rv_text_free(&text);
	json_decref(value);
}

int rv_plan_say_refused(const char *file, const struct rv_error *error, bool json)
{
	char code[RV_PLAN_JSON_CODE];

	fprintf(stderr, "reeve plan: %s:", file);
	if (error->line > 0)
		fprintf(stderr, "%d:", error->line);
	if (error->line > 0 && error->column > 0)
		fprintf(stderr, "%d:", error->column);
	rv_plan_json_code(error, code);
	fprintf(stderr, " %s: %s\n", code, error->text);
	if (json)
		rv_plan_say_json(rv_plan_json_refused(error));
	return RV_EXIT_REFUSED;
}

int rv_plan_say_misused(const char *option, const char *text)
{
	fprintf(stderr, "reeve plan: --%s: %s; see: reeve plan --help\n", option, text);
	return RV_EXIT_USAGE;
}
