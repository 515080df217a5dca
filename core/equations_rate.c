/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/equations_rate.h"

#include <math.h>
#include <string.h>

#include "core/force.h"

struct rates {
	double length[RV_RIG_LEGS];
	double direction[RV_RIG_LEGS][RV_DIM];
	double tension_n[RV_RIG_LEGS];
	double force_n[RV_RIG_LEGS][RV_DIM]; /* of tension times direction */
	bool moves[RV_RIG_LEGS];
};

static void rate_leg(const struct rv_layout *layout, const struct rv_motions *motions, int leg,
		     struct rates *rates)
{
	const double *va = motions->point[layout->reeving.leg[leg].a];
	const double *vb = motions->point[layout->reeving.leg[leg].b];
	const double *d = layout->pose.direction[leg];
	double v[RV_DIM] = {vb[0] - va[0], vb[1] - va[1], vb[2] - va[2]};

	rates->moves[leg] = rv_pose_dot(v, v) > 0.0;
	rates->length[leg] = rates->moves[leg] ? rv_pose_dot(d, v) : 0.0;
	for (int i = 0; i < RV_DIM; i++)
		rates->direction[leg][i] = rates->moves[leg] ? (v[i] - d[i] * rates->length[leg]) /
								   layout->pose.length_m[leg]
							     : 0.0;
}

/* Of half_sine and wrap.  Of the two forms of each that is taken which does not divide by nearly
 * nothing; where the legs lie straight on, or the wrap is told, there is no change. */
static void rate_wrap(const struct rv_layout *layout, int pass, const struct rates *rates,
		      double *half_sine_rate, double *wrap_rate)
{
	int before = layout->reeving.pass[pass].before;
	const double *d1 = layout->pose.direction[before], *d2 = layout->pose.direction[before + 1];
	const double *r1 = rates->direction[before], *r2 = rates->direction[before + 1];
	double across[RV_DIM], along[RV_DIM], s_rate = 0.0, c_rate = 0.0;

	for (int i = 0; i < RV_DIM; i++) {
		across[i] = d2[i] - d1[i];
		along[i] = d2[i] + d1[i];
		s_rate += across[i] * (r2[i] - r1[i]);
		c_rate += along[i] * (r2[i] + r1[i]);
	}
	double s = 0.5 * rv_pose_size(across), c = 0.5 * rv_pose_size(along);
	s_rate = s > 1e-9 ? 0.25 * s_rate / s : 0.0;
	c_rate = c > 1e-9 ? 0.25 * c_rate / c : 0.0;
	*half_sine_rate = s_rate;
	*wrap_rate = s < c ? 2.0 * s_rate / c : -2.0 * c_rate / s;
	if (!isnan(layout->rig.block[layout->reeving.pass[pass].block].wrap_deg))
		*wrap_rate = 0.0;
}

static struct rv_sheave_law rate_law(const struct rv_layout *layout,
				     const struct rv_friction *friction, int pass,
				     const struct rates *rates)
{
	int before = layout->reeving.pass[pass].before;
	double half_sine_rate, wrap_rate;

	if ((!rates->moves[before] && !rates->moves[before + 1]) ||
	    !rv_friction_feels_wrap(&layout->rig.block[layout->reeving.pass[pass].block]))
		return (struct rv_sheave_law){0.0, 0.0};
	struct rv_sheave sheave =
	    rv_friction_sheave(&layout->rig, &layout->reeving, &layout->pose, friction, pass);
	rate_wrap(layout, pass, rates, &half_sine_rate, &wrap_rate);
	return rv_sheave_law_rate(&sheave, half_sine_rate, wrap_rate);
}

static void rate_tensions(const struct rv_layout *layout, const struct rv_friction *friction,
			  const struct rv_tension *tension, const struct rv_motions *motions,
			  struct rates *rates)
{
	const struct rv_reeving *reeving = &layout->reeving;

	memset(rates->tension_n, 0, sizeof rates->tension_n[0] * (size_t)reeving->legs);
	for (int i = 0; i < reeving->pieces; i++) {
		const struct rv_reeve_piece *piece = &reeving->piece[i];
		int leg = piece->first_leg;

		rates->tension_n[leg] = motions->start_n[i];
		for (int p = piece->first_pass; p < piece->first_pass + piece->passes; p++, leg++) {
			int turn = friction->lossless ? 0 : friction->turn[p];

			rates->tension_n[leg + 1] =
			    rv_sheave_across_rate(tension->law[p], turn, tension->leg_n[leg],
						  turn ? rate_law(layout, friction, p, rates)
						       : (struct rv_sheave_law){0.0, 0.0},
						  rates->tension_n[leg]);
		}
	}
	for (int l = 0; l < reeving->legs; l++)
		for (int i = 0; i < RV_DIM; i++)
			rates->force_n[l][i] = rates->tension_n[l] * layout->pose.direction[l][i] +
					       tension->leg_n[l] * rates->direction[l][i];
}

