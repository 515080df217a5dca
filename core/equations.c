/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/equations.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "core/force.h"

/* ---- numbering ---- */

void rv_equations_give(const struct rv_layout *layout, const struct rv_givens *givens,
		       struct rv_equations *equations)
{
	const struct rv_rig *rig = &layout->rig;
	double low[RV_DIM] = {INFINITY, INFINITY, INFINITY};
	double high[RV_DIM] = {-INFINITY, -INFINITY, -INFINITY};
	double force_n = 0.0, length_m = 0.0;

	equations->givens = *givens;
	for (int i = 0; i < equations->givens.count; i++)
		force_n = fmax(force_n, equations->givens.given[i].force_n.middle);
	for (int p = 0; p < rig->points; p++) {
		force_n = fmax(force_n, rv_pose_size(layout->set.outside_n[p]));
		for (int i = 0; i < RV_DIM; i++) {
			low[i] = fmin(low[i], rig->point[p].at_m[i]);
			high[i] = fmax(high[i], rig->point[p].at_m[i]);
		}
	}
	for (int i = 0; i < RV_DIM; i++)
		length_m = fmax(length_m, high[i] - low[i]);
	equations->force_n = force_n > 0.0 ? force_n : 1.0;
	equations->length_m = length_m > 0.0 ? length_m : 1.0;
}

static double declared_m(const struct rv_layout *layout, const struct rv_reeve_piece *piece)
{
	double sum_m = 0.0;

	for (int l = piece->first_leg; l < piece->first_leg + piece->legs; l++) {
		const double *a = layout->rig.point[layout->reeving.leg[l].a].at_m;
		const double *b = layout->rig.point[layout->reeving.leg[l].b].at_m;
		double way[RV_DIM] = {b[0] - a[0], b[1] - a[1], b[2] - a[2]};

		sum_m += rv_pose_size(way);
	}
	return sum_m;
}

void rv_equations_measure(const struct rv_layout *layout, struct rv_equations *equations)
{
	for (int i = 0; i < layout->reeving.pieces; i++) {
		const struct rv_reeve_piece *piece = &layout->reeving.piece[i];
		const struct rv_rope *rope = &layout->rig.rope[piece->rope];
		bool is_whole = piece->winch < 0 && !piece->starts_at_grab && !piece->ends_at_grab;

		equations->target_m[i] = (double)NAN;
		if (is_whole && !isnan(rope->length_m))
			equations->target_m[i] = rope->length_m;
		else if (piece->winch < 0 || layout->rig.loads == 0)
			equations->target_m[i] = declared_m(layout, piece);
	}
}

enum rv_err rv_equations_set(const struct rv_layout *layout, const struct rv_givens *givens,
			     struct rv_equations *equations, struct rv_error *error)
{
	const struct rv_rig *rig = &layout->rig;

	memset(equations, 0, sizeof *equations);
	equations->dimensions = rig->dimensions;
	for (int p = 0; p < rig->points; p++) {
		equations->column[p] = -1;
		if (rig->point[p].kind != RV_POINT_FLOATS)
			continue;
		if (equations->floats == RV_EQUATIONS_FLOATS) {
			enum rv_err err =
			    rv_err_at(error, RV_ERR_RANGE, rig->point[p].line, 0,
				      "more than %d points float or hang", RV_EQUATIONS_FLOATS);
			if (error)
				snprintf(error->tag, sizeof error->tag, "too_many");
			return err;
		}
		equations->column[p] = equations->positions;
		equations->floating[equations->floats++] = p;
		equations->positions += rig->dimensions;
	}
	equations->n = equations->positions + layout->reeving.pieces;
	rv_equations_give(layout, givens, equations);
	rv_equations_measure(layout, equations);
	return RV_OK;
}

/* ---- what is left over ---- */

static void set_tensions(const struct rv_layout *layout, const struct rv_friction *friction,
			 struct rv_tension *tension)
{
	const struct rv_reeving *reeving = &layout->reeving;
	struct rv_chain *chain = &tension->chain;

