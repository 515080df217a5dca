/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/full.h"

#include <math.h>
#include <string.h>

#include "core/full_check.h"
#include "core/full_speed.h"
#include "core/full_step.h"
#include "core/rest.h"

enum { PATTERNS = 12, ROUNDS = 20 };

bool rv_full_is_needed(const struct rv_layout *layout)
{
	if (layout->rig.loads == 0)
		return true;
	for (int p = 0; p < layout->rig.points; p++)
		if (layout->rig.point[p].kind == RV_POINT_FLOATS)
			return true;
	for (int i = 0; i < layout->reeving.pieces; i++)
		if (rv_layout_piece_load(layout, i) == -2)
			return true;
	return false;
}

/* The way a free load begins to look: as if all its lines were equally tight. */
static void guess_travels(struct rv_layout *layout)
{
	double even[RV_RIG_LEGS];

	for (int l = 0; l < RV_RIG_LEGS; l++)
		even[l] = 1.0;
	for (int b = 0; b < layout->rig.loads; b++) {
		const struct rv_load *load = &layout->rig.load[b];
		double way[RV_DIM];

		memcpy(way, load->travels, sizeof way);
		if (load->is_free)
			rv_layout_pull(layout, b, even, false, way);
		double size = rv_pose_size(way);
		for (int i = 0; i < RV_DIM; i++)
			layout->pose.travels[b][i] = size > 0.0 ? way[i] / size : 0.0;
	}
}

enum rv_err rv_full_set(struct rv_layout *layout, const struct rv_givens *givens,
			struct rv_full *full, struct rv_error *error)
{
	memset(full, 0, sizeof *full);
	enum rv_err err = rv_equations_set(layout, givens, &full->equations, error);
	if (err == RV_OK)
		err = rv_pose_place(&layout->rig, &layout->reeving, &layout->pose, error);
	if (err != RV_OK)
		return err;
	guess_travels(layout);
	rv_friction_start(&layout->rig, &layout->reeving, &layout->pose, 1, &full->friction);
	return rv_full_check_before(layout, error);
}

/* The leg that pulls least, where that is not at all and its piece is no slack one; or -1. */
static int pushing_leg(const struct rv_full *full, const struct rv_layout *layout)
{
	int found = -1;
	double least_n = 0.0;

	for (int l = 0; l < layout->reeving.legs; l++) {
		double n = full->tension.leg_n[l];

		if (full->equations.slack[layout->reeving.leg[l].piece] ||
		    n > 1e-9 * full->equations.force_n)
			continue;
		if (found < 0 || n < least_n) {
			found = l;
			least_n = n;
		}
	}
	return found;
}

/* Slack lines must be long enough for that. */
static bool slack_fits(const struct rv_full *full, const struct rv_layout *layout)
{
	for (int i = 0; i < layout->reeving.pieces; i++) {
		const struct rv_reeve_piece *piece = &layout->reeving.piece[i];
		double sum_m = 0.0;

		for (int k = 0; k < piece->legs; k++)
			sum_m += layout->pose.length_m[piece->first_leg + k];
		if (full->equations.slack[i] && sum_m > full->equations.target_m[i])
			return false;
	}
	return true;
}

static struct rv_solving solving(struct rv_full *full, struct rv_layout *layout,
				 const struct rv_friction *friction)
{
	return (struct rv_solving){&full->equations, layout, friction, &full->tension,
				   &full->linear};
}

static enum rv_full_step attempt(struct rv_full *full, struct rv_layout *layout,
				 const struct rv_friction *friction)
{
	struct rv_solving s = solving(full, layout, friction);
	int steps = 0;
	enum rv_full_step end = rv_full_step_solve(&s, &steps);
	full->steps_made += steps;
	return end;
}

static bool is_good(enum rv_full_step end, const struct rv_full *full,
		    const struct rv_layout *layout)
{
	return end == RV_FULL_STEP_DONE && pushing_leg(full, layout) < 0 &&
	       slack_fits(full, layout);
}

static void cold_start(struct rv_full *full, struct rv_layout *layout,
		       const struct rv_friction *friction)
{
	struct rv_solving s = solving(full, layout, friction);

	memset(full->equations.slack, 0, sizeof full->equations.slack);
	(void)rv_full_step_start(&s);
}

/* From the shape without friction; lines that hang slack there, if the rest can do without them. */
static enum rv_full_step from_rest(struct rv_full *full, struct rv_layout *layout,
				   const struct rv_friction *friction, int *loose)
{
	struct rv_solving s = solving(full, layout, friction);
	bool slack[RV_REEVE_PIECES];
	enum rv_full_step end = RV_FULL_STEP_STALLED;

	layout->pose = full->kept;
	cold_start(full, layout, friction);
	if (!rv_rest_find(&s, slack))
		return RV_FULL_STEP_MEETS;
	struct rv_pose rested = layout->pose;
	struct rv_tension tension = full->tension;
	end = attempt(full, layout, friction);
	if (is_good(end, full, layout))
		return end;
	for (int i = layout->reeving.pieces - 1; i >= 0; i--)
		if (slack[i])
			*loose = i;
	if (*loose < 0)
		return end;
	struct rv_pose first = layout->pose;
	struct rv_tension first_tension = full->tension;
	layout->pose = rested;
	full->tension = tension;
	memcpy(full->equations.slack, slack, sizeof slack);
	if (is_good(attempt(full, layout, friction), full, layout))
		return RV_FULL_STEP_DONE;
	/* They are needed: what was found with them says why it will not do. */
	memset(full->equations.slack, 0, sizeof full->equations.slack);
	layout->pose = first;
	full->tension = first_tension;
	return end;
}

