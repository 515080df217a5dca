/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/rig_gear.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

static enum rv_err read_takes(const struct rv_yaml_node *node, unsigned *takes,
			      struct rv_error *error)
{
	static const char *const materials[] = {"wire", "synthetic", "chain", NULL};
	static const struct rv_form_key key = {
	    .key = "takes", .kind = RV_FORM_WORD, .words = materials};
	const struct rv_yaml_node *word = node->kind == RV_YAML_LIST ? node->first : node;

	if (!word)
		return rv_yaml_refuse(error, node, RV_ERR_MISSING, "value_kind",
				      "takes is an empty list; name materials or leave it out");
	for (; word; word = node->kind == RV_YAML_LIST ? word->next : NULL) {
		int material = 0;
		enum rv_err err = rv_form_value(word, &key, &material, error);
		if (err != RV_OK)
			return err;
		*takes |= 1u << material;
	}
	return RV_OK;
}

/* A block says how it loses tension in one way: as a sheave or as a fixed bar. */
static enum rv_err check_friction(const struct rv_yaml_node *entry, const struct rv_rig_part *part,
				  struct rv_error *error)
{
	const struct rv_block *block = &part->block;
	bool is_bar = !isnan(block->bar_friction);
	bool is_sheave = !isnan(block->efficiency.middle) || !isnan(block->drag_n) ||
			 !isnan(block->pin_drag_ratio) || !isnan(block->bearing_share);

	if (!is_bar && (!isnan(block->turns) || !isnan(block->wrap_deg)))
		return rv_yaml_refuse_key(error, entry, RV_ERR_MISSING, "key_missing",
					  "%s: turns and wrap belong to a fixed bar; give its "
					  "bar_friction",
					  part->what);
	if (is_bar && is_sheave)
		return rv_yaml_refuse_key(error, entry, RV_ERR_REFUSED, "friction_mixed",
					  "%s is a fixed bar (bar_friction); efficiency, drag, "
					  "pin_drag and bearing_share belong to sheaves",
					  part->what);
	if (!isnan(block->bearing_share) && isnan(block->efficiency.middle))
		return rv_yaml_refuse_key(error, entry, RV_ERR_MISSING, "key_missing",
					  "%s: bearing_share divides a loss; give its efficiency",
					  part->what);
	if (is_bar && block->sheaves != 1)
		return rv_yaml_refuse_key(error, entry, RV_ERR_REFUSED, "friction_mixed",
					  "%s is a fixed bar; it has no sheaves to count",
					  part->what);
	return RV_OK;
}

static enum rv_err check_groove(const struct rv_yaml_node *entry, const struct rv_range *groove,
				struct rv_error *error)
{
	const struct rv_yaml_node *node = rv_yaml_get(entry, "groove");

	if (node && node->kind != RV_YAML_LIST)
		return rv_yaml_refuse(error, node, RV_ERR_SYNTAX, "value_kind",
				      "groove is %.6g; [low, high] in mm is needed", groove->low);
	return RV_OK;
}