static double rate_load(const struct rv_layout *layout, int load, const double *leg_n,
			const struct rates *rates)
{
	double sum[RV_DIM] = {0.0, 0.0, 0.0}, way[RV_DIM];

	memcpy(way, layout->pose.travels[load], sizeof way);
	if (layout->rig.load[load].is_free) {
		rv_layout_pull(layout, load, leg_n, true, way);
		double size = rv_pose_size(way);
		for (int i = 0; i < RV_DIM && size > 0.0; i++)
			way[i] /= size;
	}
	for (int l = 0; l < layout->reeving.legs; l++) {
		int of_a = layout->rig.point[layout->reeving.leg[l].a].load == load;
		int of_b = layout->rig.point[layout->reeving.leg[l].b].load == load;

		for (int i = 0; i < RV_DIM; i++)
			sum[i] += (of_a - of_b) * rates->force_n[l][i];
	}
	return rv_pose_dot(sum, way);
}

static double rate_cell(const struct rv_layout *layout, int cell, const double *leg_n,
			const struct rates *rates)
{
	const struct rv_component_set *set = &layout->set;
	const struct rv_component_part *part = &set->part[set->cell_part[cell]];
	double sum[RV_DIM], rate = 0.0;

	rv_force_sum(set, &layout->pose, set->cell_part[cell], leg_n, true, sum);
	double size = rv_pose_size(sum);
	for (int t = part->first; t < part->first + part->terms; t++) {
		const struct rv_component_term *term = &set->term[t];

		if (term->leg < 0)
			continue;
		if (part->plain)
			rate += term->sign * rates->tension_n[term->leg] * (sum[0] < 0.0 ? -1 : 1);
		else if (size > 0.0)
			rate += term->sign * rv_pose_dot(sum, rates->force_n[term->leg]) / size;
	}
	return rate;
}

static double rate_given(const struct rv_layout *layout, const struct rv_given *given,
			 const double *leg_n, const struct rates *rates)
{
	switch (given->kind) {
	case RV_GIVEN_LINE_PULL:
		break;
	case RV_GIVEN_RESISTS:
		return rate_load(layout, given->index, leg_n, rates);
	case RV_GIVEN_CELL:
		return rate_cell(layout, given->index, leg_n, rates);
	}
	int piece = rv_reeve_winch_piece(&layout->reeving, given->index);
	return rates->tension_n[layout->reeving.piece[piece].first_leg];
}

void rv_equations_rate(const struct rv_solving *s, const struct rv_motions *motions, double *rate)
{
	const struct rv_equations *equations = s->equations;
	const struct rv_layout *layout = s->layout;
	const struct rv_reeving *reeving = &layout->reeving;
	struct rates rates;
	int row = equations->positions;

	for (int l = 0; l < reeving->legs; l++)
		rate_leg(layout, motions, l, &rates);
	rate_tensions(layout, s->friction, s->tension, motions, &rates);
	memset(rate, 0, sizeof *rate * (size_t)equations->n);
	for (int l = 0; l < reeving->legs; l++) {
		rv_equations_add(equations, reeving->leg[l].a, 1.0, rates.force_n[l], rate);
		rv_equations_add(equations, reeving->leg[l].b, -1.0, rates.force_n[l], rate);
	}
	for (int i = 0; i < reeving->pieces; i++) {
		const struct rv_reeve_piece *piece = &reeving->piece[i];
		double sum = 0.0;

		if (isnan(equations->target_m[i]))
			continue;
		for (int k = 0; k < piece->legs; k++)
			sum += rates.length[piece->first_leg + k];
		rate[row++] = equations->slack[i] ? motions->start_n[i] / equations->force_n
						  : sum / equations->length_m;
	}
	for (int i = 0; i < equations->givens.count; i++)
		rate[row++] =
		    rate_given(layout, &equations->givens.given[i], s->tension->leg_n, &rates) /
		    equations->force_n;
}

void rv_equations_matrix(const struct rv_solving *s)
{
	const struct rv_equations *equations = s->equations;
	struct rv_linear *linear = s->linear;
	int n = equations->n;
	struct rv_motions motions;
	double rate[RV_LINEAR_MOST];

	memset(&motions, 0, sizeof motions);
	linear->n = n;
	for (int j = 0; j < n; j++) {
		int at = j - equations->positions;
		double *unknown =
		    at >= 0 ? &motions.start_n[at]
			    : &motions.point[equations->floating[j / equations->dimensions]]
					    [j % equations->dimensions];

		*unknown = at >= 0 ? equations->force_n : equations->length_m;
		rv_equations_rate(s, &motions, rate);
		*unknown = 0.0;
		for (int i = 0; i < n; i++)
			linear->a[i * n + j] = rate[i];
	}
}
