/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/force.h"

#include <math.h>

void rv_force_sum(const struct rv_component_set *set, const struct rv_pose *pose, int part,
		  const double *tension_n, bool outside, double sum[RV_DIM])
{
	const struct rv_component_part *p = &set->part[part];

	sum[0] = sum[1] = sum[2] = 0.0;
	for (int t = p->first; t < p->first + p->terms; t++) {
		const struct rv_component_term *term = &set->term[t];

		if (term->leg < 0) {
			for (int i = 0; outside && i < RV_DIM; i++)
				sum[i] += set->outside_n[term->point][i];
		} else if (p->plain) {
			sum[0] += term->sign * tension_n[term->leg];
		} else {
			for (int i = 0; i < RV_DIM; i++)
				sum[i] += term->sign * tension_n[term->leg] *
					  pose->direction[term->leg][i];
		}
	}
}

double rv_force_on(const struct rv_component_set *set, const struct rv_pose *pose, int component,
		   const double *tension_n)
{
	double largest = 0.0;

	for (int i = 0; i < set->part_count[component]; i++) {
		double sum[RV_DIM];

		rv_force_sum(set, pose, set->first_part[component] + i, tension_n, true, sum);
		double size = rv_pose_size(sum);
		if (isnan(size))
			return size;
		largest = fmax(largest, size);
	}
	return set->scale[component] * largest;
}

double rv_force_at_cell(const struct rv_component_set *set, const struct rv_pose *pose, int cell,
			const double *tension_n)
{
	double sum[RV_DIM];

	rv_force_sum(set, pose, set->cell_part[cell], tension_n, true, sum);
	return rv_pose_size(sum);
}

double rv_force_root(const double slope[RV_DIM], const double constant_n[RV_DIM], double size_n)
{
	double a = rv_pose_dot(slope, slope);
	double b = rv_pose_dot(slope, constant_n);
	double c = rv_pose_dot(constant_n, constant_n) - size_n * size_n;
	double under = b * b - a * c;

	if (!(a > 0.0) || !(under >= 0.0))
		return (double)NAN;
	/* The form without cancellation for either sign of b. */
	double root = b > 0.0 ? -c / (b + sqrt(under)) : (sqrt(under) - b) / a;
	return root >= 0.0 ? root : (double)NAN;
}
