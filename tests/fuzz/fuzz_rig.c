/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A rig's text, read, planned, predicted, drawn and searched with.  Of what succeeds: every number
 * is finite or one that a header allows to be unknown, low <= nominal <= high, JSON comes back as
 * it was written.  A bit of the text's hash chooses the costly parts, so that most runs are quick.
 */
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/describe_rig.h"
#include "core/drawing.h"
#include "core/plan_json.h"
#include "core/predict.h"
#include "core/rig_read.h"
#include "core/schematic.h"
#include "core/suggest.h"
#include "core/suggest_json.h"
#include "tests/fuzz/mutate.h"

static const char *const phrases[] = {
    "floats: true",
    "moves_with: sled",
    "weight: 200 N",
    "force: [100 N, -50 N]",
    "within: 0.1",
    "hangs: 1.5",
    "efficiency: [0.9, 0.97]",
    "efficiency: 0.95",
    "drag: 40 N",
    "pin_drag: 0.01",
    "bearing_share: 0.5",
    "bar_friction: 0.2",
    "turns: 2",
    "wrap: 270",
    "sheaves: 2",
    "diameter: 0.2",
    "groove: [10, 14]",
    "opens: false",
    "takes: [wire, synthetic]",
    "becket_wll: 5 t",
    "wll: 4 t",
    "mbs: 200 kN, design_factor: 5",
    "length: 90 m",
    "stiffness: 1200 kN",
    "material: wire",
    "terminal: hook",
    "rated: 40 kN",
    "line_pull: 12 kN",
    "wraps_left: 5",
    "drum: {diameter: 0.3, width: 0.5, layers: 4}",
    "vehicle: true",
    "resists: [8 kN, 12 kN]",
    "resists: {mass: 9 t, slope_deg: 5, rolling: [0.02, 0.05], mire: 0.1}",
    "character: hung",
    "free: true",
    "count: 2, legs: 2, included_angle: 60",
    "at: {from: post, distance: 30 m, bearing: 90}",
    "kind: shackle, holds: [runner]",
    NULL,
};

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max, unsigned seed)
{
	return rv_mutate_text(data, size, max, seed, phrases);
}

size_t LLVMFuzzerCustomCrossOver(const uint8_t *a, size_t a_size, const uint8_t *b, size_t b_size,
				 uint8_t *out, size_t max, unsigned seed);

size_t LLVMFuzzerCustomCrossOver(const uint8_t *a, size_t a_size, const uint8_t *b, size_t b_size,
				 uint8_t *out, size_t max, unsigned seed)
{
	return rv_mutate_cross(a, a_size, b, b_size, out, max, seed);
}

static void must_be_finite(const char *what, double value)
{
	rv_fuzz_must(isfinite(value), "%s is finite: %g", what, value);
}

static void must_not_be_infinite(const char *what, double value)
{
	rv_fuzz_must(!isinf(value), "%s is finite or unknown: %g", what, value);
}

static void must_be_span(const char *what, struct rv_span span)
{
	must_be_finite(what, span.nominal_n);
	rv_fuzz_must(span.low_n <= span.nominal_n && span.nominal_n <= span.high_n,
		     "%s rises: %.17g %.17g %.17g", what, span.low_n, span.nominal_n, span.high_n);
	must_be_finite(what, span.low_n);
	must_be_finite(what, span.high_n);
}

/* ---- a plan ---- */

static void check_winches(const struct rv_plan *plan)
{
	for (int w = 0; w < plan->rig.winches; w++) {
		const struct rv_plan_winch *winch = &plan->winch[w];

		must_be_span("line pull", winch->line_pull);
		must_be_finite("a winch's velocity ratio", winch->velocity_ratio);
		must_not_be_infinite("line pull at the low end", winch->at_low_n);
		must_not_be_infinite("line pull at the high end", winch->at_high_n);
		must_not_be_infinite("line on the drum", winch->drum.on_drum_m);
		must_not_be_infinite("line left", winch->drum.left_m);
		must_not_be_infinite("pull on the layer", winch->drum.rated_n);
		rv_fuzz_must(winch->drum.layer >= 0, "layer %d", winch->drum.layer);
	}
	for (int b = 0; b < plan->rig.loads; b++) {
		must_be_finite("what a load resists", plan->load[b].resists_n);
		must_be_finite("a load's side force", plan->load[b].side_n);
		must_not_be_infinite("a load's low", plan->load[b].low_n);
		must_not_be_infinite("a load's high", plan->load[b].high_n);
		for (int i = 0; i < RV_DIM; i++)
			must_be_finite("where a load goes", plan->goes[b][i]);
	}
}