static const struct rv_form_key block_keys[] = {
    RV_KEY_NODE("at", struct rv_rig_part, link[0], true),
    RV_KEY_WHOLE("sheaves", struct rv_rig_part, block.sheaves, 1.0, 12.0),
    {.key = "efficiency",
     .kind = RV_FORM_RANGE,
     .offset = offsetof(struct rv_rig_part, block.efficiency),
     .measure = RV_MEASURE_RATIO,
     .limit = RV_FORM_ABOVE_UP_TO,
     .low = 0.0,
     .high = 1.0,
     .tag = "eta_range"},
    RV_KEY_AMOUNT("drag", struct rv_rig_part, block.drag_n, RV_MEASURE_FORCE, RV_FORM_NOT_NEGATIVE),
    {.key = "pin_drag",
     .kind = RV_FORM_AMOUNT,
     .offset = offsetof(struct rv_rig_part, block.pin_drag_ratio),
     .measure = RV_MEASURE_RATIO,
     .limit = RV_FORM_WITHIN,
     .low = 0.0,
     .high = 0.5},
    {.key = "bearing_share",
     .kind = RV_FORM_AMOUNT,
     .offset = offsetof(struct rv_rig_part, block.bearing_share),
     .measure = RV_MEASURE_RATIO,
     .limit = RV_FORM_WITHIN,
     .low = 0.0,
     .high = 1.0},
    {.key = "bar_friction",
     .kind = RV_FORM_AMOUNT,
     .offset = offsetof(struct rv_rig_part, block.bar_friction),
     .limit = RV_FORM_WITHIN,
     .low = 0.0,
     .high = 2.0},
    {.key = "turns",
     .kind = RV_FORM_AMOUNT,
     .offset = offsetof(struct rv_rig_part, block.turns),
     .limit = RV_FORM_WITHIN,
     .low = 0.0,
     .high = 20.0},
    {.key = "wrap",
     .kind = RV_FORM_AMOUNT,
     .offset = offsetof(struct rv_rig_part, block.wrap_deg),
     .limit = RV_FORM_WITHIN,
     .low = 0.0,
     .high = 7200.0},
    RV_KEY_AMOUNT("diameter", struct rv_rig_part, block.diameter_m, RV_MEASURE_LENGTH,
		  RV_FORM_POSITIVE),
    RV_KEY_AMOUNT("hangs", struct rv_rig_part, block.hangs_m, RV_MEASURE_LENGTH, RV_FORM_POSITIVE),
    RV_KEY_NODE("takes", struct rv_rig_part, link[1], false),
    RV_KEY_RANGE("groove", struct rv_rig_part, groove, RV_MEASURE_MILLIMETRES, RV_FORM_POSITIVE),
    RV_KEY_TRUTH("opens", struct rv_rig_part, flag),
    RV_KEY_STAMPED("becket_wll", struct rv_rig_part, block.becket_wll_n, block.becket_as_mass),
    RV_RIG_RATING(block),
};

enum rv_err rv_rig_gear_block(const struct rv_yaml_node *entry, struct rv_rig *rig,
			      struct rv_rig_nodes *nodes, struct rv_error *error)
{
	struct rv_rig_part part = {.block = {.point = -1,
					     .sheaves = 1,
					     .efficiency = RV_UNKNOWN_RANGE,
					     .drag_n = RV_UNKNOWN,
					     .pin_drag_ratio = RV_UNKNOWN,
					     .bearing_share = RV_UNKNOWN,
					     .bar_friction = RV_UNKNOWN,
					     .turns = RV_UNKNOWN,
					     .wrap_deg = RV_UNKNOWN,
					     .diameter_m = RV_UNKNOWN,
					     .hangs_m = RV_UNKNOWN,
					     .rating = RV_UNRATED,
					     .becket_wll_n = RV_UNKNOWN},
				   .groove = RV_UNKNOWN_RANGE};
	int at = rig->blocks;

	enum rv_err err =
	    rv_rig_part_read(entry, "block", block_keys, COUNT(block_keys), &part, error);
	if (err == RV_OK)
		err = rv_form_name(entry, part.block.name, error);
	if (err == RV_OK && part.link[1])
		err = read_takes(part.link[1], &part.block.takes, error);
	if (err == RV_OK)
		err = check_groove(entry, &part.groove, error);
	if (err == RV_OK)
		err = check_friction(entry, &part, error);
	if (err == RV_OK)
		err = rv_rig_part_check(entry, &part.block.rating, error);
	if (err != RV_OK)
		return err;
	if (rv_yaml_get(entry, "opens"))
		part.block.opens = part.flag ? RV_SAID_YES : RV_SAID_NO;
	part.block.groove_low_mm = part.groove.low;
	part.block.groove_high_mm = part.groove.high;
	part.block.line = entry->key_line;
	nodes->block[at] = entry;
	nodes->block_at[at] = part.link[0];
	rig->block[rig->blocks++] = part.block;
	return RV_OK;
}

enum rv_err rv_rig_gear_rope(const struct rv_yaml_node *entry, struct rv_rig *rig,
			     struct rv_rig_nodes *nodes, struct rv_error *error)
{
	static const char *const materials[] = {"wire", "synthetic", "chain", NULL};
	static const char *const terminals[] = {"hook", "eye", "soft eye", NULL};
	static const struct rv_form_key keys[] = {
	    RV_KEY_NODE("path", struct rv_rig_part, link[0], true),
	    RV_KEY_AMOUNT("length", struct rv_rig_part, rope.length_m, RV_MEASURE_LENGTH,
			  RV_FORM_POSITIVE),
	    RV_KEY_AMOUNT("diameter", struct rv_rig_part, rope.diameter_m, RV_MEASURE_LENGTH,
			  RV_FORM_POSITIVE),
	    RV_KEY_AMOUNT("stiffness", struct rv_rig_part, rope.stiffness_n, RV_MEASURE_FORCE,
			  RV_FORM_POSITIVE),
	    RV_KEY_WORD("material", struct rv_rig_part, rope.material, materials, RV_WIRE),
	    RV_KEY_WORD("terminal", struct rv_rig_part, rope.terminal, terminals, RV_HOOK),
	    RV_RIG_RATING(rope),
	};
	struct rv_rig_part part = {.rope = {.length_m = RV_UNKNOWN,
					    .diameter_m = RV_UNKNOWN,
					    .stiffness_n = RV_UNKNOWN,
					    .rating = RV_UNRATED}};
	int at = rig->ropes;

