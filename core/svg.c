/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/svg.h"

#include <string.h>

enum { LINE_BYTES = 512 };

void rv_svg_escape(struct rv_text *to, const char *text)
{
	for (; *text; text++) {
		switch (*text) {
		case '&':
			rv_text_add(to, "&amp;");
			break;
		case '<':
			rv_text_add(to, "&lt;");
			break;
		case '>':
			rv_text_add(to, "&gt;");
			break;
		case '"':
			rv_text_add(to, "&quot;");
			break;
		case '\'':
			rv_text_add(to, "&#39;");
			break;
		default:
			rv_text_add_bytes(to, (unsigned char)*text < 0x20 ? " " : text, 1);
		}
	}
}

void rv_svg_line(struct rv_text *to, struct rv_svg_point a, struct rv_svg_point b,
		 const char *attributes)
{
	rv_text_add(to, "<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\" %s/>\n", a.x, a.y,
		    b.x, b.y, attributes);
}

void rv_svg_box(struct rv_text *to, struct rv_svg_box box, const char *attributes)
{
	rv_text_add(to, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" %s/>\n", box.x,
		    box.y, box.w, box.h, attributes);
}

void rv_svg_circle(struct rv_text *to, struct rv_svg_point at, double radius,
		   const char *attributes)
{
	rv_text_add(to, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" %s/>\n", at.x, at.y, radius,
		    attributes);
}

void rv_svg_shape(struct rv_text *to, const struct rv_svg_point *corner, int corners,
		  const char *attributes)
{
	rv_text_add(to, "<polygon points=\"");
	for (int i = 0; i < corners; i++)
		rv_text_add(to, "%s%.1f,%.1f", i ? " " : "", corner[i].x, corner[i].y);
	rv_text_add(to, "\" %s/>\n", attributes);
}

void rv_svg_words(struct rv_text *to, struct rv_svg_point at, struct rv_svg_type type,
		  const char *words)
{
	static const char *const anchors[] = {"start", "middle", "end"};

	rv_text_add(to,
		    "<text x=\"%.1f\" y=\"%.1f\" font-size=\"%.1f\"%s text-anchor=\"%s\" "
		    "fill=\"%s\">",
		    at.x, at.y, type.size, type.bold ? " font-weight=\"bold\"" : "",
		    anchors[type.anchor], type.fill ? type.fill : "#000");
	rv_svg_escape(to, words);
	rv_text_add(to, "</text>\n");
}

void rv_svg_document(struct rv_text *to, struct rv_svg_box size, const char *title,
		     void (*patterns)(struct rv_text *to), const struct rv_text *inside)
{
	rv_text_add(to,
		    "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %.0f %.0f\" "
		    "width=\"%.0f\" height=\"%.0f\" font-family=\"Arial, Helvetica, "
		    "'Liberation Sans', 'DejaVu Sans', sans-serif\" role=\"img\">\n<title>",
		    size.w, size.h, size.w, size.h);
	rv_svg_escape(to, title);
	rv_text_add(to, "</title>\n");
	patterns(to);
	rv_svg_box(to, size, "fill=\"#fff\"");
	rv_text_add_bytes(to, inside->data ? inside->data : "", inside->len);
	rv_text_add(to, "</svg>\n");
}

/* Letters from space to tilde, regular and bold, in thousandths of the size: as measured in the
 * widest of the fonts asked for (DejaVu Sans), and two parts in a hundred more. */
static const short letter_width[2][95] = {
    {330,  415, 475, 860, 655, 975, 800, 285,  405, 405, 515, 860, 330, 375,  330, 350,
     655,  655, 655, 655, 655, 655, 655, 655,  655, 655, 350, 350, 860, 860,  860, 550,
     1025, 705, 705, 720, 795, 650, 595, 795,  775, 305, 305, 675, 575, 885,  770, 810,
     625,  810, 715, 655, 630, 755, 705, 1015, 705, 630, 705, 405, 350, 405,  860, 515,
     515,  630, 655, 570, 655, 635, 365, 655,  655, 290, 290, 600, 290, 1000, 655, 630,
     655,  655, 425, 540, 405, 655, 610, 840,  610, 610, 540, 655, 350, 655,  860},
    {360,  475, 540, 860, 715, 1030, 895, 320,	475, 475, 540, 860, 395, 430,  395, 380,
     715,  715, 715, 715, 715, 715,  715, 715,	715, 715, 415, 415, 860, 860,  860, 600,
     1025, 795, 785, 755, 855, 705,  705, 845,	860, 385, 385, 795, 655, 1020, 860, 875,
     755,  875, 795, 740, 705, 835,  795, 1135, 795, 745, 745, 475, 380, 475,  860, 515,
     515,  695, 735, 610, 735, 700,  450, 735,	735, 355, 355, 685, 355, 1070, 735, 710,
     735,  735, 510, 615, 495, 735,  670, 950,	665, 670, 600, 735, 380, 735,  860}};

/* Bytes and width of the letter at text (UTF-8).  Letters beyond ASCII count as the widest of their
 * kind; a blank that does not break (U+00A0) as a blank. */
static int letter_len(const char *text, bool bold, int *width)
{
	unsigned char first = (unsigned char)*text;
	int len = first < 0xC0 ? 1 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4, there = 1;

	while (there < len && ((unsigned char)text[there] & 0xC0) == 0x80)
		there++;
	if (first >= ' ' && first <= '~')
		*width = letter_width[bold][first - ' '];
	else if (first == 0xC2 && (unsigned char)text[1] == 0xA0)
		*width = letter_width[bold][0];
	else
		*width = bold ? 1350 : 1120;
	return there;
}

double rv_svg_width(const char *words, double size, bool bold)
{
	int sum = 0;

	while (*words) {
		int width;
		words += letter_len(words, bold, &width);
		sum += width;
	}
	return sum * 0.001 * size;
}

/* Bytes of the longest beginning that is no wider than width, at least one letter. */
static size_t fitting(const char *words, struct rv_svg_type type, double width)
{
	double room = width / (0.001 * type.size);
	size_t end = 0, at_space = 0;

	while (words[end]) {
		int letter;
		int len = letter_len(words + end, type.bold, &letter);
		if (end > 0 && (room < letter || end + (size_t)len >= LINE_BYTES))
			return at_space > 0 ? at_space : end;
		if (words[end] == ' ')
			at_space = end;
		room -= letter;
		end += (size_t)len;
	}
	return end;
}

int rv_svg_wrap(const char *words, struct rv_svg_type type, double width,
		void (*each)(void *context, const char *line), void *context)
{
	char line[LINE_BYTES + 1];
	int lines = 0;

	while (*words == ' ')
		words++;
	while (*words) {
		size_t len = fitting(words, type, width);
		memcpy(line, words, len);
		line[len] = '\0';
		each(context, line);
		lines++;
		words += len;
		while (*words == ' ')
			words++;
	}
	return lines;
}

bool rv_svg_meet(struct rv_svg_box a, struct rv_svg_box b)
{
	return a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;
}
