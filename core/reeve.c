/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/reeve.h"

#include <string.h>

const char *rv_reeve_name(const struct rv_rig *rig, struct rv_step step)
{
	switch (step.kind) {
	case RV_STEP_POINT:
		return rig->point[step.index].name;
	case RV_STEP_BLOCK:
		return rig->block[step.index].name;
	case RV_STEP_WINCH:
		return rig->winch[step.index].name;
	case RV_STEP_TAIL:
		break;
	}
	return "tail";
}

/* Refuses with the line's place in the file. */
static enum rv_err refuse(const struct rv_rig *rig, int rope, struct rv_error *error,
			  const char *tag, const char *what, const char *whom)
{
	enum rv_err err =
	    rv_err_refuse(error, tag, "line %s %s%s", rig->rope[rope].name, what, whom);

	if (error)
		error->line = rig->rope[rope].line;
	return err;
}

/* The steps of a line in counting order. */
static int ordered(const struct rv_rope *rope, struct rv_step path[RV_RIG_STEPS])
{
	bool back = rope->steps > 0 && rope->path[rope->steps - 1].kind == RV_STEP_WINCH;

	for (int i = 0; i < rope->steps; i++)
		path[i] = rope->path[back ? rope->steps - 1 - i : i];
	return rope->steps;
}

static enum rv_err check_path(const struct rv_rig *rig, int r, const struct rv_step *path,
			      int steps, struct rv_error *error)
{
	int used[RV_RIG_BLOCKS] = {0};

	if (steps < 2)
		return refuse(rig, r, error, "path_short", "needs two ends", "");
	if (path[0].kind == RV_STEP_WINCH && path[steps - 1].kind == RV_STEP_WINCH)
		return refuse(rig, r, error, "winch_both", "has a winch at both ends", "");
	for (int i = 1; i + 1 < steps; i++) {
		struct rv_step step = path[i];

		if (step.kind == RV_STEP_TAIL)
			return refuse(rig, r, error, "tail_inside", "has a tail in its middle", "");
		if (step.kind == RV_STEP_WINCH)
			return refuse(rig, r, error, "winch_inside",
				      "has a winch in its middle: ", rig->winch[step.index].name);
		if (step.kind == RV_STEP_BLOCK &&
		    (++used[step.index] > rig->block[step.index].sheaves ||
		     step.sheave >= rig->block[step.index].sheaves))
			return refuse(rig, r, error, "sheaves_spent",
				      "passes more often than it has sheaves over block ",
				      rig->block[step.index].name);
	}
	return RV_OK;
}

static bool is_grab(const struct rv_step *path, int steps, int i)
{
	return i > 0 && i + 1 < steps && path[i].kind == RV_STEP_POINT;
}

static void start_piece(struct rv_reeving *reeving, int rope, struct rv_step start)
{
	reeving->piece[reeving->pieces++] = (struct rv_reeve_piece){
	    .rope = rope,
	    .winch = start.kind == RV_STEP_WINCH ? start.index : -1,
	    .first_leg = reeving->legs,
	    .first_pass = reeving->passes,
	};
}

static void add_leg(const struct rv_rig *rig, struct rv_reeving *reeving, struct rv_step from,
		    struct rv_step to)
{
	struct rv_reeve_piece *piece = &reeving->piece[reeving->pieces - 1];
	int legs_before = 0;

	for (int i = 0; i < reeving->legs; i++)
		legs_before += reeving->leg[i].rope == piece->rope;
	reeving->leg[reeving->legs++] = (struct rv_reeve_leg){
	    .rope = piece->rope,
	    .leg = legs_before + 1,
	    .piece = reeving->pieces - 1,
	    .a = rv_rig_step_point(rig, &from),
	    .b = rv_rig_step_point(rig, &to),
	    .from = from,
	    .to = to,
	};
	piece->legs++;
}

static void add_pass(struct rv_reeving *reeving, struct rv_step step)
{
	struct rv_reeve_piece *piece = &reeving->piece[reeving->pieces - 1];

	reeving->pass[reeving->passes++] = (struct rv_reeve_pass){
	    .block = step.index,
	    .sheave = step.sheave,
	    .piece = reeving->pieces - 1,
	    .before = reeving->legs - 1,
	};
	piece->passes++;
}

static enum rv_err cut_rope(const struct rv_rig *rig, int r, struct rv_reeving *reeving,
			    struct rv_error *error)
{
	struct rv_step path[RV_RIG_STEPS];
	int steps = ordered(&rig->rope[r], path);
	enum rv_err err = check_path(rig, r, path, steps, error);
	int first = 0, last = steps - 1;

