/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/rig_hold.h"

#include <stdio.h>
#include <string.h>

/* "wire end" -> "wire"; false if it is no such word. */
static bool is_line_end(const char *word, char *line)
{
	size_t len = strlen(word);

	if (len <= 4 || len - 4 >= RV_NAME_SIZE || strcmp(word + len - 4, " end") != 0)
		return false;
	snprintf(line, RV_NAME_SIZE, "%.*s", (int)(len - 4), word);
	return true;
}

/* The end of a line, or nothing that this rig has. */
static enum rv_err find_end(const struct rv_rig *rig, const struct rv_yaml_node *node,
			    struct rv_held *held, struct rv_error *error)
{
	const char *names[RV_RIG_LINES];
	char line[RV_NAME_SIZE], hint[RV_NAME_SIZE + 32];

	if (!is_line_end(node->text, line))
		return rv_rig_part_unknown(node, "holds",
					   RV_NAMES_POINTS | RV_NAMES_BLOCKS | RV_NAMES_FITTINGS,
					   rig, error);
	held->kind = RV_HELD_LINE_END;
	held->index = rv_rig_find_rope(rig, line);
	if (held->index >= 0)
		return RV_OK;
	for (int i = 0; i < rig->ropes; i++)
		names[i] = rig->rope[i].name;
	rv_form_hint(line, names, (size_t)rig->ropes, hint, sizeof hint);
	return rv_yaml_refuse(error, node, RV_ERR_UNKNOWN, "name_unknown",
			      "holds names the end of \"%s\", which is no line of this rig%s", line,
			      hint);
}

static enum rv_err find_held(const struct rv_rig *rig, const struct rv_yaml_node *node,
			     struct rv_held *held, struct rv_error *error)
{
	const char *word;
	enum rv_err err =
	    rv_form_word(node, "the name of a point, block or fitting, or LINE end", &word, error);

	if (err != RV_OK)
		return err;
	held->kind = RV_HELD_POINT;
	held->index = rv_rig_find_point(rig, word);
	if (held->index >= 0)
		return RV_OK;
	held->kind = RV_HELD_BLOCK;
	held->index = rv_rig_find_block(rig, word);
	if (held->index >= 0)
		return RV_OK;
	held->kind = RV_HELD_FITTING;
	held->index = rv_rig_find_fitting(rig, word);
	if (held->index >= 0)
		return RV_OK;
	return find_end(rig, node, held, error);
}

static enum rv_err link_fitting(struct rv_rig *rig, int index, const struct rv_yaml_node *holds,
				struct rv_error *error)
{
	struct rv_fitting *fitting = &rig->fitting[index];
	bool is_list = holds->kind == RV_YAML_LIST;
	const struct rv_yaml_node *node = is_list ? holds->first : holds;

	if (is_list && (holds->count < 1 || holds->count > RV_RIG_HOLDS))
		return rv_yaml_refuse(error, holds, RV_ERR_RANGE, "too_many",
				      "holds names %d things; 1 to %d are allowed", holds->count,
				      RV_RIG_HOLDS);
	for (; node; node = is_list ? node->next : NULL) {
		struct rv_held *held = &fitting->holds[fitting->count];
		enum rv_err err = find_held(rig, node, held, error);
		if (err != RV_OK)
			return err;
		for (int i = 0; i < fitting->count; i++)
			if (fitting->holds[i].kind == held->kind &&
			    fitting->holds[i].index == held->index)
				return rv_yaml_refuse(error, node, RV_ERR_REFUSED, "name_twice",
						      "fitting \"%s\" holds \"%s\" twice",
						      fitting->name, node->text);
		fitting->count++;
	}
	return RV_OK;
}

static bool holds_only_known(const struct rv_fitting *fitting, const bool *is_known)
{
	for (int i = 0; i < fitting->count; i++)
		if (fitting->holds[i].kind == RV_HELD_FITTING && !is_known[fitting->holds[i].index])
			return false;
	return true;
}

