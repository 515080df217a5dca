/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/rig_place.h"

#include <string.h>

/* A rig reaches no further from where its positions count from; metres. */
#define FURTHEST_M 1e5

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

/* A list of one value per dimension.  dimensions 0 = not known yet: set by this list. */
static enum rv_err read_vector(const struct rv_yaml_node *node, const struct rv_form_key *key,
			       int *dimensions, double *vector, struct rv_error *error)
{
	double read[RV_DIM] = {0.0, 0.0, 0.0};
	int i = 0;

	if (node->kind != RV_YAML_LIST || (node->count != 2 && node->count != RV_DIM))
		return rv_yaml_refuse(error, node, RV_ERR_SYNTAX, "value_kind",
				      "%s needs a list of 2 or 3 values, such as [x, y]", key->key);
	if (*dimensions != 0 && node->count != *dimensions)
		return rv_yaml_refuse(error, node, RV_ERR_REFUSED, "dim_mixed",
				      "%s has %d values where the positions before it have %d; "
				      "all positions and directions have 2, or all have 3",
				      key->key, node->count, *dimensions);
	for (const struct rv_yaml_node *entry = node->first; entry; entry = entry->next, i++) {
		enum rv_err err = rv_form_value(entry, key, &read[i], error);
		if (err != RV_OK)
			return err;
	}
	*dimensions = node->count;
	memcpy(vector, read, sizeof read);
	return RV_OK;
}

static enum rv_err place_lists(struct rv_rig *rig, const struct rv_rig_nodes *nodes,
			       bool *is_placed, struct rv_error *error)
{
	static const struct rv_form_key key = {.key = "at",
					       .kind = RV_FORM_AMOUNT,
					       .measure = RV_MEASURE_LENGTH,
					       .limit = RV_FORM_WITHIN,
					       .low = -FURTHEST_M,
					       .high = FURTHEST_M};

	for (int i = 0; i < rig->points; i++) {
		if (nodes->point_at[i]->kind == RV_YAML_MAP)
			continue;
		enum rv_err err = read_vector(nodes->point_at[i], &key, &rig->dimensions,
					      rig->point[i].at_m, error);
		if (err != RV_OK)
			return err;
		is_placed[i] = true;
	}
	if (rig->dimensions == 0)
		return rv_yaml_refuse(error, nodes->point_at[0], RV_ERR_MISSING, "key_missing",
				      "every point is measured from another; one needs a position, "
				      "such as at: [0, 0]");
	return RV_OK;
}

/* A position as people measure it. */
struct measured {
	const struct rv_yaml_node *from;
	double distance_m, bearing_deg, rise_m;
	int base; /* index of the point it is measured from */
};

static enum rv_err read_measured(const struct rv_yaml_node *node, const struct rv_rig *rig,
				 struct measured *measured, struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_NODE("from", struct measured, from, true),
	    {.key = "distance",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct measured, distance_m),
	     .required = true,
	     .measure = RV_MEASURE_LENGTH,
	     .limit = RV_FORM_NOT_NEGATIVE},
	    {.key = "bearing",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct measured, bearing_deg),
	     .required = true,
	     .limit = RV_FORM_WITHIN,
	     .low = 0.0,
	     .high = 360.0},
	    RV_KEY_AMOUNT("rise", struct measured, rise_m, RV_MEASURE_LENGTH, RV_FORM_ANY),
	};
	struct measured read = {.base = -1};
	const char *word;
	enum rv_err err = rv_form_read(node, "at", keys, COUNT(keys), &read, error);

	if (err == RV_OK)
		err = rv_form_word(read.from, "the name of a point", &word, error);
	if (err != RV_OK)
		return err;
	read.base = rv_rig_find_point(rig, word);
	if (read.base < 0)
		return rv_rig_part_unknown(read.from, "from", RV_NAMES_POINTS, rig, error);
	if (rig->dimensions == 2 && rv_yaml_get(node, "rise"))
		return rv_yaml_refuse_key(error, rv_yaml_get(node, "rise"), RV_ERR_REFUSED,
					  "dim_mixed",
					  "rise needs three dimensions; this rig has [x, y] only");
	*measured = read;
	return RV_OK;
}

static void place_measured(struct rv_rig *rig, int point, const struct measured *measured)
{
	double bearing_rad = measured->bearing_deg * M_PI / 180.0;
	const double *base_m = rig->point[measured->base].at_m;
	double *at_m = rig->point[point].at_m;

	at_m[0] = base_m[0] + measured->distance_m * sin(bearing_rad);
	at_m[1] = base_m[1] + measured->distance_m * cos(bearing_rad);
	at_m[2] = base_m[2] + measured->rise_m;
}

