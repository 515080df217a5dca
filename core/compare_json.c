/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/compare_json.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void warn(struct rv_compare_result *result, const char *code, const char *text)
{
	for (int i = 0; i < result->warnings; i++)
		if (strcmp(result->warning[i].code, code) == 0)
			return;
	if (result->warnings == RV_COMPARE_NOTES)
		return;
	struct rv_estimate_note *note = &result->warning[result->warnings++];
	snprintf(note->code, sizeof note->code, "%s", code);
	snprintf(note->text, sizeof note->text, "%s", text);
}

static void warn_pair(struct rv_compare_result *result, const struct rv_compare_difference *found)
{
	if (found->drift_confounded)
		warn(result, "drift_confounded",
		     "The groups were not taken in turns: whatever drifted or warmed meanwhile is "
		     "in "
		     "the difference. Take them A B B A, with three changes or more.");
	if (found->gain_added)
		warn(
		    result, "other_calibration",
		    "The groups do not share their cells and calibrations: the uncertainty of both "
		    "gains is in the interval.");
	if (found->gain_unknown)
		warn(result, "gain_not_stated",
		     "The groups do not share their cells and calibrations, and a gain is not "
		     "stated: the interval holds nothing for it.");
	if (found->modes_differ)
		warn(result, "modes_differ",
		     "The groups were estimated in different ways: what each way leaves out may "
		     "stand in the difference.");
	if (found->two_runs)
		warn(result, "runs_pooled",
		     "Pulls of several runs are taken as one row: what changes from run to run is "
		     "not in the interval. With three runs or more in each group it would be.");
}

enum rv_err rv_compare_json_fill(struct rv_compare_result *result, struct rv_error *error)
{
	double x = 0.0;

	result->pairs = result->warnings = 0;
	result->unit_sd = 0.0;
	for (int a = 0; a < result->groups; a++)
		for (int b = a + 1; b < result->groups; b++) {
			struct rv_compare_difference found;
			enum rv_err err =
			    rv_compare_pair(&result->group[a], &result->group[b], &found, error);

			if (err != RV_OK)
				return err;
			result->pair[result->pairs].a = a;
			result->pair[result->pairs].b = b;
			result->pair[result->pairs++].found = found;
			result->unit_sd = fmax(result->unit_sd, found.unit_sd);
			x = found.mean_x;
			warn_pair(result, &found);
		}
	for (int g = 0; g < result->groups; g++)
		if (!result->pair[0].found.by_run &&
		    rv_estimate_has_warning(result->group[g].estimate, "same_stint"))
			warn(result, "same_stint",
			     "Pulls in a row without unloading and moving the line resemble each "
			     "other: the "
			     "interval takes them as independent and is too narrow by as much.");
	if (result->groups > 2)
		warn(result, "several_pairs",
		     "Each interval covers its own difference in 95 %: of many pairs one may seem "
		     "to "
		     "differ by chance.");
	struct rv_compare_aim aim = {result->aim_ratio / exp(x), result->unit_sd, 0.8};
	result->at_80 = rv_compare_needed(aim);
	aim.power = 0.9;
	result->at_90 = rv_compare_needed(aim);
	return RV_OK;
}

static json_t *count_or_null(int count)
{
	return count > 0 ? json_integer(count) : json_null();
}

static json_t *group_json(const struct rv_compare_group *group)
{
	const struct rv_estimate_interval *efficiency = &group->estimate->efficiency;
	json_t *runs = json_array(), *interval = json_null();

	for (int r = 0; r < group->runs; r++)
		json_array_append_new(runs, json_integer(group->run[r].number));
	if (!isnan(efficiency->ratio) && !group->estimate->refused)
		interval =
		    json_pack("{s:o,s:o,s:o,s:f,s:o}", "ratio", rv_json_real(efficiency->ratio),
			      "low_ratio", rv_json_real(efficiency->low_ratio), "high_ratio",
			      rv_json_real(efficiency->high_ratio), "coverage", 0.95, "dof",
			      rv_json_real(efficiency->dof));
	return json_pack("{s:o,s:o,s:i}", "runs", runs, "efficiency", interval, "n",
			 group->estimate->units);
}

json_t *rv_compare_json(const struct rv_compare_result *result)
{
	json_t *groups = json_array(), *differences = json_array(), *warnings = json_array();

	for (int g = 0; g < result->groups; g++)
		json_array_append_new(groups, group_json(&result->group[g]));
	for (int p = 0; p < result->pairs; p++) {
		const struct rv_compare_difference *found = &result->pair[p].found;
		json_array_append_new(
		    differences,
		    json_pack("{s:i,s:i,s:o,s:o,s:o,s:o,s:s}", "a", result->pair[p].a, "b",
			      result->pair[p].b, "ratio_difference",
			      rv_json_real(found->ratio_difference), "low",
			      rv_json_real(found->low), "high", rv_json_real(found->high), "dof",
			      rv_json_real(found->dof), "verdict",
			      found->differ ? "differ" : "not shown to differ"));
	}
	for (int i = 0; i < result->warnings; i++)
		json_array_append_new(warnings,
				      json_pack("{s:s,s:s}", "code", result->warning[i].code,
						"text", result->warning[i].text));
	return json_pack("{s:o,s:o,s:{s:o,s:o,s:o},s:o}", "groups", groups, "differences",
			 differences, "needed", "difference_ratio", rv_json_real(result->aim_ratio),
			 "power_80", count_or_null(result->at_80), "power_90",
			 count_or_null(result->at_90), "warnings", warnings);
}
