/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/suit_factor.h"

#include <math.h>
#include <string.h>

#include "core/plan_note.h"

static const char winch_manual[] = "a winch maker's manual";

static struct rv_suit_factor of_line(enum rv_material material, bool lifts)
{
	if (material == RV_CHAIN)
		return (struct rv_suit_factor){6.0, "US Army FM 5-125 ch. 3"};
	if (!lifts)
		return (struct rv_suit_factor){3.5, winch_manual};
	if (material == RV_SYNTHETIC)
		return (struct rv_suit_factor){7.0, "Directive 2006/42/EC, from memory"};
	return (struct rv_suit_factor){5.0, winch_manual};
}

struct rv_suit_factor rv_suit_factor_least(const char *kind, enum rv_material material, bool lifts)
{
	if (strcmp(kind, "line") == 0)
		return of_line(material, lifts);
	if (strcmp(kind, "block") == 0)
		return (struct rv_suit_factor){4.0, "ASME B30.26, from memory"};
	if (strcmp(kind, "point") == 0 || strcmp(kind, "joint") == 0)
		return (struct rv_suit_factor){3.0, "common practice, no source"};
	if (strcmp(kind, "shackle") == 0)
		return (struct rv_suit_factor){5.0, "ASME B30.26, from memory"};
	if (strcmp(kind, "strop") == 0 || strcmp(kind, "sling") == 0)
		return (struct rv_suit_factor){5.0, "ASME B30.9, from memory"};
	return (struct rv_suit_factor){4.0, "Directive 2006/42/EC for metal fittings, from memory"};
}

static bool goes_up(const struct rv_rig *rig, const struct rv_load *load)
{
	double across = hypot(load->travels[0], load->travels[1]);

	return rig->dimensions == 3 && load->travels[2] > across;
}

bool rv_suit_factor_lifts(const struct rv_rig *rig)
{
	for (int b = 0; b < rig->loads; b++)
		if (rig->load[b].character == RV_LOAD_HUNG || goes_up(rig, &rig->load[b]))
			return true;
	for (int p = 0; p < rig->points; p++)
		if (rig->point[p].weight_n > 0.0)
			return true;
	return false;
}

/* What is judged, as the plan names it. */
struct part {
	const char *name, *kind;
	enum rv_material material;
	double mbs_n;
};

static void judge(struct rv_plan *plan, const struct part *part, bool lifts)
{
	struct rv_suit_factor factor = rv_suit_factor_least(part->kind, part->material, lifts);
	bool is_line = strcmp(part->kind, "line") == 0;

	for (int i = 0; i < plan->components && !isnan(part->mbs_n); i++) {
		double got = part->mbs_n / plan->carried[i].high_n;

		if (strcmp(plan->component[i].name, part->name) != 0 ||
		    strcmp(plan->component[i].kind, part->kind) != 0 ||
		    !(got < factor.least * (1.0 - 1e-9)))
			continue;
		rv_plan_note_add(plan, "factor_low",
				 "%s %s breaks at %.2f times what it would carry; at least %.3g "
				 "times%s (%s).",
				 part->kind, part->name, got, factor.least,
				 !is_line ? ""
				 : lifts  ? " for lifting"
					  : " for pulling",
				 factor.source);
	}
}

void rv_suit_factors(struct rv_plan *plan)
{
	const struct rv_rig *rig = &plan->rig;
	bool lifts = rv_suit_factor_lifts(rig);

	for (int p = 0; p < rig->points; p++)
		judge(plan,
		      &(struct part){rig->point[p].name,
				     rig->point[p].kind == RV_POINT_FLOATS ? "joint" : "point",
				     RV_MATERIAL_UNSAID, rig->point[p].rating.mbs_n},
		      lifts);
	for (int r = 0; r < rig->ropes; r++)
		judge(plan,
		      &(struct part){rig->rope[r].name, "line", rig->rope[r].material,
				     rig->rope[r].rating.mbs_n},
		      lifts);
	for (int b = 0; b < rig->blocks; b++)
		judge(plan,
		      &(struct part){rig->block[b].name, "block", RV_MATERIAL_UNSAID,
				     rig->block[b].rating.mbs_n},
		      lifts);
	for (int f = 0; f < rig->fittings; f++)
		judge(plan,
		      &(struct part){rig->fitting[f].name, rig->fitting[f].kind, RV_MATERIAL_UNSAID,
				     rig->fitting[f].rating.mbs_n},
		      lifts);
}
