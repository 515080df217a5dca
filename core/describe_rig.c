/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/describe_rig.h"

#include <math.h>
#include <stdio.h>

enum { NAME = 2 * RV_NAME_SIZE + 8 };

void rv_describe_force(struct rv_text *text, double force_n, enum rv_force_unit unit)
{
	rv_text_add(text, "%.*f %s", rv_units_force_places(unit), force_n / rv_units_force_n(unit),
		    rv_units_force_name(unit));
}

static const char *step_name(const struct rv_rig *rig, const struct rv_step *step)
{
	switch (step->kind) {
	case RV_STEP_POINT:
		return rig->point[step->index].name;
	case RV_STEP_BLOCK:
		return rig->block[step->index].name;
	case RV_STEP_WINCH:
		return rig->winch[step->index].name;
	case RV_STEP_TAIL:
		break;
	}
	return "tail";
}

void rv_describe_path(struct rv_text *text, const struct rv_rig *rig, const struct rv_rope *rope)
{
	for (int i = 0; i < rope->steps; i++)
		rv_text_add(text, "%s%s", i ? " > " : "", step_name(rig, &rope->path[i]));
}

static void add_loads(const struct rv_rig *rig, enum rv_force_unit unit, struct rv_text *text)
{
	for (int i = 0; i < rig->loads; i++) {
		const struct rv_load *load = &rig->load[i];
		rv_text_add(text, "  load %s resists ", load->name);
		if (isnan(load->resists_n.middle)) {
			rv_text_add(text, "an unknown force\n");
			continue;
		}
		rv_describe_force(text, load->resists_n.low, unit);
		if (load->resists_n.high > load->resists_n.low) {
			rv_text_add(text, " to ");
			rv_describe_force(text, load->resists_n.high, unit);
		}
		if (!isnan(load->mass_kg))
			rv_text_add(text, " (worked out from %.6g kg)", load->mass_kg);
		rv_text_add(text, "\n");
	}
}

static void add_blocks(const struct rv_rig *rig, struct rv_text *text)
{
	for (int i = 0; i < rig->blocks; i++) {
		const struct rv_block *block = &rig->block[i];
		const struct rv_range *e = &block->efficiency;
		rv_text_add(text, "  block %s: ", block->name);
		if (!isnan(block->bar_friction))
			rv_text_add(text, "fixed bar, friction %.3g", block->bar_friction);
		else
			rv_text_add(text, "%d sheave%s", block->sheaves,
				    block->sheaves == 1 ? "" : "s");
		if (!isnan(e->middle) && e->high > e->low)
			rv_text_add(text, ", efficiency %.3g to %.3g", e->low, e->high);
		else if (!isnan(e->middle))
			rv_text_add(text, ", efficiency %.3g", e->middle);
		else if (isnan(block->bar_friction) && isnan(block->drag_n) &&
			 isnan(block->pin_drag_ratio))
			rv_text_add(text, ", efficiency not declared");
		rv_text_add(text, "\n");
	}
}

/* Where the two lists of ratings go: what is watched, and the names of what is not. */
struct lists {
	enum rv_force_unit unit;
	struct rv_text rated, unrated;
};

static void add_rating(struct lists *lists, const char *kind, const char *name,
		       const struct rv_rating *rating)
{
	double limit_n = rv_rig_limit_n(*rating);

	if (isnan(limit_n)) {
		rv_text_add(&lists->unrated, "%s%s", lists->unrated.len ? ", " : "", name);
		return;
	}
	rv_text_add(&lists->rated, "  %-9s%s: ", kind, name);
	rv_describe_force(&lists->rated, limit_n, lists->unit);
	if (isnan(rating->wll_n))
		rv_text_add(&lists->rated, ", mbs / design_factor %.3g", rating->design_factor);
	if (rating->as_mass)
		rv_text_add(&lists->rated, ", stamped as a mass: times 9.80665 m/s2");
	rv_text_add(&lists->rated, "\n");
}

