/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/trial.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "core/stats.h"
#include "core/value.h"

/* Nominal figures: see the header. */
#define SCATTER 0.009
#define HUNG_SCATTER 0.007
#define DRAGGED_SCATTER 0.015
#define NOMINAL_X (-0.04)
#define EXCESS_SHARE 0.05
#define REMOUNT 0.0005
#define STEADY_S 10.0
#define END_S 0.5
#define HANG_S 2.5

struct rv_trial_ask rv_trial_ask_init(void)
{
	return (struct rv_trial_ask){0.005, (double)NAN, (double)NAN, RV_LOAD_UNSAID, 0.15};
}

static void note(struct rv_trial *trial, const char *code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void note(struct rv_trial *trial, const char *code, const char *format, ...)
{
	va_list args;

	if (trial->notes == RV_TRIAL_NOTES)
		return;
	struct rv_estimate_note *at = &trial->note[trial->notes++];
	snprintf(at->code, sizeof at->code, "%s", code);
	va_start(args, format);
	vsnprintf(at->text, sizeof at->text, format, args);
	va_end(args);
}

/* ---- which design ---- */

static bool are_alike(const struct rv_rig *rig, const struct rv_curve *curve)
{
	return rig->cell[curve->near].in_leg && rig->cell[curve->far].in_leg;
}

static enum rv_err with_two(const struct rv_predictor *predictor, bool pulls_back,
			    struct rv_trial *trial, struct rv_error *error)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);
	int cells[RV_RIG_CELLS];
	struct rv_curve curve;

	for (int c = 0; c < rig->cells; c++)
		cells[c] = c;
	enum rv_err err = rv_curve_choose(predictor, cells, rig->cells, &curve, error);
	if (err != RV_OK)
		return err;
	bool alike = are_alike(rig, &curve);
	trial->design = alike	     ? RV_ESTIMATE_SWAPPED
			: pulls_back ? RV_ESTIMATE_CYCLES
				     : RV_ESTIMATE_HAULS;
	trial->cycles = pulls_back;
	trial->scatter_log = SCATTER;
	trial->sheaves_effective = curve.effective;
	snprintf(trial->near, sizeof trial->near, "%s", rig->cell[curve.near].name);
	snprintf(trial->far, sizeof trial->far, "%s", rig->cell[curve.far].name);
	if (trial->design == RV_ESTIMATE_HAULS)
		note(trial, "gain_needed",
		     "Hauls alone: state the gain uncertainty of both cells, or hang them in one "
		     "line at three loads first; without it the efficiency is refused.");
	return RV_OK;
}

static enum rv_err with_one(const struct rv_predictor *predictor, enum rv_load_character character,
			    struct rv_trial *trial, struct rv_error *error)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);
	struct rv_curve curve;

	if (character == RV_LOAD_VARIES)
		return rv_err_refuse(
		    error, "one_cell_no_design",
		    "one cell cannot tell the loss in the sheaves from a load that "
		    "varies: put a second cell at the dead end, or test with a load "
		    "that hangs or drags evenly");
	enum rv_err err = rv_curve_make(predictor, 0, RV_PREDICTOR_LOAD, &curve, error);
	if (err != RV_OK)
		return err;
	bool hung = character == RV_LOAD_HUNG;
	trial->design = hung ? RV_ESTIMATE_HUNG : RV_ESTIMATE_MOVED;
	trial->cycles = hung;
	trial->scatter_log = hung ? HUNG_SCATTER : DRAGGED_SCATTER;
	trial->sheaves_effective = curve.effective;
	snprintf(trial->near, sizeof trial->near, "%s", rig->cell[0].name);
	if (!hung)
		note(trial, "other_place",
		     "The cell's other place is the dead end: declare it as a second cell of the "
		     "rig, so that reeve knows what lies between. All pulls are at one load, the "
		     "heavier. The half-width here is for the "
		     "sheaves between the cell and the load.");
	return RV_OK;
}

static enum rv_err choose(const struct rv_predictor *predictor, const struct rv_trial_ask *ask,
			  struct rv_trial *trial, struct rv_error *error)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);
	enum rv_load_character character = ask->character;

	if (rig->cells == 0)
		return rv_err_refuse(
		    error, "no_cells",
		    "the rig has no cell: declare where load cells sit (cells:), the "
		    "lead line and the dead end at best");
	if (character == RV_LOAD_UNSAID && rig->loads > 0)
		character = rig->load[0].character;
	if (character == RV_LOAD_UNSAID) {
		trial->assumed = true;
		character = RV_LOAD_STEADY;
		note(trial, "character_assumed",
		     "Nothing is declared of what the load does when the winch pays out: it is "
		     "taken "
		     "as not pulling the line back. If it hangs, declare character: hung, and a "
		     "test with paying out tells more.");
	}
	return rig->cells > 1 ? with_two(predictor, character == RV_LOAD_HUNG, trial, error)
			      : with_one(predictor, character, trial, error);
}

/* ---- how many ---- */

