/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Line on a winch drum: how far up it lies, and what the winch pulls there.
 *
 * Layer k (from 1) has its line's middle at (drum diameter + (2k - 1) line diameters) / 2; a layer
 * holds as many turns as line diameters go into the width.  A winch's rating holds on its first
 * layer; with the same torque it pulls on layer k
 *	rated * (D + d) / (D + (2k - 1) d)
 * The form agrees with US Army TM 9-2320-279-10-2, table 2-7, to 0.1 % (one free constant); how much
 * a drum holds agrees with the trade's capacity formula (A + D) A B pi / (12 d^2) in feet from inches
 * for a tight drum.  Loosely wound line lies higher: SAE J706 allows a factor of 0.7 to 0.9 (read
 * second-hand), which is not taken off here.
 */
#ifndef RV_CORE_DRUM_H
#define RV_CORE_DRUM_H

struct rv_drum {
	double diameter_m; /* of the bare drum */
	double width_m;
	double line_m; /* diameter of the line; all three above zero */
};

enum { RV_DRUM_LAYERS = 30 }; /* a drum with more is taken for an error */

/* Line that layers 1 to layer hold together; metres. */
double rv_drum_holds_m(const struct rv_drum *drum, int layer);

/* The uppermost layer when so much line is on the drum: at least 1, at most RV_DRUM_LAYERS + 1.
 * 0 when something is not known. */
int rv_drum_layer(const struct rv_drum *drum, double on_drum_m);

/* What is left of a rating for the first layer on that layer; 1 on the first.  The width does not
 * matter.  NaN when not known. */
double rv_drum_pull_ratio(const struct rv_drum *drum, int layer);

#endif
