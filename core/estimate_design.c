/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/estimate_design.h"

#include <math.h>

#include "core/value.h"

/* Two cells must see legs that differ by this many sheaves; one cell up and down by as much each
 * way. */
#define LEAST_SHEAVES 0.3

static bool any_exchanged(const struct rv_chosen *chosen, int runs)
{
	for (int r = 0; r < runs; r++)
		for (int i = 0; i < chosen[r].hauls; i++)
			if (chosen[r].haul[i]->exchanged)
				return true;
	return false;
}

/* The run that has fewest. */
static const struct rv_chosen *poorest(const struct rv_chosen *chosen, int runs, bool cycles)
{
	const struct rv_chosen *least = chosen;

	for (int r = 1; r < runs; r++)
		if ((cycles ? chosen[r].cycles : chosen[r].hauls) <
		    (cycles ? least->cycles : least->hauls))
			least = &chosen[r];
	return least;
}

static bool gain_known(const struct rv_estimate_setup *setup)
{
	for (int r = 0; r < setup->runs; r++)
		if (isnan(rv_value_gain_u(setup, &setup->run[r])))
			return false;
	return true;
}

static enum rv_estimate_mode cycles_or_hauls(const struct rv_estimate_setup *setup,
					     const struct rv_chosen *chosen,
					     struct rv_estimate *estimate)
{
	bool several = setup->runs > 2;
	const struct rv_chosen *least = poorest(chosen, setup->runs, true);
	int cycles = least->cycles;

	if (cycles >= (several ? 1 : 3))
		return setup->design == RV_ESTIMATE_ONE_HUNG ? RV_ESTIMATE_HUNG
							     : RV_ESTIMATE_CYCLES;
	if (setup->design == RV_ESTIMATE_ONE_HUNG) {
		rv_chosen_refuse_few(least, cycles, several ? 1 : 3,
				     "Cycles of hauling in and paying out", estimate);
		return RV_ESTIMATE_NONE;
	}
	least = poorest(chosen, setup->runs, false);
	int hauls = least->hauls;
	if (hauls < (several ? 1 : 2)) {
		rv_chosen_refuse_few(least, hauls, several ? 1 : 2, "Hauls", estimate);
		return RV_ESTIMATE_NONE;
	}
	if (setup->motion == RV_ESTIMATE_BY_TENSIONS) {
		rv_estimate_refuse(
		    estimate, "no_two_states",
		    "Pay out under load after each haul, or mark when the winch hauls.",
		    "Motion can be told from tensions only where the line goes both ways; "
		    "there are hauls alone.");
		return RV_ESTIMATE_NONE;
	}
	if (!gain_known(setup)) {
		rv_estimate_refuse(
		    estimate, "no_gain_calibration",
		    "Pay out under load after each of three hauls, exchange the two cells "
		    "half-way, or calibrate them in series on one line.",
		    "From hauls alone the efficiency and a mismatch of the cells cannot be "
		    "separated, and "
		    "the gain uncertainty of a cell is not stated (cycles: %d; 3 would do).",
		    cycles);
		return RV_ESTIMATE_NONE;
	}
	return RV_ESTIMATE_HAULS;
}

/* The load must be able to do what a test with one cell rests on. */
static bool load_allows(const struct rv_estimate_setup *setup, struct rv_estimate *estimate)
{
	bool hung = setup->character == RV_LOAD_HUNG;

	if (setup->design == RV_ESTIMATE_ONE_MOVED) {
		if (hung || setup->character == RV_LOAD_STEADY)
			return true;
		rv_estimate_refuse(
		    estimate, "load_not_free",
		    "Declare the load's character as hung or steady if it is, or use two cells.",
		    "A cell moved from pull to pull compares pulls of one load, and this load is "
		    "not "
		    "declared to repeat.");
		return false;
	}
	if (hung)
		return true;
	rv_estimate_refuse(
	    estimate, "load_not_free",
	    "Hang the load freely and declare it as hung, or move the cell between pulls.",
	    "The load is not declared as hanging freely: what it rubs on changes sign with the "
	    "direction and looks like loss in the sheaves.");
	return false;
}

enum rv_estimate_mode rv_estimate_design_mode(const struct rv_estimate_setup *setup,
					      const struct rv_chosen *chosen,
					      struct rv_estimate *estimate)
{
	bool one_cell = setup->design != RV_ESTIMATE_TWO_CELLS;

	if (setup->design == RV_ESTIMATE_ONE_FIXED) {
		rv_estimate_refuse(
		    estimate, "one_cell_no_design",
		    "Haul and pay out the same freely hanging load, or move the cell.",
		    "One reading cannot separate the loss in the sheaves from the load.");
		return RV_ESTIMATE_NONE;
	}
	if (!setup->speed_known) {
		rv_estimate_refuse(
		    estimate, "speed_not_declared",
		    "Declare the speed of the line (length over time by a watch).",
		    "Without the speed of the line it is not known whether all sheaves were "
		    "turning.");
		return RV_ESTIMATE_NONE;
	}
	if (one_cell && !load_allows(setup, estimate))
		return RV_ESTIMATE_NONE;
	if (setup->design == RV_ESTIMATE_ONE_MOVED)
		return RV_ESTIMATE_MOVED;
	if (setup->design == RV_ESTIMATE_TWO_CELLS && any_exchanged(chosen, setup->runs))
		return RV_ESTIMATE_SWAPPED;
	return cycles_or_hauls(setup, chosen, estimate);
}

/* ---- what the rig can tell ---- */

bool rv_estimate_design_tells(const struct rv_estimate_setup *setup, struct rv_estimate *estimate)
{
	const struct rv_estimate_curve *curve = &setup->curve;
	bool up_and_down = setup->design == RV_ESTIMATE_ONE_HUNG;
	struct rv_invert f = {curve, 1.0, up_and_down ? -1.0 : 0.0, 0.0};
	struct rv_invert both = {curve, 1.0, 1.0, 0.0};
	double least = up_and_down ? 2.0 * LEAST_SHEAVES : LEAST_SHEAVES;

	if (!curve->log_ratio || isnan(rv_invert_at(&both, RV_ESTIMATE_DESIGN_X))) {
		rv_estimate_refuse(
		    estimate, "rig_not_covered", "Use one winch, and cells on the line it moves.",
		    "The rig does not say how the ratio of the two places depends on the "
		    "efficiency.");
		return false;
	}
	estimate->sheaves_effective =
	    fabs(rv_invert_slope(&f, RV_ESTIMATE_DESIGN_X)) / (up_and_down ? 2.0 : 1.0);
	if (rv_invert_tells(&f, RV_ESTIMATE_DESIGN_X, least, rv_invert_usual()))
		return true;
	rv_estimate_refuse(
	    estimate, "insensitive_placement",
	    "Put a cell where more sheaves lie between the two, the dead end at best.",
	    "Both places see nearly the same of the line (%.2f sheaves between them; %.1f "
	    "are needed).",
	    estimate->sheaves_effective, LEAST_SHEAVES);
	return false;
}