/* Half-width of the efficiency after so many pulls or cycles. */
static double half_width(const struct rv_trial *trial, int pulls)
{
	double m = trial->sheaves_effective, s = trial->scatter_log / m;
	struct rv_value value = rv_value_none();

	value.at = 0.0;
	value.dof = pulls - 1.0;
	value.u = s / sqrt(pulls);
	switch (trial->design) {
	case RV_ESTIMATE_SWAPPED:
		value.dof = pulls - 2.0;
		value.parts.remount = REMOUNT / m;
		break;
	case RV_ESTIMATE_CYCLES:
	case RV_ESTIMATE_HUNG:
		value.u = s / sqrt(2.0 * pulls);
		value.bias = EXCESS_SHARE * fabs(NOMINAL_X);
		break;
	case RV_ESTIMATE_MOVED:
		value.dof = pulls - 3.0;
		value.u = 2.0 * s / sqrt(pulls);
		break;
	case RV_ESTIMATE_HAULS:
	case RV_ESTIMATE_JOINT:
	case RV_ESTIMATE_NONE:
		break;
	}
	rv_value_close(&value);
	return 0.5 * (value.high - value.low) * exp(NOMINAL_X);
}

static void count_pulls(struct rv_trial *trial)
{
	trial->pulls = 8;
	while (trial->pulls + 4 <= RV_TRIAL_MOST_PULLS &&
	       half_width(trial, trial->pulls) > trial->within_ratio)
		trial->pulls += 4;
	trial->half_width_ratio = half_width(trial, trial->pulls);
	if (trial->half_width_ratio > trial->within_ratio)
		note(trial, "not_within",
		     "%d pulls bring the interval to about +-%.2f percentage points; +-%.2f is not "
		     "to be had with this design. %s",
		     trial->pulls, 100.0 * trial->half_width_ratio, 100.0 * trial->within_ratio,
		     trial->design == RV_ESTIMATE_SWAPPED || trial->design == RV_ESTIMATE_HAULS
			 ? "More sheaves between the cells would help."
			 : "Two like cells, exchanged half-way, tell more.");
}

static void measure_line(const struct rv_predictor *predictor, struct rv_trial *trial)
{
	double v = trial->line_speed_mps;
	double guard_m = fmax(fmax(0.30, 0.08 * trial->sheaves_effective), v);
	double more_s = trial->design == RV_ESTIMATE_HUNG ? HANG_S : 0.0;

	trial->line_m = guard_m + v * (STEADY_S + END_S + more_s);
	trial->load_m = trial->line_m / rv_predictor_velocity_ratio(predictor, 0);
}

/* ---- in which order ---- */

/* Near, far, far, near: a load that drifts falls out. */
static bool at_far(int pull)
{
	return pull % 4 == 2 || pull % 4 == 3;
}

static void add(struct rv_trial *trial, enum rv_trial_do what, int pull, double load_n)
{
	bool far = trial->design == RV_ESTIMATE_MOVED && at_far(pull);

	trial->step[trial->steps++] =
	    (struct rv_trial_step){.what = what, .pull = pull, .load_n = load_n, .at_far = far};
}

/* Low, high, high, low; in the second half the other way round, so that each half has all.  A cell
 * that is moved needs one load for both places. */
static double load_of(const struct rv_trial *trial, int pull)
{
	bool high = pull % 4 == 2 || pull % 4 == 3;

	if (trial->design == RV_ESTIMATE_MOVED)
		return trial->high_n;
	if (pull > trial->pulls / 2)
		high = !high;
	return high ? trial->high_n : trial->low_n;
}

static void lay_out(struct rv_trial *trial)
{
	double loaded_n = -1.0;

	add(trial, RV_TRIAL_ZERO, 0, (double)NAN);
	for (int pull = 1; pull <= trial->pulls; pull++) {
		double load_n = load_of(trial, pull);

		if (trial->design == RV_ESTIMATE_MOVED &&
		    (pull == 1 || at_far(pull) != at_far(pull - 1)))
			add(trial, RV_TRIAL_MOVE, pull, (double)NAN);
		if (!(fabs(load_n - loaded_n) < 0.5))
			add(trial, RV_TRIAL_LOAD, pull, load_n);
		loaded_n = load_n;
		add(trial, RV_TRIAL_HAUL, pull, load_n);
		if (trial->cycles)
			add(trial, RV_TRIAL_PAY_OUT, pull, load_n);
		if (trial->design == RV_ESTIMATE_SWAPPED && pull == trial->pulls / 2)
			add(trial, RV_TRIAL_EXCHANGE, 0, (double)NAN);
		else if (pull < trial->pulls && trial->design != RV_ESTIMATE_MOVED)
			add(trial, RV_TRIAL_UNLOAD, 0, (double)NAN);
	}
	add(trial, RV_TRIAL_ZERO, 0, (double)NAN);
}

