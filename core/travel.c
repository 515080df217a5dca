/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/travel.h"

#include <math.h>
#include <string.h>

enum {
	GRID = 64, /* places looked at between start and end; those that become rows are chosen */
	PARTS = 8, /* a row stands at each of so many equal parts whatever happens between */
	/* Of a free load's curve, between two places of the grid; halving them changes a 90 degree
	 * curve by less than 1e-4 of its length. */
	CURVE_STEPS = 4,
	HALVINGS = 50,
	RETRIES = 12,
};

/* Between two rows the velocity ratio changes by no more than this, while there are rows left. Read
 * off the line between two rows it is then right to a few per mille. */
#define KNOT_CHANGE 0.02

static double radius_m(const struct rv_rig *rig, struct rv_step step)
{
	if (step.kind != RV_STEP_BLOCK || isnan(rig->block[step.index].diameter_m))
		return 0.0;
	return 0.5 * rig->block[step.index].diameter_m;
}

/* The leg between two bodies that is too short, or -1. */
static int blocked_leg(const struct rv_layout *layout)
{
	for (int l = 0; l < layout->reeving.legs; l++) {
		const struct rv_reeve_leg *leg = &layout->reeving.leg[l];
		double radii_m =
		    radius_m(&layout->rig, leg->from) + radius_m(&layout->rig, leg->to);

		if (rv_solver_joins_bodies(layout, l) &&
		    layout->pose.length_m[l] < fmax(RV_TRAVEL_CLOSEST_M, radii_m))
			return l;
	}
	return -1;
}

struct way {
	struct rv_solver *solver;
	struct rv_layout *layout;
	int sense;
	double line_m; /* between winch and dead end at the start */
	double at_m;
	bool is_known; /* how far it goes: nothing blocks before that */
	struct rv_travel *travel;
};

static double line_out_m(const struct rv_layout *layout)
{
	const struct rv_reeve_piece *piece =
	    &layout->reeving.piece[rv_reeve_winch_piece(&layout->reeving, 0)];
	double sum_m = 0.0;

	for (int k = 0; k < piece->legs; k++)
		sum_m += layout->pose.length_m[piece->first_leg + k];
	return sum_m;
}

/* One step; a free load takes the direction it has halfway.  False = no balance, or two points met.
 */
static bool step(struct way *way, double step_m)
{
	struct rv_layout *layout = way->layout;
	struct rv_pose start = layout->pose;
	struct rv_balance balance;
	double signed_m = way->sense * step_m;
	struct rv_error *why = &way->travel->why;

	if (layout->rig.load[0].is_free) {
		if (rv_solver_advance(way->solver, 0.5 * signed_m, why) != RV_OK ||
		    rv_solver_settle(way->solver, way->sense, &balance, why) != RV_OK)
			return false;
		memcpy(start.travels, layout->pose.travels, sizeof start.travels);
		layout->pose = start;
	}
	if (rv_solver_advance(way->solver, signed_m, why) != RV_OK)
		return false;
	/* Where points float, how near things are is known only when they are in balance. */
	return !way->solver->full ||
	       rv_solver_settle(way->solver, way->sense, &balance, why) == RV_OK;
}

static bool add_row(struct way *way)
{
	struct rv_balance balance;
	struct rv_travel *travel = way->travel;

	if (rv_solver_settle(way->solver, way->sense, &balance, &travel->why) != RV_OK) {
		travel->end = RV_TRAVEL_NO_FORCES;
		return false;
	}
	int piece = rv_reeve_winch_piece(&way->layout->reeving, 0);
	travel->row[travel->rows++] = (struct rv_travel_row){
	    .travel_m = way->at_m,
	    .line_in_m = way->line_m - line_out_m(way->layout),
	    .velocity_ratio = way->layout->pose.line_speed_ratio[piece],
	    .line_pull_n = balance.start_n[piece],
	};
	return true;
}

/* From a pose that is free to one that is not: the last free one.  Returns how far that is. */
static double back_off(struct way *way, const struct rv_pose *from, double step_m)
{
	double free_m = 0.0, blocked_m = step_m;

	for (int i = 0; i < HALVINGS; i++) {
		double middle_m = 0.5 * (free_m + blocked_m);

		way->layout->pose = *from;
		if (step(way, middle_m) && blocked_leg(way->layout) < 0)
			free_m = middle_m;
		else
			blocked_m = middle_m;
	}
	way->layout->pose = *from;
	(void)step(way, free_m);
	return free_m;
}

