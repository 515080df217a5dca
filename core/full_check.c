/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/full_check.h"

#include <math.h>
#include <string.h>

#include "core/balance.h"
#include "core/equations_rate.h"
#include "core/full_speed.h"
#include "core/reach.h"

#define NO_SPEED 1e-9

static enum rv_err refuse(struct rv_error *error, int line, const char *tag, const char *who,
			  const char *name, const char *what)
{
	enum rv_err err = rv_err_refuse(error, tag, "%s %s %s", who, name, what);

	if (error)
		error->line = line;
	return err;
}

static enum rv_err check_travels(const struct rv_layout *layout, struct rv_error *error)
{
	for (int b = 0; b < layout->rig.loads; b++) {
		const struct rv_load *load = &layout->rig.load[b];
		double size = rv_pose_size(load->travels);

		if (load->is_free)
			continue;
		if (isnan(size))
			return refuse(error, load->line, "travel_missing", "load", load->name,
				      "needs the direction it travels, or free: true");
		if (!(size > 0.0))
			return refuse(error, load->line, "travel_zero", "load", load->name,
				      "has a travel without direction");
	}
	return RV_OK;
}

/* A line without winch between things that do not float: nothing tells its tension. */
static enum rv_err check_dead_piece(const struct rv_layout *layout, int i, struct rv_error *error)
{
	const struct rv_reeve_piece *piece = &layout->reeving.piece[i];
	const struct rv_rope *rope = &layout->rig.rope[piece->rope];
	double grows = 0.0;

	for (int l = piece->first_leg; l < piece->first_leg + piece->legs; l++) {
		const struct rv_point *a = &layout->rig.point[layout->reeving.leg[l].a];
		const struct rv_point *b = &layout->rig.point[layout->reeving.leg[l].b];
		const double *d = layout->pose.direction[l];

		if (a->kind == RV_POINT_FLOATS || b->kind == RV_POINT_FLOATS)
			return RV_OK;
		if (a->load >= 0)
			grows -= rv_pose_dot(d, layout->pose.travels[a->load]);
		if (b->load >= 0)
			grows += rv_pose_dot(d, layout->pose.travels[b->load]);
	}
	if (layout->rig.loads > 1 && rv_layout_piece_load(layout, i) == -2)
		return RV_OK;
	if (fabs(grows) > NO_SPEED)
		return refuse(error, rope->line, "travel_blocked", "line", rope->name,
			      "has no winch and ties the load to the ground: it cannot move");
	return refuse(error, rope->line, "split_unknown", "line", rope->name,
		      "has no winch and nothing moves it: its tension cannot be told");
}

static enum rv_err check_driven(const struct rv_layout *layout, struct rv_error *error)
{
	const struct rv_rig *rig = &layout->rig;
	struct rv_reach reach;

	rv_reach_find(layout, &reach);
	for (int i = 0; i < layout->reeving.pieces; i++) {
		int winch = layout->reeving.piece[i].winch, cluster = reach.of_piece[i];

		if (winch >= 0 && !rv_reach_has_force(layout, &reach, cluster))
			return refuse(error, rig->winch[winch].line, "winch_idle", "winch",
				      rig->winch[winch].name,
				      "pulls nothing: its line leads to no load and no weight");
		if (cluster >= 0 && rv_reach_loads(layout, &reach, cluster) > 1 &&
		    !rv_full_speed_is_driven(rig))
			return refuse(error, rig->rope[layout->reeving.piece[i].rope].line,
				      "speeds_unknown", "line",
				      rig->rope[layout->reeving.piece[i].rope].name,
				      "moves two loads: which goes how fast is not told; one winch "
				      "for each load and how fast each runs (drive) would tell it");
	}
	if (rig->loads == 0 && rig->winches > 0 && layout->reeving.passes > 0 &&
	    !rv_full_speed_is_driven(rig))
		return refuse(error, rig->winch[0].line, "speeds_unknown", "winch",
			      rig->winch[0].name,
			      "moves no load with a travel: which winch runs (drive) decides the "
			      "friction at the sheaves");
	return RV_OK;
}