static enum rv_err set_loads(const struct rv_rig *rig, const struct rv_trial_ask *ask,
			     struct rv_trial *trial, struct rv_error *error)
{
	trial->low_n = ask->low_n;
	trial->high_n = ask->high_n;
	if (!isnan(ask->high_n) && !(ask->low_n > 0.0 && ask->high_n >= 2.0 * ask->low_n))
		return rv_err_set(
		    error, RV_ERR_RANGE,
		    "the heavier load must be twice the lighter one or more: only then "
		    "can a loss that does not grow with the load be told");
	if (isnan(trial->high_n) && rig->loads == 1 && rig->load[0].resists_n.high > 0.0) {
		trial->high_n = rig->load[0].resists_n.high;
		trial->low_n = 0.5 * trial->high_n;
		note(trial, "loads_from_rig",
		     "The heavier load is what the rig's load resists, the lighter one half of it; "
		     "choose others with --loads.");
	}
	return RV_OK;
}

enum rv_err rv_trial_make(const struct rv_predictor *predictor, const struct rv_trial_ask *ask,
			  struct rv_trial *trial, struct rv_error *error)
{
	const struct rv_rig *rig = rv_predictor_rig(predictor);
	struct rv_trial made = {.within_ratio = ask->within_ratio,
				.line_speed_mps = ask->line_speed_mps};
	enum rv_err err = set_loads(rig, ask, &made, error);

	snprintf(made.rig, sizeof made.rig, "%s", rig->name);
	if (err == RV_OK)
		err = choose(predictor, ask, &made, error);
	if (err != RV_OK)
		return err;
	count_pulls(&made);
	measure_line(predictor, &made);
	lay_out(&made);
	note(&made, "scatter_nominal",
	     "The half-width is what a scatter of %.1f %% of the log ratio from pull to pull "
	     "gives, a "
	     "nominal figure; the test itself will tell.",
	     100.0 * made.scatter_log);
	note(&made, "this_set_up",
	     "One test speaks for this set-up only. For sheaves or ropes in general take three "
	     "runs or more, rigged anew between them; to compare two, take their runs in turns: A "
	     "B B "
	     "A.");
	*trial = made;
	return RV_OK;
}

/* ---- words ---- */

void rv_trial_words(const struct rv_trial *trial, const struct rv_trial_step *step, char *text,
		    size_t size)
{
	switch (step->what) {
	case RV_TRIAL_ZERO:
		snprintf(text, size, "no load on the cells: set them to zero");
		break;
	case RV_TRIAL_LOAD:
		snprintf(text, size, "load");
		break;
	case RV_TRIAL_HAUL:
		snprintf(text, size, "haul in %.1f m of line without a stop", trial->line_m);
		break;
	case RV_TRIAL_PAY_OUT:
		snprintf(text, size, "pay out %.1f m under load without a stop", trial->line_m);
		break;
	case RV_TRIAL_UNLOAD:
		snprintf(text, size,
			 "let the line go slack; begin 0.3 m or more of line further on");
		break;
	case RV_TRIAL_EXCHANGE:
		snprintf(text, size, "exchange the two cells; mark it: cells exchanged");
		break;
	case RV_TRIAL_MOVE:
		snprintf(text, size, "put the cell at its %s place", step->at_far ? "far" : "near");
		break;
	}
}

static const char *word_of(enum rv_trial_do what)
{
	static const char *const words[] = {"zero",  "load",	 "haul in",  "pay out",
					    "slack", "exchange", "move cell"};

	return words[what];
}

json_t *rv_trial_json(const struct rv_trial *trial)
{
	json_t *steps = json_array(), *notes = json_array();
	char text[160];

	for (int i = 0; i < trial->steps; i++) {
		const struct rv_trial_step *step = &trial->step[i];
		rv_trial_words(trial, step, text, sizeof text);
		json_array_append_new(
		    steps,
		    json_pack("{s:i,s:s,s:o,s:o,s:s}", "step", i + 1, "do", word_of(step->what),
			      "pull", step->pull ? json_integer(step->pull) : json_null(), "load_n",
			      rv_json_real(step->load_n), "text", text));
	}
	for (int i = 0; i < trial->notes; i++)
		json_array_append_new(notes, json_pack("{s:s,s:s}", "code", trial->note[i].code,
						       "text", trial->note[i].text));
	return json_pack(
	    "{s:o,s:s,s:{s:o,s:o},s:o,s:o,s:o,s:o,s:i,s:s,s:[o,o],s:o,s:o,s:o,s:b,s:o,s:o}", "rig",
	    rv_json_text(trial->rig), "design", rv_estimate_mode_name(trial->design), "cells",
	    "near", rv_json_text(trial->near), "far",
	    rv_json_text(trial->far[0] ? trial->far : NULL), "sheaves_effective",
	    rv_json_real(trial->sheaves_effective), "within_ratio",
	    rv_json_real(trial->within_ratio), "half_width_ratio",
	    rv_json_real(trial->half_width_ratio), "scatter_ratio",
	    rv_json_real(trial->scatter_log), "pulls", trial->pulls, "unit",
	    trial->cycles ? "cycle" : "pull", "loads_n", rv_json_real(trial->low_n),
	    rv_json_real(trial->high_n), "line_per_pull_m", rv_json_real(trial->line_m),
	    "load_per_pull_m", rv_json_real(trial->load_m), "line_speed_mps",
	    rv_json_real(trial->line_speed_mps), "character_assumed", trial->assumed, "steps",
	    steps, "notes", notes);
}
