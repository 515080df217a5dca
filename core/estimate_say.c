/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/estimate_say.h"

#include <math.h>
#include <stdio.h>

#include "core/text.h"

/* Where a rig declares no efficiency; own choice. */
#define PLAUSIBLE_LOW 0.50
#define PLAUSIBLE_HIGH 0.995
#define NORMAL95 1.959963984540054

void rv_estimate_say_budget(const struct rv_value *x, bool by_run, struct rv_estimate *estimate)
{
	const struct rv_value_parts *parts = &x->parts;
	double ratio = exp(x->at);

	rv_estimate_budget(estimate,
			   by_run ? "scatter from run to run" : "scatter from pull to pull", 'A',
			   ratio * x->u, x->dof);
	rv_estimate_budget(estimate, "gain of the cells", 'B', ratio * parts->gain, INFINITY);
	rv_estimate_budget(estimate, "zeros of the cells", 'B', ratio * parts->zero, INFINITY);
	rv_estimate_budget(estimate, "drift of the zeros", 'B', ratio * parts->drift, INFINITY);
	rv_estimate_budget(estimate, "fit of the calibration", 'B', ratio * parts->inverse,
			   INFINITY);
	rv_estimate_budget(estimate, "delay between the cells", 'B', ratio * parts->lag, INFINITY);
	rv_estimate_budget(estimate, "angles of the legs", 'B', ratio * parts->geometry, INFINITY);
	rv_estimate_budget(estimate, "re-mounting of cells", 'B', ratio * parts->remount, INFINITY);
	rv_estimate_budget(estimate, "linearity of the cell", 'B', ratio * parts->linearity,
			   INFINITY);
	/* A bound as rectangular limits, for a person's eye; the interval takes it as a bound. */
	rv_estimate_budget(estimate, "loss paying out, within its bounds", 'B',
			   ratio * x->bias / sqrt(3.0), INFINITY);
	rv_estimate_budget(estimate, "sheaves running back in surges", 'B',
			   ratio * x->extra / NORMAL95, INFINITY);
	rv_estimate_budget(estimate, "motion told from the tensions", 'B',
			   ratio * x->wider / NORMAL95, INFINITY);
}

struct loads {
	double low_n, high_n;
};

static struct loads loads_of(const struct rv_estimate *estimate)
{
	struct loads loads = {INFINITY, 0.0};

	for (int i = 0; i < estimate->units; i++) {
		loads.low_n = fmin(loads.low_n, estimate->each[i].mean_n);
		loads.high_n = fmax(loads.high_n, estimate->each[i].mean_n);
	}
	return loads;
}

static bool zero_missing(const struct rv_estimate_setup *setup)
{
	bool two = setup->design == RV_ESTIMATE_TWO_CELLS;

	for (int r = 0; r < setup->runs; r++)
		for (int c = 0; c < (two ? 2 : 1); c++)
			if (isnan(setup->run[r].cell[c].u_zero_n))
				return true;
	return false;
}

void rv_estimate_say_warnings(const struct rv_estimate_setup *setup, struct rv_estimate *estimate)
{
	struct loads loads = loads_of(estimate);
	bool declared = !isnan(setup->declared_low_ratio);
	double low = declared ? setup->declared_low_ratio : PLAUSIBLE_LOW;
	double high = declared ? setup->declared_high_ratio : PLAUSIBLE_HIGH;

	if (loads.high_n < 2.0 * loads.low_n)
		rv_estimate_warn(
		    estimate, "single_load",
		    "All pulls were at about one load (%.0f to %.0f N at the cells): whether the "
		    "efficiency changes with the load is not known.",
		    loads.low_n, loads.high_n);
	if (zero_missing(setup))
		rv_estimate_warn(
		    estimate, "zero_not_stated",
		    "The uncertainty of a cell's zero is not stated: the budget holds nothing for "
		    "it.");
	if (estimate->efficiency.high_ratio < low || estimate->efficiency.low_ratio > high)
		rv_estimate_warn(estimate, "outside_plausible",
				 "The efficiency lies outside what %s (%.3f to %.3f): look at the "
				 "rig, the cells "
				 "and their places.",
				 declared ? "the rig declares" : "sheaves are known for", low,
				 high);
}