enum rv_err rv_full_check_before(const struct rv_layout *layout, struct rv_error *error)
{
	enum rv_err err = check_travels(layout, error);

	for (int i = 0; i < layout->reeving.pieces && err == RV_OK; i++)
		if (layout->reeving.piece[i].winch < 0)
			err = check_dead_piece(layout, i, error);
	return err == RV_OK ? check_driven(layout, error) : err;
}

enum rv_err rv_full_check_after(const struct rv_layout *layout, struct rv_error *error)
{
	const struct rv_rig *rig = &layout->rig;

	for (int i = 0; i < layout->reeving.pieces && rig->loads > 0; i++) {
		int winch = layout->reeving.piece[i].winch;
		double speed = layout->pose.line_speed_ratio[i];

		if (winch < 0 || rv_full_speed_is_driven(rig))
			continue;
		if (fabs(speed) <= NO_SPEED)
			return refuse(error, rig->winch[winch].line, "winch_idle", "winch",
				      rig->winch[winch].name,
				      "takes in no line when the load moves");
		if (speed < 0.0 && rig->winches == 1 && rig->loads == 1)
			return refuse(error, rig->load[0].line, "load_not_pulled", "load",
				      rig->load[0].name,
				      "would have to pay out line to go the way it travels");
	}
	return RV_OK;
}

enum rv_err rv_full_check_undecided(const struct rv_layout *layout, struct rv_error *error)
{
	int at = 0;

	/* The slowest is the one in doubt. */
	for (int p = 1; p < layout->reeving.passes; p++)
		if (fabs(layout->pose.rope_speed_ratio[p]) <
		    fabs(layout->pose.rope_speed_ratio[at]))
			at = p;
	const struct rv_block *block = &layout->rig.block[layout->reeving.pass[at].block];
	return refuse(error, block->line, "turns_undecided", "block", block->name,
		      "turns one way for the friction of the other: which way the sheaves turn "
		      "does not settle");
}

/* ---- equations that do not decide ---- */

static int largest(const double *v, int from, int to)
{
	int at = from;

	for (int i = from; i < to; i++)
		if (fabs(v[i]) > fabs(v[at]))
			at = i;
	return at;
}

/* Lengths alone, of lines without winch, forbid the loads to move. */
static bool blocks_travel(const struct rv_solving *s, const double *left)
{
	struct rv_motions motions;
	double rate[RV_LINEAR_MOST], sum = 0.0;

	memset(&motions, 0, sizeof motions);
	for (int p = 0; p < s->layout->rig.points; p++)
		if (s->layout->rig.point[p].load >= 0)
			memcpy(motions.point[p],
			       s->layout->pose.travels[s->layout->rig.point[p].load],
			       sizeof motions.point[p]);
	rv_equations_rate(s, &motions, rate);
	int first = s->equations->positions, end = s->equations->n - s->equations->givens.count;
	for (int i = 0; i < s->equations->n; i++) {
		if (i >= first && i < end)
			sum += left[i] * rate[i];
		else if (fabs(left[i]) > 1e-6)
			return false;
	}
	return fabs(sum) * s->equations->length_m > 1e-7;
}

static enum rv_err refuse_singular(const struct rv_solving *s, struct rv_error *error)
{
	const struct rv_equations *eq = s->equations;
	const struct rv_rig *rig = &s->layout->rig;
	double right[RV_LINEAR_MOST], left[RV_LINEAR_MOST];

	rv_equations_matrix(s);
	(void)rv_linear_null(s->linear, right, left);
	int place = largest(right, 0, eq->positions);
	int piece = largest(right, eq->positions, eq->n) - eq->positions;
	bool is_place =
	    eq->positions > 0 && fabs(right[place]) >= fabs(right[eq->positions + piece]);
	if (is_place) {
		const struct rv_point *point = &rig->point[eq->floating[place / eq->dimensions]];
		return refuse(error, point->line, "rig_loose", "point", point->name,
			      "is not held: the lines leave it free to move");
	}
	const struct rv_rope *rope = &rig->rope[s->layout->reeving.piece[piece].rope];
	if (blocks_travel(s, left))
		return refuse(error, rope->line, "travel_blocked", "line", rope->name,
			      "ties the load so that it cannot move the way it travels");
	return refuse(error, rope->line, "split_unknown", "line", rope->name,
		      "shares a load with others in a way the given forces cannot tell: give one "
		      "of them a cell or a line_pull");
}

