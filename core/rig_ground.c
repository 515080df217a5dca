/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/rig_ground.h"

#include "core/resist.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

enum rv_err rv_rig_ground_point(const struct rv_yaml_node *entry, struct rv_rig *rig,
				struct rv_rig_nodes *nodes, struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_NODE("at", struct rv_rig_part, link[0], true),
	    RV_KEY_NODE("force", struct rv_rig_part, link[1], false),
	    RV_KEY_NODE("moves_with", struct rv_rig_part, link[2], false),
	    RV_KEY_TRUTH("floats", struct rv_rig_part, flag),
	    RV_KEY_AMOUNT("weight", struct rv_rig_part, point.weight_n, RV_MEASURE_FORCE,
			  RV_FORM_NOT_NEGATIVE),
	    RV_KEY_AMOUNT("within", struct rv_rig_part, point.within_m, RV_MEASURE_LENGTH,
			  RV_FORM_NOT_NEGATIVE),
	    RV_RIG_RATING(point),
	};
	struct rv_rig_part part = {
	    .point = {.load = -1, .within_m = RV_UNKNOWN, .rating = RV_UNRATED}};
	int at = rig->points;

	enum rv_err err = rv_rig_part_read(entry, "point", keys, COUNT(keys), &part, error);
	if (err == RV_OK)
		err = rv_form_name(entry, part.point.name, error);
	if (err == RV_OK)
		err = rv_rig_part_check(entry, &part.point.rating, error);
	if (err != RV_OK)
		return err;
	if (part.flag && part.link[2])
		return rv_yaml_refuse_key(error, entry, RV_ERR_REFUSED, "point_kind",
					  "%s floats and moves with a load; one of both is allowed",
					  part.what);
	part.point.kind = part.flag ? RV_POINT_FLOATS : RV_POINT_FIXED;
	part.point.line = entry->key_line;
	nodes->point[at] = entry;
	nodes->point_at[at] = part.link[0];
	nodes->point_force[at] = part.link[1];
	nodes->point_moves[at] = part.link[2];
	rig->point[rig->points++] = part.point;
	return RV_OK;
}

static enum rv_err read_vehicle(const struct rv_yaml_node *map, struct rv_load *load,
				struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    {.key = "mass",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct rv_load, mass_kg),
	     .required = true,
	     .measure = RV_MEASURE_MASS,
	     .limit = RV_FORM_POSITIVE},
	    {.key = "slope_deg",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct rv_load, slope_deg),
	     .limit = RV_FORM_WITHIN,
	     .low = -90.0,
	     .high = 90.0},
	    RV_KEY_RANGE("rolling", struct rv_load, rolling_ratio, RV_MEASURE_RATIO,
			 RV_FORM_NOT_NEGATIVE),
	    RV_KEY_RANGE("mire", struct rv_load, mire_ratio, RV_MEASURE_RATIO,
			 RV_FORM_NOT_NEGATIVE),
	};

	/* Each term counts only when the user names it. */
	load->slope_deg = 0.0;
	load->rolling_ratio = (struct rv_range){0};
	load->mire_ratio = (struct rv_range){0};
	return rv_form_read(map, "resists", keys, COUNT(keys), load, error);
}

static enum rv_err read_resists(const struct rv_yaml_node *node, bool haul_out,
				struct rv_load *load, struct rv_error *error)
{
	static const struct rv_form_key key =
	    RV_KEY_RANGE("resists", struct rv_load, resists_n, RV_MEASURE_FORCE, RV_FORM_POSITIVE);

	if (node->kind != RV_YAML_MAP)
		return rv_form_value(node, &key, load, error);
	enum rv_err err = read_vehicle(node, load, error);
	if (err != RV_OK)
		return err;
	load->resists_n = rv_resist_vehicle(load, haul_out);
	if (load->resists_n.low <= 0.0)
		return rv_yaml_refuse(
		    error, node, RV_ERR_REFUSED, "load_not_pulled",
		    "with this mass, slope, rolling and mire the load holds %.6g N "
		    "against the line; more than 0 is needed",
		    load->resists_n.low);
	return RV_OK;
}

