/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/component.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "core/gather.h"

static bool start_component(struct rv_gather *list, const char *name, const char *kind,
			    double limit_n)
{
	struct rv_component_set *set = list->set;

	if (set->components == RV_COMPONENTS) {
		list->full = true;
		return false;
	}
	int i = set->components++;
	snprintf(set->component[i].name, sizeof set->component[i].name, "%s", name);
	snprintf(set->component[i].kind, sizeof set->component[i].kind, "%s", kind);
	set->component[i].limit_n = limit_n;
	set->scale[i] = 1.0;
	set->first_part[i] = set->parts;
	return true;
}

static void end_component(struct rv_gather *list)
{
	int i = list->set->components - 1;

	list->set->part_count[i] = list->set->parts - list->set->first_part[i];
}

static enum rv_err add_held(struct rv_gather *list, const struct rv_held *held, int count,
			    int depth, struct rv_error *error);

/* Recursion is bounded by the number of fittings. */
/* NOLINTNEXTLINE(misc-no-recursion) */
static enum rv_err add_held_one(struct rv_gather *list, struct rv_held held, int depth,
				struct rv_error *error)
{
	int leg;

	switch (held.kind) {
	case RV_HELD_POINT:
		if (list->rig->point[held.index].kind == RV_POINT_FLOATS)
			return rv_err_refuse(
			    error, "cell_place",
			    "point %s floats: all that is fastened to it balances, "
			    "and nothing holds it",
			    list->rig->point[held.index].name);
		rv_gather_point(list, held.index);
		return RV_OK;
	case RV_HELD_BLOCK:
		rv_gather_sheaves(list, held.index);
		if (!rv_gather_is_on_becket(list, held.index))
			rv_gather_beckets(list, held.index);
		return RV_OK;
	case RV_HELD_LINE_END:
		leg = rv_reeve_end_leg(list->rig, list->reeving, held.index);
		if (leg < 0)
			return rv_err_refuse(error, "cell_place", "line %s ends in a loose tail",
					     list->rig->rope[held.index].name);
		rv_gather_leg(list, leg, -1.0);
		return RV_OK;
	case RV_HELD_FITTING: {
		const struct rv_fitting *fitting = &list->rig->fitting[held.index];
		if (depth > list->rig->fittings)
			return rv_err_refuse(error, "holds_loop", "fitting %s holds itself",
					     fitting->name);
		return add_held(list, fitting->holds, fitting->count, depth + 1, error);
	}
	}
	return RV_OK;
}

/* NOLINTNEXTLINE(misc-no-recursion) */
static enum rv_err add_held(struct rv_gather *list, const struct rv_held *held, int count,
			    int depth, struct rv_error *error)
{
	enum rv_err err = RV_OK;

	for (int i = 0; i < count && err == RV_OK; i++)
		err = add_held_one(list, held[i], depth, error);
	return err;
}

/* A floating point carries what the largest single thing fastened to it pulls; one that joins
 * nothing to anything is only where a block is. */
static void list_joint(struct rv_gather *list, int point)
{
	const struct rv_point *joint = &list->rig->point[point];

	if (joint->is_pin ||
	    !start_component(list, joint->name, "joint", rv_rig_limit_n(joint->rating)))
		return;
	if (rv_gather_fastened(list, point) > 1) {
		end_component(list);
		return;
	}
	list->set->components--;
	list->set->parts = list->set->first_part[list->set->components];
	list->set->terms = list->set->parts > 0 ? list->set->part[list->set->parts - 1].first +
						      list->set->part[list->set->parts - 1].terms
						: 0;
}

static void list_points(struct rv_gather *list)
{
	for (int p = 0; p < list->rig->points; p++) {
		bool carries = rv_pose_size(list->set->outside_n[p]) > 0.0;

		for (int l = 0; l < list->reeving->legs; l++)
			carries |= list->reeving->leg[l].a == p || list->reeving->leg[l].b == p;
		if (carries && list->rig->point[p].kind == RV_POINT_FLOATS) {
			list_joint(list, p);
			continue;
		}
		if (!carries || !start_component(list, list->rig->point[p].name, "point",
						 rv_rig_limit_n(list->rig->point[p].rating)))
			continue;
		if (rv_gather_part(list, false))
			rv_gather_point(list, p);
		end_component(list);
	}
}

static void list_winches(struct rv_gather *list)
{
	for (int w = 0; w < list->rig->winches; w++) {
		int piece = rv_reeve_winch_piece(list->reeving, w);

		if (!start_component(list, list->rig->winch[w].name, "winch",
				     list->rig->winch[w].rated_n))
			return;
		if (rv_gather_part(list, true))
			rv_gather_leg(list, list->reeving->piece[piece].first_leg, 1.0);
		end_component(list);
	}
}

static void list_lines(struct rv_gather *list)
{
	for (int r = 0; r < list->rig->ropes; r++) {
		if (!start_component(list, list->rig->rope[r].name,
				     list->rig->rope[r].is_pendant ? "pendant" : "line",
				     rv_rig_limit_n(list->rig->rope[r].rating)))
			return;
		for (int l = 0; l < list->reeving->legs; l++)
			if (list->reeving->leg[l].rope == r && rv_gather_part(list, true))
				rv_gather_leg(list, l, 1.0);
		end_component(list);
	}
}