/* The floating point at which most is left over. */
static enum rv_err refuse_stalled(const struct rv_solving *s, struct rv_error *error)
{
	double rest[RV_LINEAR_MOST];
	int at = 0;

	if (s->equations->floats == 0)
		return rv_err_refuse(error, "no_equilibrium",
				     "no tensions are found at which all given forces are met");
	if (rv_equations_rest(s, rest))
		at = largest(rest, 0, s->equations->positions) / s->equations->dimensions;
	const struct rv_point *point = &s->layout->rig.point[s->equations->floating[at]];
	return refuse(error, point->line, "no_equilibrium", "point", point->name,
		      "finds no place at which its lines hold it");
}

/* With all lines equally tight: that the equations do not decide is then in how the lines run, and
 * not in a tension that happens to be nothing. */
static bool is_tied_down(const struct rv_solving *s)
{
	double right[RV_LINEAR_MOST], left[RV_LINEAR_MOST], rest[RV_LINEAR_MOST];
	struct rv_tension tight = *s->tension;
	struct rv_solving tied = *s;

	if (s->layout->rig.loads == 0)
		return false;
	for (int i = 0; i < s->layout->reeving.pieces; i++)
		tight.start_n[i] = s->equations->force_n;
	tied.tension = &tight;
	if (!rv_equations_rest(&tied, rest))
		return false;
	rv_equations_matrix(&tied);
	return rv_linear_null(s->linear, right, left) < 1e-9 && blocks_travel(&tied, left);
}

static enum rv_err refuse_blocked(const struct rv_solving *s, int loose, struct rv_error *error)
{
	const struct rv_layout *layout = s->layout;
	int piece = loose;

	for (int i = 0; i < layout->reeving.pieces && piece < 0; i++)
		if (layout->reeving.piece[i].winch < 0)
			piece = i;
	const struct rv_rope *rope =
	    &layout->rig.rope[layout->reeving.piece[piece < 0 ? 0 : piece].rope];
	return refuse(error, rope->line, "travel_blocked", "line", rope->name,
		      "ties the load so that it cannot move the way it travels");
}

static bool runs_backwards(const struct rv_solving *s)
{
	const struct rv_layout *layout = s->layout;

	if (layout->rig.winches != 1 || layout->rig.loads != 1)
		return false;
	return s->tension->start_n[rv_reeve_winch_piece(&layout->reeving, 0)] < 0.0;
}

enum rv_err rv_full_check_refuse(const struct rv_solving *s, enum rv_full_step end, int pushing,
				 int loose, struct rv_error *error)
{
	const struct rv_rig *rig = &s->layout->rig;

	switch (end) {
	case RV_FULL_STEP_DONE:
		if (pushing >= 0 && runs_backwards(s))
			return refuse(
			    error, rig->load[0].line, "load_not_pulled", "load", rig->load[0].name,
			    "is not pulled the way it travels: its lines would have to push");
		break;
	case RV_FULL_STEP_MEETS:
		if (rv_pose_place(rig, &s->layout->reeving, &s->layout->pose, error) != RV_OK)
			return RV_ERR_REFUSED;
		break;
	case RV_FULL_STEP_STALLED:
	case RV_FULL_STEP_SINGULAR:
		pushing = -1;
		break;
	}
	if (end != RV_FULL_STEP_DONE && is_tied_down(s))
		return refuse_blocked(s, loose, error);
	if (pushing < 0 && loose >= 0) {
		const struct rv_rope *rope = &rig->rope[s->layout->reeving.piece[loose].rope];
		return refuse(error, rope->line, "line_slack", "line", rope->name,
			      "hangs slack where it is needed: it is too long, or what it should "
			      "hold is pulled the other way");
	}
	if (pushing >= 0)
		return rv_balance_refuse_slack(s->layout, pushing, error);
	if (end == RV_FULL_STEP_SINGULAR)
		return refuse_singular(s, error);
	return refuse_stalled(s, error);
}