/* A fitting's load is known once that of all it holds is: what never becomes known is a loop. */
static enum rv_err check_loop(const struct rv_rig *rig, const struct rv_rig_nodes *nodes,
			      struct rv_error *error)
{
	bool is_known[RV_RIG_FITTINGS] = {false};

	for (bool has_moved = true; has_moved;) {
		has_moved = false;
		for (int i = 0; i < rig->fittings; i++) {
			if (is_known[i] || !holds_only_known(&rig->fitting[i], is_known))
				continue;
			is_known[i] = true;
			has_moved = true;
		}
	}
	for (int i = 0; i < rig->fittings; i++)
		if (!is_known[i])
			return rv_yaml_refuse_key(
			    error, nodes->fitting[i], RV_ERR_REFUSED, "holds_loop",
			    "fitting \"%s\" holds itself in a circle; the last "
			    "of a chain holds a block, a point or a line's end",
			    rig->fitting[i].name);
	return RV_OK;
}

static enum rv_err link_cell(struct rv_rig *rig, const struct rv_rig_nodes *nodes, int index,
			     struct rv_error *error)
{
	struct rv_cell *cell = &rig->cell[index];
	const struct rv_yaml_node *in = nodes->cell_in[index];
	const char *word;

	if (!in)
		return find_held(rig, nodes->cell_holds[index], &cell->holds, error);
	enum rv_err err = rv_form_word(in, "the name of a line", &word, error);
	if (err != RV_OK)
		return err;
	cell->rope = rv_rig_find_rope(rig, word);
	if (cell->rope < 0)
		return rv_rig_part_unknown(in, "in", RV_NAMES_LINES, rig, error);
	int legs = rv_rig_legs(&rig->rope[cell->rope]);
	if (cell->leg > legs)
		return rv_yaml_refuse(
		    error, rv_yaml_get(nodes->cell[index], "leg"), RV_ERR_REFUSED, "cell_place",
		    "line \"%s\" has no leg %d; it has legs 1 to %d, counted from "
		    "the winch",
		    rig->rope[cell->rope].name, cell->leg, legs);
	return RV_OK;
}

static enum rv_err link_drive(struct rv_rig *rig, const struct rv_yaml_node *drive,
			      struct rv_error *error)
{
	static const struct rv_form_key key = {
	    .key = "drive", .kind = RV_FORM_AMOUNT, .limit = RV_FORM_NOT_NEGATIVE};
	const char *names[RV_RIG_WINCHES];
	char hint[RV_NAME_SIZE + 32];

	if (!drive)
		return RV_OK;
	if (drive->kind != RV_YAML_MAP)
		return rv_yaml_refuse(error, drive, RV_ERR_SYNTAX, "value_kind",
				      "drive is a map of winches and their relative speeds");
	for (int i = 0; i < rig->winches; i++)
		names[i] = rig->winch[i].name;
	for (const struct rv_yaml_node *entry = drive->first; entry; entry = entry->next) {
		int winch = rv_rig_find_winch(rig, entry->key);
		if (winch < 0)
			return rv_yaml_refuse_key(
			    error, entry, RV_ERR_UNKNOWN, "name_unknown",
			    "drive names \"%.63s\", which is no winch of this rig%s", entry->key,
			    rv_form_hint(entry->key, names, (size_t)rig->winches, hint,
					 sizeof hint));
		enum rv_err err = rv_form_value(entry, &key, &rig->drive[winch], error);
		if (err != RV_OK)
			return err;
	}
	return RV_OK;
}

enum rv_err rv_rig_hold_all(struct rv_rig *rig, const struct rv_rig_nodes *nodes,
			    struct rv_error *error)
{
	enum rv_err err = RV_OK;

	for (int i = 0; err == RV_OK && i < rig->fittings; i++)
		err = link_fitting(rig, i, nodes->fitting_holds[i], error);
	if (err == RV_OK)
		err = check_loop(rig, nodes, error);
	for (int i = 0; err == RV_OK && i < rig->cells; i++)
		err = link_cell(rig, nodes, i, error);
	if (err == RV_OK)
		err = link_drive(rig, nodes->drive, error);
	return err;
}
