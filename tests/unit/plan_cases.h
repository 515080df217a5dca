/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plans of rigs that must be plannable.
 */
#ifndef RV_TESTS_UNIT_PLAN_CASES_H
#define RV_TESTS_UNIT_PLAN_CASES_H

#include "core/plan.h"
#include "tests/unit/rig_cases.h"

static inline struct rv_plan *plan_case_make(const char *text, const struct rv_plan_request *request)
{
	static struct rv_rig rig;
	static const struct rv_plan_request nothing = {.travel_m = (double)NAN};
	struct rv_plan *plan = NULL;
	struct rv_error error = {0};

	rig_case_read(text, &rig);
	if (rv_plan_new(&rig, request ? request : &nothing, &plan, &error) != RV_OK) {
		print_error("%s: %s\n", error.tag, error.text);
		fail();
	}
	return plan;
}

static inline int plan_case_component(const struct rv_plan *plan, const char *name)
{
	for (int i = 0; i < plan->components; i++)
		if (strcmp(plan->component[i].name, name) == 0)
			return i;
	print_error("no component %s\n", name);
	fail();
	return -1;
}

/* The text of the first note with that code, or NULL. */
static inline const char *plan_case_note(const struct rv_plan *plan, const char *code)
{
	for (int i = 0; i < plan->notes; i++)
		if (strcmp(plan->note[i].code, code) == 0)
			return plan->note[i].text;
	return NULL;
}

#endif