static void check_lines(const struct rv_plan *plan)
{
	for (int l = 0; l < plan->legs; l++) {
		must_be_finite("a leg's length", plan->leg[l].length_m);
		must_be_span("a leg's tension", plan->tension[l]);
	}
	for (int p = 0; p < plan->sheaves; p++) {
		must_be_finite("a wrap", plan->sheave[p].wrap_deg);
		must_be_finite("a pin's load", plan->sheave[p].pin_n);
		must_be_finite("a rope's speed", plan->sheave[p].rope_speed_ratio);
		must_be_finite("a sheave's loss", plan->sheave[p].loss_ratio);
	}
	for (int c = 0; c < plan->rig.cells; c++)
		must_be_span("a cell's load", plan->cell[c]);
	for (int r = 0; r < plan->rig.ropes; r++) {
		must_be_finite("line needed", plan->line_needed_m[r]);
		must_be_finite("line out", plan->line_out_m[r]);
	}
	for (int p = 0; p < plan->rig.points; p++)
		for (int i = 0; i < RV_DIM; i++)
			must_be_finite("a point's place", plan->at_m[p][i]);
}

static void check_components(const struct rv_plan *plan)
{
	for (int i = 0; i < plan->components; i++) {
		must_be_span(plan->component[i].name, plan->carried[i]);
		if (isnan(plan->component[i].limit_n)) {
			rv_fuzz_must(isnan(plan->use_ratio[i]), "no use without a limit");
			continue;
		}
		must_be_finite("a use", plan->use_ratio[i]);
		must_be_finite("a use at the worst", plan->use_worst_ratio[i]);
		rv_fuzz_must(plan->use_ratio[i] <= plan->use_worst_ratio[i], "worst is worst");
		rv_fuzz_must(plan->weakest >= 0 && plan->weakest_worst >= 0, "one is weakest");
	}
}

static void check_whole(const struct rv_plan *plan)
{
	if (rv_plan_is_single(plan)) {
		must_be_finite("velocity ratio", plan->velocity_ratio);
		must_be_finite("advantage", plan->advantage.expected_ratio);
		rv_fuzz_must(plan->advantage.low_ratio <= plan->advantage.expected_ratio &&
				 plan->advantage.expected_ratio <= plan->advantage.high_ratio,
			     "advantage rises");
		must_not_be_infinite("theoretical advantage", plan->advantage.theoretical_ratio);
		must_not_be_infinite("limit of the line pull", plan->line_pull_limit_n);
		must_not_be_infinite("the additive rule", plan->additive.line_pull_n);
	}
	must_be_finite("how far to stay clear", plan->clear.keep_m);
	for (int i = 0; i < plan->components && plan->placing.is_known; i++) {
		must_be_finite("what placing does", plan->placing.component[i].worst_n);
		must_be_finite("how placing scatters", plan->placing.component[i].sd_n);
	}
	for (int i = 0; i < plan->travel.rows && plan->has_travel; i++) {
		const struct rv_travel_row *row = &plan->travel.row[i];

		must_be_finite("travel", row->travel_m);
		must_be_finite("line in", row->line_in_m);
		must_be_finite("velocity ratio under way", row->velocity_ratio);
		must_be_finite("line pull under way", row->line_pull_n);
	}
}

/* Names and notes must not have got lost either: text that is no UTF-8 makes no JSON. */
static void check_texts(const json_t *told, const struct rv_plan *plan)
{
	const json_t *notes = json_object_get(told, "notes"), *entry;
	size_t i;

	rv_fuzz_must(json_array_size(notes) == (size_t)plan->notes, "all notes are told");
	rv_fuzz_must(json_array_size(json_object_get(told, "components")) ==
			 (size_t)plan->components,
		     "all components are told");
	json_array_foreach(notes, i, entry)
	    rv_fuzz_must(json_is_string(json_object_get(entry, "text")), "note %zu has words", i);
	json_array_foreach(json_object_get(told, "components"), i, entry)
	    rv_fuzz_must(json_is_string(json_object_get(entry, "name")), "part %zu has a name", i);
}