static bool has_becket_line(const struct rv_rig *rig, int block)
{
	for (int i = 0; i < rig->ropes; i++) {
		const struct rv_rope *rope = &rig->rope[i];
		const struct rv_step *ends[] = {&rope->path[0], &rope->path[rope->steps - 1]};
		for (int k = 0; k < 2; k++)
			if (ends[k]->kind == RV_STEP_BLOCK && ends[k]->index == block)
				return true;
	}
	return false;
}

static void list_ratings(const struct rv_rig *rig, struct lists *lists)
{
	char name[NAME];

	for (int i = 0; i < rig->points; i++)
		add_rating(lists, "point", rig->point[i].name, &rig->point[i].rating);
	for (int i = 0; i < rig->winches; i++) {
		const struct rv_winch *winch = &rig->winch[i];
		struct rv_rating rating = {.wll_n = winch->rated_n,
					   .mbs_n = (double)NAN,
					   .design_factor = (double)NAN,
					   .as_mass = winch->rated_as_mass};
		add_rating(lists, winch->is_vehicle ? "vehicle" : "winch", winch->name, &rating);
	}
	for (int i = 0; i < rig->ropes; i++)
		add_rating(lists, "line", rig->rope[i].name, &rig->rope[i].rating);
	for (int i = 0; i < rig->blocks; i++)
		add_rating(lists, "block", rig->block[i].name, &rig->block[i].rating);
	for (int i = 0; i < rig->blocks; i++) {
		const struct rv_block *block = &rig->block[i];
		struct rv_rating rating = {.wll_n = block->becket_wll_n,
					   .mbs_n = (double)NAN,
					   .design_factor = (double)NAN,
					   .as_mass = block->becket_as_mass};
		snprintf(name, sizeof name, "%s becket", block->name);
		if (has_becket_line(rig, i))
			add_rating(lists, "becket", name, &rating);
	}
	for (int i = 0; i < rig->fittings; i++)
		add_rating(lists, rig->fitting[i].kind, rig->fitting[i].name,
			   &rig->fitting[i].rating);
}

static const char *held_name(const struct rv_rig *rig, const struct rv_held *held)
{
	switch (held->kind) {
	case RV_HELD_POINT:
		return rig->point[held->index].name;
	case RV_HELD_BLOCK:
		return rig->block[held->index].name;
	case RV_HELD_FITTING:
		return rig->fitting[held->index].name;
	case RV_HELD_LINE_END:
		return rig->rope[held->index].name;
	}
	return "";
}

static void add_cells(const struct rv_rig *rig, struct rv_text *text)
{
	for (int i = 0; i < rig->cells; i++) {
		const struct rv_cell *cell = &rig->cell[i];
		if (cell->in_leg)
			rv_text_add(text, "  cell %s in %s, leg %d of %d\n", cell->name,
				    rig->rope[cell->rope].name, cell->leg,
				    rv_rig_legs(&rig->rope[cell->rope]));
		else
			rv_text_add(text, "  cell %s holds %s%s\n", cell->name,
				    held_name(rig, &cell->holds),
				    cell->holds.kind == RV_HELD_LINE_END ? " end" : "");
	}
}

void rv_describe_rig(const struct rv_rig *rig, enum rv_force_unit unit, struct rv_text *text)
{
	struct lists lists = {.unit = unit};

	rv_text_add(text, "rig: %s (%s)\n", rig->name[0] ? rig->name : "no name",
		    rig->haul_out ? "paying out" : "hauling in");
	for (int i = 0; i < rig->ropes; i++) {
		int legs = rv_rig_legs(&rig->rope[i]);
		rv_text_add(text, "  line %s: ", rig->rope[i].name);
		rv_describe_path(text, rig, &rig->rope[i]);
		rv_text_add(text, ", %d leg%s\n", legs, legs == 1 ? "" : "s");
	}
	add_loads(rig, unit, text);
	add_blocks(rig, text);
	add_cells(rig, text);
	list_ratings(rig, &lists);
	if (lists.rated.len)
		rv_text_add(text, "limits\n%s", lists.rated.data);
	if (lists.unrated.len)
		rv_text_add(text, "not rated, not watched: %s\n", lists.unrated.data);
	text->failed |= lists.rated.failed || lists.unrated.failed;
	rv_text_free(&lists.rated);
	rv_text_free(&lists.unrated);
}