static void say_mode(const struct rv_estimate_setup *setup, const struct rv_estimate *estimate,
		     struct rv_text *text)
{
	switch (estimate->mode) {
	case RV_ESTIMATE_CYCLES:
		if (setup->excess_low_ratio < setup->excess_high_ratio)
			rv_text_add(text,
				    " From cycles of hauling in and paying out; the loss paying "
				    "out is taken to be %g "
				    "to %g %% greater than hauling in.",
				    100.0 * setup->excess_low_ratio,
				    100.0 * setup->excess_high_ratio);
		else
			rv_text_add(text,
				    " From cycles of hauling in and paying out; the loss paying "
				    "out is taken to be "
				    "%g %% greater than hauling in.",
				    100.0 * setup->excess_low_ratio);
		break;
	case RV_ESTIMATE_HAULS:
		rv_text_add(
		    text, setup->design == RV_ESTIMATE_WEIGHT
			      ? " From hauls of a freely hanging weight as declared; the cell's "
				"gain enters in full."
			      : " From hauls alone: the calibration of both cells enters in full.");
		break;
	case RV_ESTIMATE_SWAPPED:
		rv_text_add(text,
			    " The two cells were exchanged between pulls: their gains cancel.");
		break;
	case RV_ESTIMATE_HUNG:
		rv_text_add(text,
			    " From one cell and a freely hanging load, the same up and down; "
			    "weight and gain cancel. The "
			    "loss paying out is taken to be %g to %g %% greater than hauling in.",
			    100.0 * setup->excess_low_ratio, 100.0 * setup->excess_high_ratio);
		break;
	case RV_ESTIMATE_MOVED:
		rv_text_add(text, " From one cell at two places in turn: its gain cancels, the "
				  "load must repeat from pull to "
				  "pull.");
		break;
	case RV_ESTIMATE_JOINT:
	case RV_ESTIMATE_NONE:
		break;
	}
}

static void say_unit(const struct rv_estimate_setup *setup, const struct rv_estimate *estimate,
		     struct rv_text *text)
{
	struct loads loads = loads_of(estimate);

	rv_text_add(text, "Mean efficiency of a sheave at 180 degrees, hauling in, ");
	if (estimate->unit == RV_ESTIMATE_RUN)
		rv_text_add(text,
			    "over %d runs, at the loads pulled (%.0f to %.0f N at the cells). The "
			    "95 %% interval "
			    "covers the scatter from run to run and the stated calibration; "
			    "another rope or rig is not "
			    "covered.",
			    setup->runs, loads.low_n, loads.high_n);
	else
		rv_text_add(text,
			    "for this rig as set up in this run, at the loads pulled (%.0f to %.0f "
			    "N at the cells). The "
			    "95 %% interval covers the scatter from %s to %s and the stated "
			    "calibration; re-reeving, another "
			    "day or another rope are not covered.",
			    loads.low_n, loads.high_n, rv_estimate_unit_name(estimate->unit),
			    rv_estimate_unit_name(estimate->unit));
}

void rv_estimate_say_estimand(const struct rv_estimate_setup *setup, struct rv_estimate *estimate)
{
	struct rv_text text = {0};

	if (estimate->units == 0)
		return;
	say_unit(setup, estimate, &text);
	say_mode(setup, estimate, &text);
	if (setup->correlation > 0.0)
		rv_text_add(&text, " Neighbouring pulls are taken to correlate by %g, as declared.",
			    setup->correlation);
	if (!isnan(setup->correlation) && !(setup->correlation > 0.0))
		rv_text_add(&text, " Pulls are taken as independent, as declared.");
	if (setup->motion == RV_ESTIMATE_BY_SHEET)
		rv_text_add(
		    &text, " Read by eye: whether all sheaves were turning is not known to reeve.");
	else if (!setup->stiffness_known)
		rv_text_add(&text, " The stiffness of the line is not declared: sheaves that run "
				   "back in surges are looked for "
				   "without its stretch.");
	if (setup->motion == RV_ESTIMATE_BY_TENSIONS)
		rv_text_add(&text, " The motion is inferred from the tensions.");
	snprintf(estimate->estimand, sizeof estimate->estimand, "%s", text.data ? text.data : "");
	rv_text_free(&text);
}