static enum rv_err check_placed(const struct rv_rig *rig, const struct rv_rig_nodes *nodes,
				const bool *is_placed, struct rv_error *error)
{
	for (int i = 0; i < rig->points; i++) {
		const double *at_m = rig->point[i].at_m;

		if (!is_placed[i])
			return rv_yaml_refuse(error, nodes->point_at[i], RV_ERR_REFUSED,
					      "from_loop",
					      "point \"%s\" is measured in a circle; one of the "
					      "points needs a position, such as at: [0, 0]",
					      rig->point[i].name);
		for (int k = 0; k < RV_DIM; k++)
			if (fabs(at_m[k]) > FURTHEST_M)
				return rv_yaml_refuse(
				    error, nodes->point_at[i], RV_ERR_RANGE, "value_range",
				    "point \"%s\" lies %.6g m away; allowed: %.6g m either way",
				    rig->point[i].name, at_m[k], FURTHEST_M);
	}
	return RV_OK;
}

/* Points measured from others, in whatever order they stand in the file. */
static enum rv_err place_chains(struct rv_rig *rig, const struct rv_rig_nodes *nodes,
				bool *is_placed, struct rv_error *error)
{
	struct measured measured[RV_RIG_POINTS] = {0};
	bool has_moved = true;

	for (int i = 0; i < rig->points; i++) {
		if (is_placed[i])
			continue;
		enum rv_err err = read_measured(nodes->point_at[i], rig, &measured[i], error);
		if (err != RV_OK)
			return err;
	}
	while (has_moved) {
		has_moved = false;
		for (int i = 0; i < rig->points; i++) {
			if (is_placed[i] || !is_placed[measured[i].base])
				continue;
			place_measured(rig, i, &measured[i]);
			is_placed[i] = true;
			has_moved = true;
		}
	}
	return check_placed(rig, nodes, is_placed, error);
}

static enum rv_err link_point(struct rv_rig *rig, const struct rv_rig_nodes *nodes, int i,
			      struct rv_error *error)
{
	static const struct rv_form_key key = {
	    .key = "force", .kind = RV_FORM_AMOUNT, .measure = RV_MEASURE_FORCE};
	struct rv_point *point = &rig->point[i];
	const char *word;

	if (nodes->point_force[i]) {
		enum rv_err err = read_vector(nodes->point_force[i], &key, &rig->dimensions,
					      point->force_n, error);
		if (err != RV_OK)
			return err;
	}
	if (!nodes->point_moves[i])
		return RV_OK;
	enum rv_err err = rv_form_word(nodes->point_moves[i], "the name of a load", &word, error);
	if (err != RV_OK)
		return err;
	point->load = rv_rig_find_load(rig, word);
	if (point->load < 0)
		return rv_rig_part_unknown(nodes->point_moves[i], "moves_with", RV_NAMES_LOADS, rig,
					   error);
	point->kind = RV_POINT_WITH_LOAD;
	return RV_OK;
}

static enum rv_err link_load(struct rv_rig *rig, const struct rv_rig_nodes *nodes, int i,
			     struct rv_error *error)
{
	static const struct rv_form_key key = {.key = "travels", .kind = RV_FORM_AMOUNT};
	const double *d = rig->load[i].travels;

	if (!nodes->load_travels[i])
		return RV_OK;
	enum rv_err err = read_vector(nodes->load_travels[i], &key, &rig->dimensions,
				      rig->load[i].travels, error);
	if (err != RV_OK)
		return err;
	if (d[0] * d[0] + d[1] * d[1] + d[2] * d[2] < 1e-18)
		return rv_yaml_refuse(error, nodes->load_travels[i], RV_ERR_REFUSED, "travel_zero",
				      "load \"%s\" travels nowhere; a direction is needed, such as "
				      "[-1, 0]",
				      rig->load[i].name);
	return RV_OK;
}

static enum rv_err link_at(const struct rv_rig *rig, const struct rv_yaml_node *at, int *point,
			   struct rv_error *error)
{
	const char *word;
	enum rv_err err = rv_form_word(at, "the name of a point", &word, error);

	if (err != RV_OK)
		return err;
	int found = rv_rig_find_point(rig, word);
	if (found < 0)
		return rv_rig_part_unknown(at, "at", RV_NAMES_POINTS, rig, error);
	*point = found;
	return RV_OK;
}

enum rv_err rv_rig_place_all(struct rv_rig *rig, const struct rv_rig_nodes *nodes,
			     struct rv_error *error)
{
	bool is_placed[RV_RIG_POINTS] = {false};
	enum rv_err err = place_lists(rig, nodes, is_placed, error);

	if (err == RV_OK)
		err = place_chains(rig, nodes, is_placed, error);
	for (int i = 0; err == RV_OK && i < rig->points; i++)
		err = link_point(rig, nodes, i, error);
	for (int i = 0; err == RV_OK && i < rig->loads; i++)
		err = link_load(rig, nodes, i, error);
	for (int i = 0; err == RV_OK && i < rig->winches; i++)
		err = link_at(rig, nodes->winch_at[i], &rig->winch[i].point, error);
	for (int i = 0; err == RV_OK && i < rig->blocks; i++)
		err = link_at(rig, nodes->block_at[i], &rig->block[i].point, error);
	return err;
}
