/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/plan_draw.h"

#include <stdio.h>

#include "core/drawing.h"
#include "tools/cmd.h"
#include "tools/put_file.h"

int rv_plan_draw(const struct rv_plan *plan, const char *path, enum rv_force_unit unit)
{
	struct rv_text svg = {0};
	struct rv_error error = {0};
	enum rv_err err = rv_drawing_svg(plan, unit, &svg, &error);

	if (err == RV_OK)
		err = rv_put_file(path, svg.data, svg.len, &error);
	rv_text_free(&svg);
	if (err == RV_OK)
		return RV_EXIT_DONE;
	fprintf(stderr, "reeve plan: %s: %s\n", path, error.text);
	return RV_EXIT_REFUSED;
}
