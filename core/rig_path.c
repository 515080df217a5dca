/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/rig_path.h"

#include <string.h>

/* What the paths have used so far. */
struct used {
	int passes[RV_RIG_BLOCKS]; /* sheaves */
	bool beckets[RV_RIG_BLOCKS];
	int winch_rope[RV_RIG_WINCHES]; /* the line of a winch, or -1 */
	bool points[RV_RIG_POINTS];	/* a line touches it or what stands at it */
	int legs;
};

static enum rv_err find_step(const struct rv_rig *rig, const struct rv_yaml_node *node,
			     struct rv_step *step, struct rv_error *error)
{
	const char *word;
	enum rv_err err =
	    rv_form_word(node, "the name of a point, block or winch, or tail", &word, error);

	if (err != RV_OK)
		return err;
	*step = (struct rv_step){.kind = RV_STEP_TAIL, .index = -1, .sheave = -1};
	if (strcmp(word, "tail") == 0)
		return RV_OK;
	step->kind = RV_STEP_POINT;
	step->index = rv_rig_find_point(rig, word);
	if (step->index >= 0)
		return RV_OK;
	step->kind = RV_STEP_BLOCK;
	step->index = rv_rig_find_block(rig, word);
	if (step->index >= 0)
		return RV_OK;
	step->kind = RV_STEP_WINCH;
	step->index = rv_rig_find_winch(rig, word);
	if (step->index >= 0)
		return RV_OK;
	return rv_rig_part_unknown(
	    node, "path", RV_NAMES_POINTS | RV_NAMES_WINCHES | RV_NAMES_BLOCKS, rig, error);
}

static enum rv_err take_middle(const struct rv_rig *rig, const struct rv_rope *rope,
			       const struct rv_yaml_node *node, struct rv_step *step,
			       struct used *used, struct rv_error *error)
{
	if (step->kind == RV_STEP_TAIL)
		return rv_yaml_refuse(error, node, RV_ERR_REFUSED, "tail_inside",
				      "line \"%s\" has a tail in the middle of its path; a tail is "
				      "a loose end",
				      rope->name);
	if (step->kind == RV_STEP_WINCH)
		return rv_yaml_refuse(error, node, RV_ERR_REFUSED, "winch_inside",
				      "line \"%s\" has winch \"%s\" in the middle of its path; a "
				      "winch can only be an end",
				      rope->name, node->text);
	if (step->kind == RV_STEP_POINT)
		return RV_OK;
	const struct rv_block *block = &rig->block[step->index];
	step->sheave = used->passes[step->index]++;
	if (used->passes[step->index] > block->sheaves)
		return rv_yaml_refuse(error, node, RV_ERR_REFUSED, "sheaves_spent",
				      "line \"%s\" passes block \"%s\", which is then passed %d "
				      "times; it has %d sheave%s",
				      rope->name, block->name, used->passes[step->index],
				      block->sheaves, block->sheaves == 1 ? "" : "s");
	return RV_OK;
}

static enum rv_err take_end(struct rv_rig *rig, int rope, const struct rv_yaml_node *node,
			    const struct rv_step *step, struct used *used, struct rv_error *error)
{
	if (step->kind == RV_STEP_BLOCK)
		used->beckets[step->index] = true;
	if (step->kind != RV_STEP_WINCH)
		return RV_OK;
	int other = used->winch_rope[step->index];
	if (other >= 0)
		return rv_yaml_refuse(
		    error, node, RV_ERR_REFUSED, "winch_twice",
		    "winch \"%s\" already pulls line \"%s\"; a winch pulls one line", node->text,
		    rig->rope[other].name);
	used->winch_rope[step->index] = rope;
	return RV_OK;
}

/* Where both places are known from the start, they must differ. */
static enum rv_err check_leg(const struct rv_rig *rig, const struct rv_yaml_node *node,
			     const struct rv_step *from, const struct rv_step *to,
			     struct rv_error *error)
{
	const struct rv_step *steps[] = {from, to};
	int point[2];

	for (int i = 0; i < 2; i++) {
		point[i] = rv_rig_step_point(rig, steps[i]);
		if (point[i] < 0 || rig->point[point[i]].kind == RV_POINT_FLOATS)
			return RV_OK;
		if (steps[i]->kind == RV_STEP_BLOCK && !isnan(rig->block[steps[i]->index].hangs_m))
			return RV_OK;
	}
	double sum = 0.0;
	for (int d = 0; d < RV_DIM; d++) {
		double part = rig->point[point[1]].at_m[d] - rig->point[point[0]].at_m[d];
		sum += part * part;
	}
	if (sum >= 1e-12)
		return RV_OK;
	return rv_yaml_refuse(
	    error, node, RV_ERR_REFUSED, "leg_zero",
	    "points \"%s\" and \"%s\" coincide: the leg between them has no length",
	    rig->point[point[0]].name, rig->point[point[1]].name);
}

static enum rv_err check_ends(const struct rv_rope *rope, const struct rv_yaml_node *node,
			      struct rv_error *error)
{
	const struct rv_step *first = &rope->path[0], *last = &rope->path[rope->steps - 1];