	for (int i = 0; i < reeving->pieces; i++) {
		const struct rv_reeve_piece *piece = &reeving->piece[i];
		int leg = piece->first_leg;

		chain->slope[leg] = 1.0;
		chain->constant_n[leg] = 0.0;
		tension->leg_n[leg] = tension->start_n[i];
		for (int p = piece->first_pass; p < piece->first_pass + piece->passes; p++, leg++) {
			int turn = friction->lossless ? 0 : friction->turn[p];
			struct rv_sheave sheave =
			    rv_friction_sheave(&layout->rig, reeving, &layout->pose, friction, p);
			struct rv_sheave_law law = rv_sheave_law(&sheave);
			struct rv_sheave_law slope = {.ratio = law.ratio};

			tension->law[p] = law;
			chain->slope[leg + 1] = rv_sheave_across(slope, turn, chain->slope[leg]);
			chain->constant_n[leg + 1] =
			    rv_sheave_across(law, turn, chain->constant_n[leg]);
			tension->leg_n[leg + 1] = rv_sheave_across(law, turn, tension->leg_n[leg]);
		}
	}
}

void rv_equations_add(const struct rv_equations *equations, int point, double factor,
		      const double *vector, double *rows)
{
	int row = equations->column[point];

	for (int i = 0; row >= 0 && i < equations->dimensions; i++)
		rows[row + i] += factor * vector[i] / equations->force_n;
}

static double given_rest_n(const struct rv_layout *layout, const struct rv_given *given,
			   const double *leg_n)
{
	double sum[RV_DIM];

	switch (given->kind) {
	case RV_GIVEN_LINE_PULL:
		break;
	case RV_GIVEN_RESISTS:
		rv_layout_pull(layout, given->index, leg_n, true, sum);
		if (layout->rig.load[given->index].is_free)
			return rv_pose_size(sum) - given->force_n.middle;
		return rv_pose_dot(sum, layout->pose.travels[given->index]) - given->force_n.middle;
	case RV_GIVEN_CELL:
		return rv_force_at_cell(&layout->set, &layout->pose, given->index, leg_n) -
		       given->force_n.middle;
	}
	int piece = rv_reeve_winch_piece(&layout->reeving, given->index);
	return leg_n[layout->reeving.piece[piece].first_leg] - given->force_n.middle;
}

bool rv_equations_rest(const struct rv_solving *s, double *rest)
{
	const struct rv_equations *equations = s->equations;
	struct rv_layout *layout = s->layout;
	struct rv_tension *tension = s->tension;
	const struct rv_reeving *reeving = &layout->reeving;
	struct rv_pose *pose = &layout->pose;
	int row = equations->positions;

	if (rv_pose_place(&layout->rig, reeving, pose, NULL) != RV_OK)
		return false;
	set_tensions(layout, s->friction, tension);
	memset(rest, 0, sizeof *rest * (size_t)equations->n);
	for (int i = 0; i < equations->floats; i++)
		rv_equations_add(equations, equations->floating[i], 1.0,
				 layout->set.outside_n[equations->floating[i]], rest);
	for (int l = 0; l < reeving->legs; l++) {
		rv_equations_add(equations, reeving->leg[l].a, tension->leg_n[l],
				 pose->direction[l], rest);
		rv_equations_add(equations, reeving->leg[l].b, -tension->leg_n[l],
				 pose->direction[l], rest);
	}
	for (int i = 0; i < reeving->pieces; i++) {
		const struct rv_reeve_piece *piece = &reeving->piece[i];
		double sum_m = -equations->target_m[i];

		if (isnan(sum_m))
			continue;
		for (int k = 0; k < piece->legs; k++)
			sum_m += pose->length_m[piece->first_leg + k];
		rest[row++] = equations->slack[i] ? tension->start_n[i] / equations->force_n
						  : sum_m / equations->length_m;
	}
	for (int i = 0; i < equations->givens.count; i++)
		rest[row++] = given_rest_n(layout, &equations->givens.given[i], tension->leg_n) /
			      equations->force_n;
	return true;
}
