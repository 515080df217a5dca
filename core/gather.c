/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/gather.h"

bool rv_gather_part(struct rv_gather *list, bool plain)
{
	struct rv_component_set *set = list->set;

	if (set->parts == RV_COMPONENT_PARTS) {
		list->full = true;
		return false;
	}
	set->part[set->parts++] = (struct rv_component_part){.first = set->terms, .plain = plain};
	return true;
}

void rv_gather_term(struct rv_gather *list, struct rv_component_term term)
{
	struct rv_component_set *set = list->set;

	if (list->full || set->terms == RV_COMPONENT_TERMS) {
		list->full = true;
		return;
	}
	set->term[set->terms++] = term;
	set->part[set->parts - 1].terms++;
}

void rv_gather_leg(struct rv_gather *list, int leg, double sign)
{
	rv_gather_term(list, (struct rv_component_term){.leg = leg, .point = -1, .sign = sign});
}

static bool is_becket_start(const struct rv_reeving *reeving, int leg)
{
	const struct rv_reeve_piece *piece = &reeving->piece[reeving->leg[leg].piece];

	return leg == piece->first_leg && reeving->leg[leg].from.kind == RV_STEP_BLOCK;
}

static bool is_becket_end(const struct rv_reeving *reeving, int leg)
{
	const struct rv_reeve_piece *piece = &reeving->piece[reeving->leg[leg].piece];

	return leg == piece->first_leg + piece->legs - 1 &&
	       reeving->leg[leg].to.kind == RV_STEP_BLOCK;
}

void rv_gather_point(struct rv_gather *list, int point)
{
	for (int l = 0; l < list->reeving->legs; l++) {
		if (list->reeving->leg[l].a == point)
			rv_gather_leg(list, l, 1.0);
		if (list->reeving->leg[l].b == point)
			rv_gather_leg(list, l, -1.0);
	}
	if (rv_pose_size(list->set->outside_n[point]) > 0.0)
		rv_gather_term(list,
			       (struct rv_component_term){.leg = -1, .point = point, .sign = 1.0});
}

void rv_gather_sheaves(struct rv_gather *list, int block)
{
	for (int p = 0; p < list->reeving->passes; p++) {
		const struct rv_reeve_pass *pass = &list->reeving->pass[p];

		if (pass->block != block)
			continue;
		rv_gather_leg(list, pass->before, -1.0);
		rv_gather_leg(list, pass->before + 1, 1.0);
	}
}

int rv_gather_beckets(struct rv_gather *list, int block)
{
	int ends = 0;

	for (int l = 0; l < list->reeving->legs; l++) {
		const struct rv_reeve_leg *leg = &list->reeving->leg[l];

		if (is_becket_start(list->reeving, l) && leg->from.index == block) {
			rv_gather_leg(list, l, 1.0);
			ends++;
		}
		if (is_becket_end(list->reeving, l) && leg->to.index == block) {
			rv_gather_leg(list, l, -1.0);
			ends++;
		}
	}
	return ends;
}

bool rv_gather_has_becket(const struct rv_reeving *reeving, int block)
{
	for (int l = 0; l < reeving->legs; l++)
		if ((is_becket_start(reeving, l) && reeving->leg[l].from.index == block) ||
		    (is_becket_end(reeving, l) && reeving->leg[l].to.index == block))
			return true;
	return false;
}

bool rv_gather_block(struct rv_gather *list, int block)
{
	if (!rv_gather_part(list, false))
		return false;
	rv_gather_sheaves(list, block);
	if (rv_gather_has_becket(list->reeving, block) && rv_gather_part(list, false)) {
		rv_gather_sheaves(list, block);
		rv_gather_beckets(list, block);
	}
	return true;
}

bool rv_gather_is_on_becket(const struct rv_gather *list, int block)
{
	const struct rv_rig *rig = list->rig;
	int point = rig->block[block].point;

	if (rig->point[point].kind != RV_POINT_FLOATS ||
	    !rv_gather_has_becket(list->reeving, block))
		return false;
	for (int b = 0; b < rig->blocks; b++)
		if (b != block && rig->block[b].point == point)
			return false;
	for (int l = 0; l < list->reeving->legs; l++) {
		const struct rv_reeve_leg *leg = &list->reeving->leg[l];

		if ((leg->a == point && leg->from.kind == RV_STEP_POINT) ||
		    (leg->b == point && leg->to.kind == RV_STEP_POINT))
			return false;
	}
	return true;
}

int rv_gather_fastened(struct rv_gather *list, int point)
{
	const struct rv_reeving *reeving = list->reeving;
	int count = 0;

	for (int b = 0; b < list->rig->blocks; b++) {
		if (list->rig->block[b].point != point || !rv_gather_block(list, b))
			continue;
		count++;
	}
	for (int r = 0; r < list->rig->ropes; r++) {
		bool any = false;

		for (int l = 0; l < reeving->legs; l++) {
			const struct rv_reeve_leg *leg = &reeving->leg[l];
			bool at_a = leg->a == point && leg->from.kind == RV_STEP_POINT;
			bool at_b = leg->b == point && leg->to.kind == RV_STEP_POINT;

			if (leg->rope != r || (!at_a && !at_b))
				continue;
			if (!any && !rv_gather_part(list, false))
				return count;
			any = true;
			rv_gather_leg(list, l, at_a ? 1.0 : -1.0);
		}
		count += any;
	}
	if (rv_pose_size(list->set->outside_n[point]) > 0.0 && rv_gather_part(list, false)) {
		rv_gather_term(list,
			       (struct rv_component_term){.leg = -1, .point = point, .sign = 1.0});
		count++;
	}
	return count;
}
