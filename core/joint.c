/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/joint.h"

#include <math.h>
#include <stdlib.h>

#include "core/joint_fit.h"
#include "core/joint_gain.h"

static double known(double u)
{
	return isnan(u) ? 0.0 : u;
}

static bool gains_stated(const struct rv_joint_fit *fit)
{
	for (int j = 0; j < fit->setup->cells; j++)
		if ((j == 0 || fit->has[j]) && isnan(fit->setup->cell[j].u_gain_ratio))
			return false;
	return true;
}

/* Half the sum of both ways, less what the rig gives: what a gain is in its place. */
static void look_at_gains(struct rv_joint_fit *fit, struct rv_estimate *estimate)
{
	struct rv_joint *joint = &fit->joint;
	struct rv_joint_gain gain = {.cells = fit->rows + 1,
				     .u_own = 0.0015 / sqrt(fit->units),
				     .fit_excess = !fit->setup->equal_loss};
	int at = -1;

	for (int r = 0; r < fit->rows; r++) {
		int cell = fit->row_cell[r];
		const struct rv_estimate_pull *pull = fit->setup->pull[cell];
		double in = rv_joint_fit_at(fit, r, joint->x, RV_MOTION_IN);
		double out = rv_joint_fit_at(fit, r, joint->x, RV_MOTION_OUT), sum = 0.0;

		for (int u = 0; u < fit->units; u++)
			sum += fit->repeat.weight[u] * 0.5 *
			       (pull[fit->unit[u].in].log_ratio + pull[fit->unit[u].out].log_ratio);
		joint->gain_log[cell] = gain.gain_log[r + 1] = sum - 0.5 * (in + out);
		gain.excess_log[r + 1] = 0.25 * (in - out);
	}
	if (!gains_stated(fit))
		return;
	for (int r = -1; r < fit->rows; r++) {
		int cell = r < 0 ? 0 : fit->row_cell[r];
		const struct rv_estimate_cell *of = &fit->setup->cell[cell];
		const struct rv_estimate_pull *pull =
		    &fit->setup->pull[r < 0 ? fit->row_cell[0] : cell][fit->unit[0].in];
		double tension_n = r < 0 ? pull->near_n : pull->far_n;

		gain.u[r + 1] =
		    sqrt(pow(of->u_gain_ratio, 2) + pow(known(of->u_zero_n) / tension_n, 2) +
			 pow(known(of->u_drift_n) / tension_n, 2) / 3.0);
	}
	if (!rv_joint_gain_is_off(&gain, &at))
		return;
	joint->suspect = at < 0 ? -1 : at == 0 ? 0 : fit->row_cell[at - 1];
	if (joint->suspect >= 0)
		rv_estimate_warn(
		    estimate, "cell_out_of_calibration",
		    "The cells do not agree within their stated gains: cell %s fits the others "
		    "least. Calibrate it, or hang it in one line with another.",
		    fit->setup->cell[joint->suspect].name);
	else
		rv_estimate_warn(
		    estimate, "cell_out_of_calibration",
		    "The cells do not agree within their stated gains; which of them is wrong "
		    "cannot be told. Hang them in one line together.");
}

static enum rv_err refuse_short(const struct rv_joint_fit *fit, struct rv_error *error)
{
	double least = fit->joint.by_cycles ? 0.6 : 0.3;

	for (int s = 0; s < fit->joint.segments; s++) {
		double most = 0.0;
		for (int r = 0; r < fit->rows; r++)
			most = fmax(most, fabs(fit->jacobian[r][s]));
		if (most < least)
			return rv_err_refuse(
			    error, "segment_short",
			    "the stretch before cell %s holds too little of a sheave to "
			    "be told by itself: leave that cell out",
			    fit->setup->cell[fit->row_cell[s]].name);
	}
	return RV_OK;
}

static void publish(struct rv_joint_fit *fit, struct rv_estimate *estimate)
{
	struct rv_joint *joint = &fit->joint;
	const struct rv_joint_setup *setup = fit->setup;

	for (int s = 0; s < joint->segments; s++) {
		double weight[RV_JOINT_CELLS] = {0};
		weight[s] = 1.0;
		struct rv_value value = rv_joint_fit_value(fit, weight);
		joint->efficiency[s] = rv_value_interval(&value);
	}
	estimate->mode = RV_ESTIMATE_JOINT;
	estimate->per_sheaves = 0;
	for (int i = 0; i < setup->sheaves && estimate->per_sheaves < RV_ESTIMATE_SHEAVES; i++) {
		int at = joint->segment_of[setup->sheave[i].segment];
		if (at >= 0)
			estimate->per_sheave[estimate->per_sheaves++] =
			    (struct rv_estimate_per_sheave){setup->sheave[i].block,
							    setup->sheave[i].sheave,
							    joint->efficiency[at]};
	}
	if (joint->differ)
		rv_estimate_warn(estimate, "segments_differ",
				 "The sheaves are not alike: those before cell %s lose most. The "
				 "efficiency is that of equal sheaves with the same end to end.",
				 setup->cell[fit->row_cell[joint->worst]].name);
	if (joint->dropped >= 0)
		rv_estimate_warn(
		    estimate, "cell_dropped",
		    "Cell %s is left out: too few pulls have all cells; the stretches on "
		    "both sides of it are taken as one.",
		    setup->cell[joint->dropped].name);
	if (joint->by_cycles && !setup->equal_loss)
		rv_estimate_warn(
		    estimate, "mean_of_directions",
		    "The efficiency of each sheave is the mean of hauling and paying out.");
}

static enum rv_err solve(struct rv_joint_fit *fit, struct rv_estimate *estimate,
			 struct rv_error *error)
{
	rv_joint_fit_prepare(fit);
	fit->joint.units = fit->units;
	if (fit->units < (fit->joint.by_cycles ? 3 : 2) ||
	    (!fit->joint.by_cycles && !gains_stated(fit)))
		return rv_err_refuse(
		    error, "too_few_pulls",
		    "to tell the sheaves apart it takes three cycles in which every "
		    "cell read, or two hauls and stated gains; here are %d",
		    fit->units);
	if (!rv_joint_fit_solve(fit))
		return rv_err_refuse(
		    error, "segments_not_resolved",
		    "the cells' places do not tell the sheaves apart: put one cell on "
		    "each leg");
	enum rv_err err = refuse_short(fit, error);
	if (err != RV_OK)
		return err;
	rv_joint_fit_judge(fit);
	publish(fit, estimate);
	if (fit->joint.by_cycles)
		look_at_gains(fit, estimate);
	return RV_OK;
}

enum rv_err rv_joint_make(const struct rv_joint_setup *setup, struct rv_joint *joint,
			  struct rv_estimate *estimate, struct rv_error *error)
{
	if (setup->cells < 3 || setup->cells > RV_JOINT_CELLS || setup->pulls > RV_ESTIMATE_PULLS)
		return rv_err_set(error, RV_ERR_RANGE,
				  "3 to %d cells are fitted together, here are %d", RV_JOINT_CELLS,
				  setup->cells);
	struct rv_joint_fit *fit = calloc(1, sizeof *fit);
	if (!fit)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory");
	fit->setup = setup;
	fit->joint.suspect = fit->joint.worst = -1;
	for (int j = 0; j < RV_JOINT_CELLS; j++)
		fit->joint.gain_log[j] = (double)NAN;
	enum rv_err err = solve(fit, estimate, error);
	if (err == RV_OK)
		*joint = fit->joint;
	free(fit);
	return err;
}