static void list_blocks(struct rv_gather *list)
{
	for (int b = 0; b < list->rig->blocks; b++) {
		if (!start_component(list, list->rig->block[b].name, "block",
				     rv_rig_limit_n(list->rig->block[b].rating)))
			return;
		(void)rv_gather_block(list, b);
		end_component(list);
	}
	for (int b = 0; b < list->rig->blocks; b++) {
		char name[2 * RV_NAME_SIZE];

		snprintf(name, sizeof name, "%s becket", list->rig->block[b].name);
		if (!rv_gather_has_becket(list->reeving, b) ||
		    !start_component(list, name, "becket", list->rig->block[b].becket_wll_n))
			continue;
		if (rv_gather_part(list, false))
			rv_gather_beckets(list, b);
		end_component(list);
	}
}

/* At a grab one piece of a line ends and the next begins; a loose tail counts as no piece. */
static void list_grab(struct rv_gather *list, int ending, int starting)
{
	const struct rv_reeve_piece *pieces = list->reeving->piece;
	const struct rv_reeve_piece *one = &pieces[ending >= 0 ? ending : starting];
	int last = ending >= 0 ? pieces[ending].first_leg + pieces[ending].legs - 1 : -1;
	int point = ending >= 0 ? list->reeving->leg[last].b : list->reeving->leg[one->first_leg].a;
	char name[2 * RV_NAME_SIZE + 8];

	snprintf(name, sizeof name, "%s at %s", list->rig->rope[one->rope].name,
		 list->rig->point[point].name);
	if (!start_component(list, name, "grab", (double)NAN) || !rv_gather_part(list, true))
		return;
	if (ending >= 0)
		rv_gather_leg(list, last, 1.0);
	if (starting >= 0)
		rv_gather_leg(list, pieces[starting].first_leg, -1.0);
	end_component(list);
}

static void list_grabs(struct rv_gather *list)
{
	for (int i = 0; i < list->reeving->pieces; i++) {
		const struct rv_reeve_piece *piece = &list->reeving->piece[i];
		bool joined = i > 0 && piece->starts_at_grab &&
			      list->reeving->piece[i - 1].rope == piece->rope;
		bool goes_on = i + 1 < list->reeving->pieces &&
			       list->reeving->piece[i + 1].rope == piece->rope;

		if (piece->starts_at_grab)
			list_grab(list, joined ? i - 1 : -1, i);
		if (piece->ends_at_grab && !goes_on)
			list_grab(list, i, -1);
	}
}

static enum rv_err list_fittings(struct rv_gather *list, struct rv_error *error)
{
	enum rv_err err = RV_OK;

	for (int f = 0; f < list->rig->fittings && err == RV_OK; f++) {
		const struct rv_fitting *fitting = &list->rig->fitting[f];

		if (fitting->legs == 2 && isnan(fitting->included_angle_deg)) {
			err = rv_err_refuse(error, "angle_missing",
					    "fitting %s has two legs and needs an included_angle",
					    fitting->name);
			if (error)
				error->line = fitting->line;
			return err;
		}
		if (!start_component(list, fitting->name, fitting->kind,
				     rv_rig_limit_n(fitting->rating)) ||
		    !rv_gather_part(list, false))
			return RV_OK;
		if (fitting->legs == 2)
			list->set->scale[list->set->components - 1] =
			    0.5 / cos(fitting->included_angle_deg * M_PI / 360.0);
		err = add_held(list, fitting->holds, fitting->count, 0, error);
		if (err != RV_OK && error)
			error->line = fitting->line;
		end_component(list);
	}
	return err;
}

static enum rv_err list_cells(struct rv_gather *list, struct rv_error *error)
{
	enum rv_err err = RV_OK;

	for (int c = 0; c < list->rig->cells && err == RV_OK; c++) {
		const struct rv_cell *cell = &list->rig->cell[c];

		list->set->cell_part[c] = list->set->parts;
		if (!rv_gather_part(list, cell->in_leg))
			return RV_OK;
		int leg =
		    cell->in_leg ? rv_reeve_find_leg(list->reeving, cell->rope, cell->leg) : -1;
		if (!cell->in_leg)
			err = add_held_one(list, cell->holds, 0, error);
		else if (leg >= 0)
			rv_gather_leg(list, leg, 1.0);
		else
			err =
			    rv_err_refuse(error, "cell_place", "cell %s: line %s has no leg %d",
					  cell->name, list->rig->rope[cell->rope].name, cell->leg);
		if (err != RV_OK && error)
			error->line = cell->line;
	}
	return err;
}

enum rv_err rv_component_list(const struct rv_rig *rig, const struct rv_reeving *reeving,
			      struct rv_component_set *set, struct rv_error *error)
{
	struct rv_gather list = {.rig = rig, .reeving = reeving, .set = set};
	int up = rig->dimensions == 3 ? 2 : 1;

	memset(set, 0, sizeof *set);
	for (int p = 0; p < rig->points; p++) {
		memcpy(set->outside_n[p], rig->point[p].force_n, sizeof set->outside_n[p]);
		set->outside_n[p][up] -= rig->point[p].weight_n;
	}
	list_points(&list);
	list_winches(&list);
	list_lines(&list);
	list_blocks(&list);
	list_grabs(&list);
	enum rv_err err = list_fittings(&list, error);
	if (err == RV_OK)
		err = list_cells(&list, error);
	if (err == RV_OK && list.full)
		err = rv_err_set(error, RV_ERR_RANGE,
				 "the rig has more parts than can be reckoned (%d components)",
				 RV_COMPONENTS);
	return err;
}
