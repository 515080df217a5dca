/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A load that is the size of a vector which grows with one force T, |a T + b|, and one such load
 * against another.  Sizes within some roundings of one another are the same.
 */
#ifndef RV_CORE_ENVELOPE_PIECE_H
#define RV_CORE_ENVELOPE_PIECE_H

#include "core/pose.h"

/* |a T + b|, up to a load; the last piece of its kind has none. */
struct rv_envelope_piece {
	double until_n;
	double a[RV_DIM], b_n[RV_DIM];
	bool last, line; /* line: a and b have the one component [0] */
	bool alone;	 /* all three of an output in one */
};

/* Just above T = load_n (infinity: at last) the one is larger than the other. */
bool rv_envelope_piece_is_ahead(const struct rv_envelope_piece *one,
				const struct rv_envelope_piece *other, double load_n);

/* Where they are the same, least first; how many of such T there are. */
int rv_envelope_piece_even_at(const struct rv_envelope_piece *one,
			      const struct rv_envelope_piece *other, double at_n[2]);

/* The first T above this one from which on the one is larger; infinity: none. */
double rv_envelope_piece_overtakes_at(const struct rv_envelope_piece *one,
				      const struct rv_envelope_piece *other, double above_n);

/* Turned into a straight line where a and b lie along one, and a piece without end. */
void rv_envelope_piece_straighten(struct rv_envelope_piece *piece);

#endif