enum rv_err rv_rig_ground_load(const struct rv_yaml_node *entry, struct rv_rig *rig,
			       struct rv_rig_nodes *nodes, struct rv_error *error)
{
	static const char *const characters[] = {"hung", "steady", "varies", NULL};
	static const struct rv_form_key keys[] = {
	    RV_KEY_NODE("travels", struct rv_rig_part, link[0], false),
	    RV_KEY_TRUTH("free", struct rv_rig_part, load.is_free),
	    RV_KEY_NODE("resists", struct rv_rig_part, link[1], false),
	    RV_KEY_WORD("character", struct rv_rig_part, load.character, characters, RV_LOAD_HUNG),
	};
	struct rv_rig_part part = {.load = {.resists_n = RV_UNKNOWN_RANGE,
					    .mass_kg = RV_UNKNOWN,
					    .slope_deg = RV_UNKNOWN,
					    .rolling_ratio = RV_UNKNOWN_RANGE,
					    .mire_ratio = RV_UNKNOWN_RANGE}};
	int at = rig->loads;

	enum rv_err err = rv_rig_part_read(entry, "load", keys, COUNT(keys), &part, error);
	if (err == RV_OK)
		err = rv_form_name(entry, part.load.name, error);
	if (err == RV_OK && part.link[1])
		err = read_resists(part.link[1], rig->haul_out, &part.load, error);
	if (err != RV_OK)
		return err;
	if (!part.link[0] == !part.load.is_free)
		return rv_yaml_refuse_key(
		    error, entry, RV_ERR_REFUSED, "travel_missing",
		    "%s needs \"travels\" (the direction it goes when hauled in) "
		    "or \"free: true\", one of both",
		    part.what);
	part.load.line = entry->key_line;
	nodes->load[at] = entry;
	nodes->load_travels[at] = part.link[0];
	rig->load[rig->loads++] = part.load;
	return RV_OK;
}

static enum rv_err read_drum(const struct rv_yaml_node *map, struct rv_winch *winch,
			     struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_AMOUNT("diameter", struct rv_winch, drum_diameter_m, RV_MEASURE_LENGTH,
			  RV_FORM_POSITIVE),
	    RV_KEY_AMOUNT("width", struct rv_winch, drum_width_m, RV_MEASURE_LENGTH,
			  RV_FORM_POSITIVE),
	    RV_KEY_WHOLE("layers", struct rv_winch, drum_layers, 1.0, 30.0),
	};

	return rv_form_read(map, "drum", keys, COUNT(keys), winch, error);
}

enum rv_err rv_rig_ground_winch(const struct rv_yaml_node *entry, struct rv_rig *rig,
				struct rv_rig_nodes *nodes, struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_NODE("at", struct rv_rig_part, link[0], true),
	    RV_KEY_AMOUNT("line_pull", struct rv_rig_part, winch.line_pull_n, RV_MEASURE_FORCE,
			  RV_FORM_POSITIVE),
	    RV_KEY_STAMPED("rated", struct rv_rig_part, winch.rated_n, winch.rated_as_mass),
	    RV_KEY_TRUTH("vehicle", struct rv_rig_part, winch.is_vehicle),
	    RV_KEY_AMOUNT("wraps_left", struct rv_rig_part, winch.wraps_left, RV_MEASURE_NUMBER,
			  RV_FORM_NOT_NEGATIVE),
	    RV_KEY_NODE("drum", struct rv_rig_part, link[1], false),
	};
	struct rv_rig_part part = {.winch = {.point = -1,
					     .line_pull_n = RV_UNKNOWN,
					     .rated_n = RV_UNKNOWN,
					     .wraps_left = RV_UNKNOWN,
					     .drum_diameter_m = RV_UNKNOWN,
					     .drum_width_m = RV_UNKNOWN}};
	int at = rig->winches;

	enum rv_err err = rv_rig_part_read(entry, "winch", keys, COUNT(keys), &part, error);
	if (err == RV_OK)
		err = rv_form_name(entry, part.winch.name, error);
	if (err == RV_OK && part.link[1])
		err = read_drum(part.link[1], &part.winch, error);
	if (err != RV_OK)
		return err;
	if (part.winch.is_vehicle && (part.link[1] || !isnan(part.winch.wraps_left)))
		return rv_yaml_refuse_key(
		    error, entry, RV_ERR_REFUSED, "vehicle_drum",
		    "%s is a vehicle pulling the line's end; it has no drum and "
		    "no wraps_left",
		    part.what);
	part.winch.line = entry->key_line;
	nodes->winch[at] = entry;
	nodes->winch_at[at] = part.link[0];
	rig->winch[rig->winches++] = part.winch;
	return RV_OK;
}
