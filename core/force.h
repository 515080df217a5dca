/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Loads from tensions.  All tensions are newtons, one for each leg; a leg whose tension is unknown is
 * NaN and so is what it bears on.
 */
#ifndef RV_CORE_FORCE_H
#define RV_CORE_FORCE_H

#include "core/component.h"

/* The vector (or the plain sum, in sum[0]) of a part for these tensions, one for each leg.
 * Outside forces only if asked for, so that both shares of a load can be had apart. */
void rv_force_sum(const struct rv_component_set *set, const struct rv_pose *pose, int part,
		      const double *tension_n, bool outside, double sum[RV_DIM]);

/* Loads in newtons, never negative. */
double rv_force_on(const struct rv_component_set *set, const struct rv_pose *pose,
			 int component, const double *tension_n);
double rv_force_at_cell(const struct rv_component_set *set, const struct rv_pose *pose, int cell,
			 const double *tension_n);

/* The start tension t >= 0 at which |slope * t + constant| = size; the larger of two.  NaN = none. */
double rv_force_root(const double slope[RV_DIM], const double constant_n[RV_DIM], double size_n);

#endif