static void check_json(const struct rv_plan *plan)
{
	json_t *told = rv_plan_json(plan);
	struct rv_text text = {0};
	json_error_t error;

	rv_fuzz_must(told != NULL, "there is JSON");
	check_texts(told, plan);
	rv_json_write(told, &text);
	json_t *again = json_loadb(text.data, text.len, 0, &error);
	rv_fuzz_must(again != NULL, "JSON parses: %s", error.text);
	rv_fuzz_must(json_equal(told, again), "JSON comes back as it was written");
	json_decref(again);
	json_decref(told);
	rv_text_free(&text);
}

static void check_svg(const struct rv_text *svg)
{
	const char *end = "</svg>\n";

	rv_fuzz_must(!svg->failed && svg->len > strlen(end) &&
			 strcmp(svg->data + svg->len - strlen(end), end) == 0,
		     "a drawing ends");
	rv_fuzz_must(!strstr(svg->data, "=\"nan") && !strstr(svg->data, "=\"-nan") &&
			 !strstr(svg->data, "inf\""),
		     "no coordinate is unknown");
}

static void draw(const struct rv_plan *plan)
{
	struct rv_error error = {0};
	struct rv_text svg = {0};

	if (rv_drawing_svg(plan, RV_FORCE_KN, &svg, &error) == RV_OK)
		check_svg(&svg);
	rv_text_free(&svg);
	if (rv_schematic_svg(plan, RV_FORCE_KGF, &svg, &error) == RV_OK)
		check_svg(&svg);
	rv_text_free(&svg);
}

static void refused_must_say_why(const struct rv_error *error)
{
	rv_fuzz_must(error->code != RV_OK && error->text[0], "a refusal says why");
	json_t *told = rv_plan_json_refused(error);
	const json_t *text = json_object_get(json_object_get(told, "refused"), "text");
	rv_fuzz_must(json_is_string(text), "a refusal is told: %s", error->text);
	json_decref(told);
}

static void plan_rig(const struct rv_rig *rig, uint64_t hash)
{
	static const double travels_m[] = {1.0, -2.0, 30.0, 1e5};
	struct rv_plan_request request = {.travel_m = (double)NAN};
	struct rv_error error = {0};
	struct rv_plan *plan = NULL;

	if ((hash & 31) == 0)
		request.travel_m = travels_m[hash >> 6 & 3];
	if (rv_plan_new(rig, &request, &plan, &error) != RV_OK) {
		refused_must_say_why(&error);
		return;
	}
	check_winches(plan);
	check_lines(plan);
	check_components(plan);
	check_whole(plan);
	if ((hash >> 8 & 7) == 0)
		check_json(plan);
	if ((hash >> 24 & 1023) == 0)
		draw(plan);
	rv_plan_free(plan);
}

/* ---- a prediction ---- */

/* What a cell does not tell is unknown as a whole. */
static void must_be_told_or_not(const char *what, const struct rv_span *span)
{
	if (isnan(span->nominal_n) && isnan(span->low_n) && isnan(span->high_n))
		return;
	must_be_span(what, *span);
}

static void check_loads(const struct rv_predictor *predictor, const struct rv_loads *loads)
{
	for (int i = 0; i < rv_predictor_components(predictor); i++)
		must_be_told_or_not(rv_predictor_component(predictor, i)->name,
				    &loads->component[i]);
	for (int l = 0; l < rv_predictor_legs(predictor); l++)
		must_be_told_or_not("a leg's tension", &loads->leg[l]);
	for (int c = 0; c < rv_predictor_rig(predictor)->cells; c++)
		must_be_told_or_not("a cell's load", &loads->cell[c]);
}

static void ask_loads(const struct rv_predictor *predictor)
{
	static const enum rv_motion motions[] = {RV_MOTION_IN, RV_MOTION_OUT, RV_MOTION_HOLD};
	static const double loads_n[] = {0.0, 12345.0};
	struct rv_loads *loads = calloc(1, sizeof *loads);

	for (int c = 0; loads && c < rv_predictor_rig(predictor)->cells; c++)
		for (int m = 0; m < 6; m++)
			if (rv_predictor_loads(predictor, c, loads_n[m / 3], motions[m % 3],
					       loads) == RV_OK)
				check_loads(predictor, loads);
	free(loads);
}