static void fill(const struct rv_full *full, const struct rv_layout *layout,
		 struct rv_balance *balance)
{
	balance->chain = full->tension.chain;
	memcpy(balance->start_n, full->tension.start_n, sizeof balance->start_n);
	memcpy(balance->tension_n, full->tension.leg_n, sizeof balance->tension_n);
	memcpy(balance->slack, full->equations.slack, sizeof balance->slack);
	for (int l = 0; l < layout->reeving.legs; l++)
		if (balance->slack[layout->reeving.leg[l].piece])
			balance->tension_n[l] = 0.0;
}

/* A free load goes the way its lines pull. */
static void follow(struct rv_layout *layout, const double *tension_n)
{
	for (int b = 0; b < layout->rig.loads; b++) {
		double sum[RV_DIM];

		if (!layout->rig.load[b].is_free)
			continue;
		rv_layout_pull(layout, b, tension_n, true, sum);
		double size = rv_pose_size(sum);
		for (int i = 0; i < RV_DIM && size > 0.0; i++)
			layout->pose.travels[b][i] = sum[i] / size;
	}
}

static enum rv_err finish(struct rv_full *full, struct rv_layout *layout,
			  const struct rv_friction *friction, struct rv_balance *balance,
			  struct rv_error *error)
{
	struct rv_balance made;

	memset(&made, 0, sizeof made);
	fill(full, layout, &made);
	follow(layout, made.tension_n);
	enum rv_err err = RV_OK;
	for (int l = 0; l < layout->reeving.legs && err == RV_OK; l++)
		err = rv_balance_check_leg(layout, l, made.tension_n[l], error);
	if (err == RV_OK)
		err = rv_balance_weigh(layout, &made, error);
	if (err != RV_OK)
		return err;
	struct rv_solving s = solving(full, layout, friction);
	rv_full_speed_set(&s);
	*balance = made;
	return RV_OK;
}

enum rv_err rv_full_solve(struct rv_full *full, struct rv_layout *layout,
			  const struct rv_friction *friction, struct rv_balance *balance,
			  struct rv_error *error)
{
	full->kept = layout->pose;
	if (!full->is_warm)
		cold_start(full, layout, friction);
	enum rv_full_step end = attempt(full, layout, friction);
	int loose = -1;
	if (!is_good(end, full, layout) && full->equations.floats > 0)
		end = from_rest(full, layout, friction, &loose);
	enum rv_err err = RV_OK;
	if (!is_good(end, full, layout)) {
		struct rv_solving s = solving(full, layout, friction);
		err = rv_full_check_refuse(&s, end, pushing_leg(full, layout), loose, error);
	}
	if (err == RV_OK)
		err = finish(full, layout, friction, balance, error);
	full->is_warm = err == RV_OK;
	if (err != RV_OK)
		layout->pose = full->kept;
	return err;
}

void rv_full_grow(const struct rv_full *full, const struct rv_layout *layout, double *slope)
{
	const struct rv_equations *equations = &full->equations;
	double way[RV_LINEAR_MOST];

	memset(way, 0, sizeof way);
	way[equations->n - equations->givens.count] = 1.0;
	rv_linear_solve(&full->linear, way);
	for (int i = 0; i < layout->reeving.pieces; i++)
		slope[i] = way[equations->positions + i];
}

/* ---- turns ---- */

static bool seen(const signed char pattern[][RV_RIG_LEGS], int count, const signed char *turn)
{
	for (int i = 0; i < count; i++)
		if (memcmp(pattern[i], turn, RV_RIG_LEGS) == 0)
			return true;
	return false;
}

/* Sheaves that hardly turn and change their mind are held still. */
static bool hold_waverers(const struct rv_layout *layout, const signed char *before,
			  struct rv_friction *friction, bool *held)
{
	bool any = false;

	for (int p = 0; p < layout->reeving.passes; p++) {
		if (held[p] || before[p] == friction->turn[p] ||
		    !rv_friction_is_still(&layout->reeving, &layout->pose, p))
			continue;
		held[p] = any = true;
	}
	for (int p = 0; p < layout->reeving.passes; p++)
		if (held[p])
			friction->turn[p] = 0;
	return any;
}

static void reset(const struct rv_layout *layout, struct rv_full *full)
{
	for (int b = 0; b < layout->rig.blocks; b++) {
		double middle = layout->rig.block[b].efficiency.middle;
		full->friction.efficiency_ratio[b] = isnan(middle) ? 1.0 : middle;
	}
	if (!full->is_warm)
		memset(full->friction.turn, 0, sizeof full->friction.turn);
	full->friction.lossless = false;
	full->passes_made = full->steps_made = 0;
}

enum rv_err rv_full_settle(struct rv_full *full, struct rv_layout *layout, int sense,
			   struct rv_balance *balance, struct rv_error *error)
{
	signed char pattern[PATTERNS][RV_RIG_LEGS];
	bool held[RV_RIG_LEGS] = {false};

	reset(layout, full);
	for (int pass = 0; pass < PATTERNS; pass++) {
		enum rv_err err = rv_full_solve(full, layout, &full->friction, balance, error);

		if (err != RV_OK)
			return err;
		full->passes_made++;
		memcpy(pattern[pass], full->friction.turn, sizeof pattern[pass]);
		bool same =
		    rv_friction_turn(&layout->reeving, &layout->pose, sense, &full->friction);
		for (int p = 0; p < layout->reeving.passes; p++)
			if (held[p])
				full->friction.turn[p] = 0;
		if (same || memcmp(pattern[pass], full->friction.turn, RV_RIG_LEGS) == 0)
			return rv_full_check_after(layout, error);
		if (seen(pattern, pass + 1, full->friction.turn) &&
		    !hold_waverers(layout, pattern[pass], &full->friction, held))
			break;
	}
	return rv_full_check_undecided(layout, error);
}