/* One careful step.  False = the travel ends here. */
static bool step_on(struct way *way, double step_m)
{
	struct rv_pose before = way->layout->pose;

	/* Floating points may have gone too far for the way there to be found at once. */
	for (int i = 0; !step(way, step_m); i++) {
		way->layout->pose = before;
		step_m *= 0.5;
		if (i < RETRIES && way->solver->full)
			continue;
		way->travel->end = RV_TRAVEL_NO_FORCES;
		return false;
	}
	int leg = way->is_known ? -1 : blocked_leg(way->layout);
	if (leg < 0) {
		way->at_m += step_m;
		return true;
	}
	way->travel->end = RV_TRAVEL_TWO_BLOCKED;
	way->travel->leg = leg;
	way->at_m += back_off(way, &before, step_m);
	return false;
}

static bool go_on(struct way *way, double to_m)
{
	double most_m =
	    way->layout->rig.load[0].is_free ? (to_m - way->at_m) / CURVE_STEPS : to_m - way->at_m;

	while (to_m - way->at_m > 1e-9 * to_m) {
		double step_m =
		    fmin(fmin(most_m, to_m - way->at_m), rv_solver_stride_m(way->solver));

		if (!step_on(way, step_m))
			return false;
	}
	way->at_m = to_m;
	return true;
}

static void go_back(struct way *way, const struct rv_pose *start)
{
	way->layout->pose = *start;
	way->at_m = 0.0;
	rv_solver_forget(way->solver);
}

/* How far it goes: all the way, to two blocks, or to where the forces are at an end. */
static double reach_m(struct way *way, double travel_m)
{
	struct rv_balance balance;

	for (int i = 1; i <= GRID; i++)
		if (!go_on(way, travel_m * i / GRID) ||
		    rv_solver_settle(way->solver, way->sense, &balance, &way->travel->why) != RV_OK)
			break;
	return way->at_m;
}

/* The velocity ratio at each place of the grid. */
static void look(struct way *way, double reach_m, double *ratio)
{
	int piece = rv_reeve_winch_piece(&way->layout->reeving, 0);
	struct rv_balance balance;

	for (int i = 0; i <= GRID; i++) {
		(void)go_on(way, reach_m * i / GRID);
		(void)rv_solver_settle(way->solver, way->sense, &balance, NULL);
		ratio[i] = way->layout->pose.line_speed_ratio[piece];
	}
}

static double change(const double *ratio, int from, int to)
{
	double a = fabs(ratio[from]), b = fabs(ratio[to]);

	return a > 0.0 && b > 0.0 ? fabs(log(b / a)) : 1e9;
}

/* The widest change between two neighbouring rows with places between them; -1 = none is wide. */
static int widest(const double *ratio, const bool *is_row)
{
	double most = KNOT_CHANGE;
	int from = 0, found = -1;

	for (int i = 1; i <= GRID; i++) {
		if (!is_row[i])
			continue;
		if (i - from > 1 && change(ratio, from, i) > most) {
			most = change(ratio, from, i);
			found = from;
		}
		from = i;
	}
	return found;
}

/* Equal parts, and more rows where the ratio changes more: each in the middle of the change. */
static void choose(const double *ratio, bool *is_row)
{
	int rows = PARTS + 1;

	for (int i = 0; i <= GRID; i++)
		is_row[i] = i % (GRID / PARTS) == 0;
	for (; rows < RV_TRAVEL_ROWS; rows++) {
		int from = widest(ratio, is_row), to = from + 1, best;

		if (from < 0)
			return;
		while (!is_row[to])
			to++;
		best = from + 1;
		for (int i = from + 1; i < to; i++)
			if (fmax(change(ratio, from, i), change(ratio, i, to)) <
			    fmax(change(ratio, from, best), change(ratio, best, to)))
				best = i;
		is_row[best] = true;
	}
}

void rv_travel_go(struct rv_solver *solver, double travel_m, struct rv_travel *travel)
{
	struct rv_layout *layout = solver->layout;
	struct rv_pose start = layout->pose;
	struct way way = {.solver = solver,
			  .layout = layout,
			  .sense = layout->rig.haul_out ? -1 : 1,
			  .line_m = line_out_m(layout),
			  .travel = travel};
	double ratio[GRID + 1];
	bool is_row[GRID + 1];

	memset(travel, 0, sizeof *travel);
	travel->leg = blocked_leg(layout);
	if (travel->leg >= 0) {
		(void)add_row(&way);
		travel->end = RV_TRAVEL_TWO_BLOCKED;
		return;
	}
	double end_m = reach_m(&way, travel_m);
	enum rv_travel_end end = travel->end;
	way.is_known = true;
	go_back(&way, &start);
	look(&way, end_m, ratio);
	choose(ratio, is_row);
	go_back(&way, &start);
	for (int i = 0; i <= GRID; i++) {
		if (i > 0 && (end_m <= 0.0 || !go_on(&way, end_m * i / GRID)))
			break;
		if (is_row[i] && !add_row(&way))
			break;
	}
	travel->end = end;
}
