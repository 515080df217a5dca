/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/balance.h"

#include <math.h>
#include <string.h>

#include "core/cell.h"
#include "core/force.h"

/* sum over winches of factor * start tension = value. */
struct row {
	double factor[RV_RIG_WINCHES];
	double value_n;
};

struct work {
	const struct rv_layout *layout;
	struct rv_chain chain;
	int piece[RV_RIG_WINCHES]; /* of each winch */
	struct row row[RV_RIG_WINCHES];
};

/* The tensions that one winch alone makes per newton of its pull. */
static void slopes_of(const struct work *work, int winch, double *slope)
{
	const struct rv_reeving *reeving = &work->layout->reeving;

	for (int l = 0; l < reeving->legs; l++)
		slope[l] = reeving->leg[l].piece == work->piece[winch] ? work->chain.slope[l] : 0.0;
}

static void row_of_load(const struct work *work, int load, double force_n, struct row *row)
{
	const struct rv_layout *layout = work->layout;
	const double *travels = layout->pose.travels[load];
	double slope[RV_RIG_LEGS], sum[RV_DIM], rest_n[RV_DIM];

	rv_layout_pull(layout, load, work->chain.constant_n, true, rest_n);
	row->value_n = force_n - rv_pose_dot(rest_n, travels);
	for (int w = 0; w < layout->rig.winches; w++) {
		slopes_of(work, w, slope);
		rv_layout_pull(layout, load, slope, false, sum);
		row->factor[w] = rv_pose_dot(sum, travels);
	}
	if (!layout->rig.load[load].is_free || layout->rig.winches != 1)
		return;
	/* A free load holds against whatever its lines pull together. */
	row->factor[0] = 1.0;
	row->value_n = rv_force_root(sum, rest_n, force_n);
}

static enum rv_err row_of_cell(const struct work *work, int cell, double force_n, struct row *row,
			       struct rv_error *error)
{
	const struct rv_layout *layout = work->layout;
	int piece = rv_cell_piece(layout, cell);
	int winch = piece < 0 ? -1 : layout->reeving.piece[piece].winch;
	struct rv_balance trial = {.chain = work->chain};

	if (winch < 0)
		return rv_err_refuse(
		    error, "split_unknown",
		    "cell %s feels no line, or several: it cannot tell their tensions",
		    layout->rig.cell[cell].name);
	row->factor[winch] = 1.0;
	row->value_n = rv_cell_start(layout, &layout->pose, &work->chain, cell, force_n);
	for (int l = 0; l < layout->reeving.legs; l++)
		trial.tension_n[l] =
		    work->chain.slope[l] * row->value_n + work->chain.constant_n[l];
	if (fabs(rv_force_at_cell(&layout->set, &layout->pose, cell, trial.tension_n) - force_n) >
	    1e-6 * force_n)
		return rv_err_refuse(error, "cell_unreachable",
				     "cell %s cannot carry so little in this rig",
				     layout->rig.cell[cell].name);
	return RV_OK;
}

static enum rv_err set_row(struct work *work, const struct rv_given *given, struct row *row,
			   struct rv_error *error)
{
	memset(row, 0, sizeof *row);
	switch (given->kind) {
	case RV_GIVEN_LINE_PULL:
		row->factor[given->index] = 1.0;
		row->value_n = given->force_n.middle;
		return RV_OK;
	case RV_GIVEN_RESISTS:
		row_of_load(work, given->index, given->force_n.middle, row);
		return RV_OK;
	case RV_GIVEN_CELL:
		break;
	}
	return row_of_cell(work, given->index, given->force_n.middle, row, error);
}

static void subtract(struct row *from, const struct row *row, double factor, int n)
{
	for (int k = 0; k < n; k++)
		from->factor[k] -= factor * row->factor[k];
	from->value_n -= factor * row->value_n;
}

/* Elimination with the largest pivot; at most four unknowns.  Rows hold numbers near 1. */
static bool eliminate(struct row *row, int n)
{
	for (int i = 0; i < n; i++) {
		int best = i;

		for (int j = i + 1; j < n; j++)
			if (fabs(row[j].factor[i]) > fabs(row[best].factor[i]))
				best = j;
		if (fabs(row[best].factor[i]) < 1e-11)
			return false;
		struct row swap = row[i];
		row[i] = row[best];
		row[best] = swap;
		for (int j = 0; j < n; j++)
			if (j != i)
				subtract(&row[j], &row[i], row[j].factor[i] / row[i].factor[i], n);
	}
	for (int i = 0; i < n; i++)
		row[i].value_n /= row[i].factor[i];
	return true;
}