	enum rv_err err = rv_rig_part_read(entry, "line", keys, COUNT(keys), &part, error);
	if (err == RV_OK)
		err = rv_form_name(entry, part.rope.name, error);
	if (err == RV_OK)
		err = rv_rig_part_check(entry, &part.rope.rating, error);
	if (err != RV_OK)
		return err;
	part.rope.line = entry->key_line;
	nodes->rope[at] = entry;
	nodes->rope_path[at] = part.link[0];
	rig->rope[rig->ropes++] = part.rope;
	return RV_OK;
}

enum rv_err rv_rig_gear_fitting(const struct rv_yaml_node *entry, struct rv_rig *rig,
				struct rv_rig_nodes *nodes, struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_TEXT("kind", struct rv_rig_part, fitting.kind, true),
	    RV_KEY_NODE("holds", struct rv_rig_part, link[0], true),
	    RV_KEY_WHOLE("legs", struct rv_rig_part, fitting.legs, 1.0, 2.0),
	    {.key = "included_angle",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct rv_rig_part, fitting.included_angle_deg),
	     .limit = RV_FORM_WITHIN,
	     .low = 0.0,
	     .high = 170.0},
	    RV_RIG_RATING(fitting),
	};
	struct rv_rig_part part = {
	    .fitting = {.legs = 1, .included_angle_deg = RV_UNKNOWN, .rating = RV_UNRATED}};
	int at = rig->fittings;

	enum rv_err err = rv_rig_part_read(entry, "fitting", keys, COUNT(keys), &part, error);
	if (err == RV_OK)
		err = rv_form_name(entry, part.fitting.name, error);
	if (err == RV_OK)
		err = rv_rig_part_check(entry, &part.fitting.rating, error);
	if (err != RV_OK)
		return err;
	if ((part.fitting.legs == 2) == isnan(part.fitting.included_angle_deg))
		return rv_yaml_refuse_key(
		    error, entry, RV_ERR_MISSING, "included_angle",
		    "%s: \"legs: 2\" and \"included_angle\" (between the legs, "
		    "degrees) go together",
		    part.what);
	part.fitting.line = entry->key_line;
	nodes->fitting[at] = entry;
	nodes->fitting_holds[at] = part.link[0];
	rig->fitting[rig->fittings++] = part.fitting;
	return RV_OK;
}

enum rv_err rv_rig_gear_cell(const struct rv_yaml_node *entry, struct rv_rig *rig,
			     struct rv_rig_nodes *nodes, struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_NODE("in", struct rv_rig_part, link[0], false),
	    RV_KEY_WHOLE("leg", struct rv_rig_part, cell.leg, 1.0, RV_RIG_LEGS),
	    RV_KEY_NODE("holds", struct rv_rig_part, link[1], false),
	};
	struct rv_rig_part part = {.cell = {.rope = -1, .holds = {.index = -1}}};
	int at = rig->cells;

	enum rv_err err = rv_rig_part_read(entry, "cell", keys, COUNT(keys), &part, error);
	if (err == RV_OK)
		err = rv_form_name(entry, part.cell.name, error);
	if (err != RV_OK)
		return err;
	bool in_leg = part.link[0] && part.cell.leg > 0;
	if (in_leg == (part.link[1] != NULL) || (part.link[0] || part.cell.leg > 0) != in_leg)
		return rv_yaml_refuse_key(
		    error, entry, RV_ERR_REFUSED, "cell_place",
		    "%s needs its place: \"in: LINE\" with \"leg: NUMBER\", or "
		    "\"holds: NAME\", one of both",
		    part.what);
	part.cell.in_leg = in_leg;
	part.cell.line = entry->key_line;
	nodes->cell[at] = entry;
	nodes->cell_in[at] = part.link[0];
	nodes->cell_holds[at] = part.link[1];
	rig->cell[rig->cells++] = part.cell;
	return RV_OK;
}
