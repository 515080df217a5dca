/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A plan drawn to scale, as SVG: lines, blocks, anchors, winches and loads where they are, beside each
 * what it carries and how much of its limit that is, the bights and how far to stay clear hatched,
 * the weakest part named.
 *
 * Nothing is told by colour alone: a line near or over its limit is thicker, lies on a pattern of its
 * own and has the word in its label; lines are told apart by dashes.  Made to be printed black on
 * white.
 */
#ifndef RV_CORE_DRAWING_H
#define RV_CORE_DRAWING_H

#include "core/drawing_parts.h"

/* Lays everything out.  Free with rv_drawing_free.  Errors: those of core/reeve, RV_ERR_NOMEM,
 * RV_ERR_RANGE when there is more to label than a drawing holds. */
enum rv_err rv_drawing_new(const struct rv_plan *plan, enum rv_force_unit unit,
			   struct rv_drawing **drawing, struct rv_error *error);
void rv_drawing_free(struct rv_drawing *drawing);

/* A whole SVG document. */
enum rv_err rv_drawing_write(const struct rv_plan *plan, struct rv_drawing *drawing,
			     struct rv_text *svg);

/* Both in one. */
enum rv_err rv_drawing_svg(const struct rv_plan *plan, enum rv_force_unit unit,
			   struct rv_text *svg, struct rv_error *error);

#endif
