/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pieces of a picture as SVG 1.1 text.  Lengths in the picture's own units, x to the right, y down.
 *
 * Looks are presentation attributes, never a style sheet: the picture then looks the same in a
 * browser that forbids styles, in a page that holds it, and on paper.
 */
#ifndef RV_CORE_SVG_H
#define RV_CORE_SVG_H

#include "core/text.h"

struct rv_svg_point {
	double x, y;
};

struct rv_svg_box {
	double x, y, w, h;
};

enum rv_svg_anchor { RV_SVG_START, RV_SVG_MIDDLE, RV_SVG_END };

struct rv_svg_type {
	double size;
	bool bold;
	enum rv_svg_anchor anchor;
	const char *fill; /* NULL = black */
};

/* Text and attribute values: the five letters XML reserves, and letters it cannot hold. */
void rv_svg_escape(struct rv_text *to, const char *text);

/* attributes: as written into the element, such as "stroke=\"#000\"". */
void rv_svg_line(struct rv_text *to, struct rv_svg_point a, struct rv_svg_point b,
		 const char *attributes);
void rv_svg_box(struct rv_text *to, struct rv_svg_box box, const char *attributes);
void rv_svg_circle(struct rv_text *to, struct rv_svg_point at, double radius,
		   const char *attributes);
void rv_svg_shape(struct rv_text *to, const struct rv_svg_point *corner, int corners,
		  const char *attributes);

/* One line of text; at is on its baseline. */
void rv_svg_words(struct rv_text *to, struct rv_svg_point at, struct rv_svg_type type,
		  const char *words);

/* A whole document of that size around what is inside, with its title and what patterns adds (defs). */
void rv_svg_document(struct rv_text *to, struct rv_svg_box size, const char *title,
		     void (*patterns)(struct rv_text *to), const struct rv_text *inside);

/* How wide words are at most, in any of the fonts the picture asks for: a table made wider than
 * those fonts.  tests/page measures it in a browser. */
double rv_svg_width(const char *words, double size, bool bold);

/* Breaks words into lines no wider than width; a word that is wider by itself is cut.  Calls each
 * for every line; returns their number. */
int rv_svg_wrap(const char *words, struct rv_svg_type type, double width,
		void (*each)(void *context, const char *line), void *context);

bool rv_svg_meet(struct rv_svg_box a, struct rv_svg_box b);

#endif
