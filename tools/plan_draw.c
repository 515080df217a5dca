/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tools/plan_draw.h"

#include <stdio.h>

#include "core/drawing.h"
#include "core/schematic.h"
#include "tools/cmd.h"
#include "tools/put_file.h"

/* What draws the picture, core/drawing or core/schematic, fills svg before. */
static int put(const char *path, enum rv_err err, struct rv_text *svg, struct rv_error *error)
{
	if (err == RV_OK)
		err = rv_put_file(path, svg->data, svg->len, error);
	rv_text_free(svg);
	if (err == RV_OK)
		return RV_EXIT_DONE;
	fprintf(stderr, "reeve plan: %s: %s\n", path, error->text);
	return RV_EXIT_REFUSED;
}

int rv_plan_draw(const struct rv_plan *plan, const struct rv_plan_draw *wish)
{
	struct rv_text svg = {0};
	struct rv_error error = {0};
	int exit_code = RV_EXIT_DONE;

	if (wish->svg)
		exit_code =
		    put(wish->svg, rv_drawing_svg(plan, wish->unit, &svg, &error), &svg, &error);
	if (wish->schematic && exit_code == RV_EXIT_DONE)
		exit_code = put(wish->schematic, rv_schematic_svg(plan, wish->unit, &svg, &error),
				&svg, &error);
	return exit_code;
}
