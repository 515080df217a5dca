/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/travel.h"

#include <math.h>
#include <string.h>

/* Steps of a free load's curve between two rows; halving them changes a 90 degree curve by less
 * than 1e-4 of its length. */
enum { CURVE_STEPS = 16, HALVINGS = 50, RETRIES = 12 };

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
	int leg = blocked_leg(way->layout);
	if (leg < 0) {
		way->at_m += step_m;
		return true;
	}
	way->travel->end = RV_TRAVEL_TWO_BLOCKED;
	way->travel->leg = leg;
	way->at_m += back_off(way, &before, step_m);
	(void)add_row(way);
	return false;
}

static bool go_on(struct way *way, double to_m)
{
	double row_m = to_m - way->at_m;
	double most_m = way->layout->rig.load[0].is_free ? row_m / CURVE_STEPS : row_m;

	while (to_m - way->at_m > 1e-9 * to_m) {
		double step_m =
		    fmin(fmin(most_m, to_m - way->at_m), rv_solver_stride_m(way->solver));

		if (!step_on(way, step_m))
			return false;
	}
	way->at_m = to_m;
	return add_row(way);
}

void rv_travel_go(struct rv_solver *solver, double travel_m, struct rv_travel *travel)
{
	struct rv_layout *layout = solver->layout;
	struct way way = {solver, layout, layout->rig.haul_out ? -1 : 1, line_out_m(layout),
			  0.0,	  travel};
	double row_m = travel_m / (RV_TRAVEL_ROWS - 1);

	memset(travel, 0, sizeof *travel);
	travel->leg = blocked_leg(layout);
	if (!add_row(&way))
		return;
	if (travel->leg >= 0) {
		travel->end = RV_TRAVEL_TWO_BLOCKED;
		return;
	}
	for (int i = 1; i < RV_TRAVEL_ROWS; i++)
		if (!go_on(&way, i * row_m))
			return;
}