static void ask_ratios(const struct rv_predictor *predictor)
{
	int cells = rv_predictor_rig(predictor)->cells;
	double efficiency;

	for (int near = 0; near < cells; near++)
		for (int far = 0; far < cells; far++) {
			double ratio =
			    rv_predictor_log_ratio(predictor, near, far, 0.95, RV_MOTION_IN);

			(void)rv_predictor_cell_distance(predictor, near);
			must_be_finite("sheaves between",
				       rv_predictor_sheaves_between(predictor, near, far));
			must_not_be_infinite("a log ratio", ratio);
			if (rv_predictor_efficiency(predictor, near, far, ratio, RV_MOTION_IN,
						    &efficiency) == RV_OK)
				must_be_finite("an efficiency", efficiency);
		}
}

static void predict(const struct rv_rig *rig)
{
	static const double line_in_m[] = {0.5, 3.0, -4.0};
	struct rv_predictor *predictor = NULL;
	struct rv_error error = {0};

	if (rv_predictor_new(rig, &predictor, &error) != RV_OK) {
		refused_must_say_why(&error);
		return;
	}
	for (int w = 0; w < rig->winches; w++)
		must_not_be_infinite("a velocity ratio", rv_predictor_velocity_ratio(predictor, w));
	ask_loads(predictor);
	ask_ratios(predictor);
	for (size_t i = 0; i < sizeof line_in_m / sizeof line_in_m[0]; i++)
		if (rv_predictor_at_payout(predictor, line_in_m[i], rig->cells - 1, 5000.0,
					   &error) == RV_OK)
			ask_loads(predictor);
	rv_predictor_free(predictor);
}

/* ---- a search ---- */

static const char at_hand[] =
    "rig: at hand\n"
    "points:\n  front: {at: [0, 0]}\n  oak: {at: [30, 2], wll: 60 kN}\n  eye: {at: [25, 0], "
    "moves_with: car}\n"
    "loads: {car: {travels: [-1, 0], resists: 40 kN}}\n"
    "winches: {drum: {at: front, rated: 30 kN, drum: {diameter: 0.2, width: 0.4, layers: 4}}}\n"
    "blocks:\n  one: {at: eye, efficiency: [0.93, 0.97], wll: 80 kN}\n"
    "  two: {at: oak, efficiency: 0.95, wll: 8 t}\n"
    "lines: {wire: {path: [drum, one, oak], length: 100, diameter: 0.012, mbs: 110 kN, "
    "design_factor: 2}}\n";

static void try_pattern(const struct rv_rig *pattern, const struct rv_rig *hand)
{
	struct rv_suggest found;
	struct rv_error error = {0};

	if (rv_suggest_check(hand, &error) != RV_OK)
		return;
	if (rv_suggest_try(pattern, hand, 40e3, &found, &error) != RV_OK)
		return;
	if (found.does) {
		must_be_finite("the most it may be", found.pull_n);
		must_not_be_infinite("the worst use", found.use_ratio);
	}
	rv_suggest_free(&found);
}

static void search(const struct rv_rig *rig)
{
	struct rv_rig *hand = calloc(1, sizeof *hand);

	rv_fuzz_must(hand && rv_rig_read_gear(at_hand, sizeof at_hand - 1, hand, NULL) == RV_OK,
		     "what is at hand is read");
	try_pattern(rig, hand);
	try_pattern(hand, rig);
	free(hand);
}

static void describe(const struct rv_rig *rig)
{
	struct rv_text text = {0};

	rv_describe_rig(rig, RV_FORCE_KN, &text);
	rv_fuzz_must(text.len > 0, "a rig is described");
	rv_text_free(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	uint64_t hash = rv_fuzz_hash(data, size);
	struct rv_rig *rig = calloc(1, sizeof *rig);
	struct rv_error error = {0};

	if (!rig)
		return 0;
	if (rv_rig_read((const char *)data, size, rig, &error) != RV_OK) {
		refused_must_say_why(&error);
	} else {
		plan_rig(rig, hash);
		if ((hash >> 11 & 7) == 0)
			predict(rig);
		if ((hash >> 14 & 63) == 0)
			search(rig);
		if ((hash >> 20 & 15) == 0)
			describe(rig);
	}
	free(rig);
	return 0;
}