enum rv_err rv_balance_refuse_slack(const struct rv_layout *layout, int index,
				    struct rv_error *error)
{
	const struct rv_reeve_leg *leg = &layout->reeving.leg[index];
	enum rv_err err = rv_err_refuse(
	    error, "line_slack", "line %s, leg %d (%s - %s) would have to push: it hangs slack",
	    layout->rig.rope[leg->rope].name, leg->leg, rv_reeve_name(&layout->rig, leg->from),
	    rv_reeve_name(&layout->rig, leg->to));

	if (error)
		error->line = layout->rig.rope[leg->rope].line;
	return err;
}

enum rv_err rv_balance_check_leg(const struct rv_layout *layout, int index, double tension_n,
				 struct rv_error *error)
{
	const struct rv_reeve_leg *leg = &layout->reeving.leg[index];

	if (tension_n < RV_BALANCE_MOST_N)
		return RV_OK;
	enum rv_err err = rv_err_refuse(
	    error, "no_equilibrium",
	    "line %s, leg %d (%s - %s) would carry more than %.0e N: look at the friction of the "
	    "blocks and at legs that hardly pull the way their load goes",
	    layout->rig.rope[leg->rope].name, leg->leg, rv_reeve_name(&layout->rig, leg->from),
	    rv_reeve_name(&layout->rig, leg->to), RV_BALANCE_MOST_N);
	if (error)
		error->line = layout->rig.rope[leg->rope].line;
	return err;
}

static enum rv_err spread(const struct rv_layout *layout, struct rv_balance *balance,
			  struct rv_error *error)
{
	for (int l = 0; l < layout->reeving.legs; l++) {
		double start_n = balance->start_n[layout->reeving.leg[l].piece];
		double tension_n = balance->chain.slope[l] * start_n + balance->chain.constant_n[l];

		if (!(tension_n > 0.0))
			return rv_balance_refuse_slack(layout, l, error);
		enum rv_err err = rv_balance_check_leg(layout, l, tension_n, error);
		if (err != RV_OK)
			return err;
		balance->tension_n[l] = tension_n;
	}
	return RV_OK;
}

enum rv_err rv_balance_weigh(const struct rv_layout *layout, struct rv_balance *balance,
			     struct rv_error *error)
{
	for (int b = 0; b < layout->rig.loads; b++) {
		const double *travels = layout->pose.travels[b];
		double sum[RV_DIM];

		rv_layout_pull(layout, b, balance->tension_n, true, sum);
		double along_n = rv_pose_dot(sum, travels);
		for (int i = 0; i < RV_DIM; i++)
			sum[i] -= along_n * travels[i];
		double across_n = rv_pose_size(sum);
		bool is_free = layout->rig.load[b].is_free;
		balance->resists_n[b] = is_free ? hypot(along_n, across_n) : along_n;
		balance->side_n[b] = is_free ? 0.0 : across_n;
		if (!(along_n > 0.0)) {
			enum rv_err err = rv_err_refuse(
			    error, "load_not_pulled",
			    "load %s is not pulled the way it travels: its lines pull across it or "
			    "against it",
			    layout->rig.load[b].name);
			if (error)
				error->line = layout->rig.load[b].line;
			return err;
		}
	}
	return RV_OK;
}

enum rv_err rv_balance_solve(const struct rv_layout *layout, const struct rv_friction *friction,
			     const struct rv_givens *givens, struct rv_balance *balance,
			     struct rv_error *error)
{
	struct work work = {.layout = layout};
	struct rv_balance made;
	int n = layout->rig.winches;
	enum rv_err err = RV_OK;

	memset(&made, 0, sizeof made);
	rv_friction_chain(&layout->rig, &layout->reeving, &layout->pose, friction, &work.chain);
	for (int w = 0; w < n; w++)
		work.piece[w] = rv_reeve_winch_piece(&layout->reeving, w);
	for (int i = 0; i < n && err == RV_OK; i++)
		err = set_row(&work, &givens->given[i], &work.row[i], error);
	if (err != RV_OK)
		return err;
	if (!eliminate(work.row, n))
		return rv_err_refuse(
		    error, "split_unknown",
		    "the lines share a load in a way the given forces cannot tell: "
		    "give one of them a line_pull or a cell");
	made.chain = work.chain;
	for (int w = 0; w < n; w++)
		made.start_n[work.piece[w]] = work.row[w].value_n;
	err = spread(layout, &made, error);
	if (err == RV_OK)
		err = rv_balance_weigh(layout, &made, error);
	if (err == RV_OK)
		*balance = made;
	return err;
}
