/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How what is left over in the equations of a rig changes when points move and tensions grow.
 */
#ifndef RV_CORE_EQUATIONS_RATE_H
#define RV_CORE_EQUATIONS_RATE_H

#include "core/equations.h"

/* How fast points go and start tensions grow. */
struct rv_motions {
	double point[RV_RIG_POINTS][RV_DIM];
	double start_n[RV_REEVE_PIECES];
};

/* How what is left over changes with these motions.  The pose must be placed. */
void rv_equations_rate(const struct rv_solving *s, const struct rv_motions *motions, double *rate);

/* The matrix of these changes, one column for each unknown, into s->linear. */
void rv_equations_matrix(const struct rv_solving *s);

#endif