	if (first->kind == RV_STEP_WINCH && last->kind == RV_STEP_WINCH)
		return rv_yaml_refuse(error, node, RV_ERR_REFUSED, "winch_both",
				      "line \"%s\" has a winch at both ends; one is allowed",
				      rope->name);
	bool is_loose = first->kind == RV_STEP_TAIL && last->kind == RV_STEP_TAIL;
	if (first->kind == RV_STEP_TAIL)
		is_loose |= rope->path[1].kind != RV_STEP_POINT;
	if (last->kind == RV_STEP_TAIL)
		is_loose |= rope->path[rope->steps - 2].kind != RV_STEP_POINT;
	if (is_loose)
		return rv_yaml_refuse(
		    error, node, RV_ERR_REFUSED, "tail_loose",
		    "line \"%s\": nothing holds its tail; next to a tail stands "
		    "the point where the line is made fast, and the other end is held",
		    rope->name);
	if (rv_rig_legs(rope) < 1)
		return rv_yaml_refuse(error, node, RV_ERR_REFUSED, "path_short",
				      "line \"%s\" has no leg; two held places are needed",
				      rope->name);
	return RV_OK;
}

static enum rv_err read_steps(struct rv_rig *rig, int index, const struct rv_yaml_node *path,
			      struct used *used, struct rv_error *error)
{
	struct rv_rope *rope = &rig->rope[index];

	for (const struct rv_yaml_node *node = path->first; node; node = node->next) {
		struct rv_step *step = &rope->path[rope->steps];
		bool is_end = node == path->first || !node->next;
		enum rv_err err = find_step(rig, node, step, error);
		if (err == RV_OK)
			err = is_end ? take_end(rig, index, node, step, used, error)
				     : take_middle(rig, rope, node, step, used, error);
		if (err == RV_OK && rope->steps > 0)
			err = check_leg(rig, node, step - 1, step, error);
		if (err != RV_OK)
			return err;
		int point = rv_rig_step_point(rig, step);
		if (point >= 0)
			used->points[point] = true;
		rope->steps++;
	}
	return RV_OK;
}

static enum rv_err read_path(struct rv_rig *rig, int index, const struct rv_yaml_node *path,
			     struct used *used, struct rv_error *error)
{
	struct rv_rope *rope = &rig->rope[index];

	if (path->kind != RV_YAML_LIST || path->count < 2)
		return rv_yaml_refuse(error, path, RV_ERR_REFUSED, "path_short",
				      "line \"%s\" needs a path of at least two places, such as "
				      "[drum, block, anchor]",
				      rope->name);
	if (path->count > RV_RIG_STEPS)
		return rv_yaml_refuse(
		    error, path, RV_ERR_RANGE, "too_many",
		    "line \"%s\" has %d places in its path; at most %d are allowed", rope->name,
		    path->count, RV_RIG_STEPS);
	enum rv_err err = read_steps(rig, index, path, used, error);
	if (err == RV_OK)
		err = check_ends(rope, path, error);
	if (err != RV_OK)
		return err;
	used->legs += rv_rig_legs(rope);
	if (used->legs > RV_RIG_LEGS)
		return rv_yaml_refuse(error, path, RV_ERR_RANGE, "too_many",
				      "the lines have more than %d legs together", RV_RIG_LEGS);
	return RV_OK;
}

static enum rv_err check_gear(const struct rv_rig *rig, const struct rv_rig_nodes *nodes,
			      const struct used *used, struct rv_error *error)
{
	for (int i = 0; i < rig->winches; i++)
		if (used->winch_rope[i] < 0)
			return rv_yaml_refuse_key(
			    error, nodes->winch[i], RV_ERR_REFUSED, "winch_unused",
			    "winch \"%s\" pulls no line; name it at the end of "
			    "a path",
			    rig->winch[i].name);
	for (int i = 0; i < rig->blocks; i++)
		if (used->passes[i] == 0 && !used->beckets[i] && !nodes->spare)
			return rv_yaml_refuse_key(
			    error, nodes->block[i], RV_ERR_REFUSED, "block_unused",
			    "no line runs over block \"%s\" or ends on it; name "
			    "it in a path or leave it out",
			    rig->block[i].name);
	return RV_OK;
}

static bool is_tied(const struct rv_rig *rig, const struct used *used, int load)
{
	for (int i = 0; i < rig->points; i++)
		if (rig->point[i].load == load && used->points[i])
			return true;
	return false;
}

static enum rv_err check_ties(const struct rv_rig *rig, const struct rv_rig_nodes *nodes,
			      const struct used *used, struct rv_error *error)
{
	for (int i = 0; i < rig->loads; i++)
		if (!is_tied(rig, used, i))
			return rv_yaml_refuse_key(
			    error, nodes->load[i], RV_ERR_REFUSED, "load_untied",
			    "no line touches load \"%s\"; a point that moves_with "
			    "it must stand in a path",
			    rig->load[i].name);
	for (int i = 0; i < rig->points; i++)
		if (rig->point[i].kind == RV_POINT_FLOATS && !used->points[i])
			return rv_yaml_refuse_key(
			    error, nodes->point[i], RV_ERR_REFUSED, "float_untied",
			    "point \"%s\" floats and no line holds it", rig->point[i].name);
	return RV_OK;
}

enum rv_err rv_rig_path_all(struct rv_rig *rig, const struct rv_rig_nodes *nodes,
			    struct rv_error *error)
{
	struct used used = {0};
	enum rv_err err = RV_OK;

	for (int i = 0; i < RV_RIG_WINCHES; i++)
		used.winch_rope[i] = -1;
	for (int i = 0; err == RV_OK && i < rig->ropes; i++)
		err = read_path(rig, i, nodes->rope_path[i], &used, error);
	if (err == RV_OK)
		err = check_gear(rig, nodes, &used, error);
	if (err == RV_OK)
		err = check_ties(rig, nodes, &used, error);
	return err;
}