	if (err != RV_OK)
		return err;
	if (path[first].kind == RV_STEP_TAIL)
		while (++first < last && !is_grab(path, steps, first))
			;
	if (path[last].kind == RV_STEP_TAIL)
		while (--last > first && !is_grab(path, steps, last))
			;
	for (int i = first; i < last; i++) {
		bool starts = i == first || is_grab(path, steps, i);

		if (reeving->legs == RV_RIG_LEGS || (starts && reeving->pieces == RV_REEVE_PIECES))
			return rv_err_at(error, RV_ERR_RANGE, rig->rope[r].line, 0,
					 "the lines have too many legs; %d are allowed",
					 RV_RIG_LEGS);
		if (starts)
			start_piece(reeving, r, path[i]);
		else
			add_pass(reeving, path[i]);
		add_leg(rig, reeving, path[i], path[i + 1]);
		struct rv_reeve_piece *piece = &reeving->piece[reeving->pieces - 1];
		if (starts)
			piece->starts_at_grab = is_grab(path, steps, i);
		piece->ends_at_grab = is_grab(path, steps, i + 1);
	}
	return RV_OK;
}

static enum rv_err refuse_at(struct rv_error *error, int line, const char *tag, const char *what,
			     const char *name)
{
	enum rv_err err = rv_err_refuse(error, tag, "%s %s", what, name);

	if (error)
		error->line = line;
	return err;
}

static bool touches_load(const struct rv_rig *rig, const struct rv_reeving *reeving, int load)
{
	for (int i = 0; i < reeving->legs; i++)
		if (rig->point[reeving->leg[i].a].load == load ||
		    rig->point[reeving->leg[i].b].load == load)
			return true;
	return false;
}

static bool uses_block(const struct rv_reeving *reeving, int block)
{
	for (int i = 0; i < reeving->passes; i++)
		if (reeving->pass[i].block == block)
			return true;
	for (int i = 0; i < reeving->legs; i++) {
		const struct rv_reeve_leg *leg = &reeving->leg[i];
		if ((leg->from.kind == RV_STEP_BLOCK && leg->from.index == block) ||
		    (leg->to.kind == RV_STEP_BLOCK && leg->to.index == block))
			return true;
	}
	return false;
}

static enum rv_err check_uses(const struct rv_rig *rig, const struct rv_reeving *reeving,
			      struct rv_error *error)
{
	for (int w = 0; w < rig->winches; w++) {
		int pieces = 0;

		for (int i = 0; i < reeving->pieces; i++)
			pieces += reeving->piece[i].winch == w;
		if (pieces == 0)
			return refuse_at(error, rig->winch[w].line, "winch_unused",
					 "no line starts at winch", rig->winch[w].name);
		if (pieces > 1)
			return refuse_at(error, rig->winch[w].line, "winch_twice",
					 "more than one line starts at winch", rig->winch[w].name);
	}
	for (int i = 0; i < rig->blocks; i++)
		if (!uses_block(reeving, i))
			return refuse_at(error, rig->block[i].line, "block_unused",
					 "no line touches block", rig->block[i].name);
	for (int i = 0; i < rig->loads; i++)
		if (!touches_load(rig, reeving, i))
			return refuse_at(error, rig->load[i].line, "load_untied",
					 "no line is made fast to load", rig->load[i].name);
	return RV_OK;
}

enum rv_err rv_reeve_cut(const struct rv_rig *rig, struct rv_reeving *reeving,
			 struct rv_error *error)
{
	struct rv_reeving made;
	enum rv_err err = RV_OK;

	memset(&made, 0, sizeof made);
	if (rig->points == 0)
		return rv_err_refuse(error, "no_points", "the rig has no points");
	if (rig->ropes == 0)
		return rv_err_refuse(error, "no_lines", "the rig has no lines");
	for (int r = 0; r < rig->ropes && err == RV_OK; r++)
		err = cut_rope(rig, r, &made, error);
	if (err == RV_OK)
		err = check_uses(rig, &made, error);
	if (err == RV_OK)
		*reeving = made;
	return err;
}

int rv_reeve_find_leg(const struct rv_reeving *reeving, int rope, int leg)
{
	for (int i = 0; i < reeving->legs; i++)
		if (reeving->leg[i].rope == rope && reeving->leg[i].leg == leg)
			return i;
	return -1;
}

int rv_reeve_end_leg(const struct rv_rig *rig, const struct rv_reeving *reeving, int rope)
{
	struct rv_step path[RV_RIG_STEPS];
	int steps = ordered(&rig->rope[rope], path);
	int end = -1;

	if (path[steps - 1].kind == RV_STEP_TAIL)
		return -1;
	for (int i = 0; i < reeving->legs; i++)
		if (reeving->leg[i].rope == rope)
			end = i;
	return end;
}

int rv_reeve_winch_piece(const struct rv_reeving *reeving, int winch)
{
	for (int i = 0; i < reeving->pieces; i++)
		if (reeving->piece[i].winch == winch)
			return i;
	return -1;
}
